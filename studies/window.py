"""Which rectangle the field map shows."""

from __future__ import annotations

import numpy as np

from geometry.shapes import Point, enclosing_circle
from studies.cross_section import CrossSection
from studies.study import Study


def map_window(study: Study, section: CrossSection) -> tuple[Point, Point]:
    """Lower left and upper right corner of the map: as stated, else the solids and all receptors with a margin. [m]"""
    if study.map is not None:
        return study.map.window
    (x, y), radius = enclosing_circle(section.section())
    corners = [(x - 2 * radius, y - 2 * radius), (x + 2 * radius, y + 2 * radius)]
    zones = [corner for zone in study.zones for corner in zone.window]
    points = np.array(corners + [receptor.at for receptor in study.receptors] + zones)
    low, high = points.min(axis=0), points.max(axis=0)
    margin = 0.08 * (high - low)
    (x0, y0), (x1, y1) = low - margin, high + margin
    return (float(x0), float(y0)), (float(x1), float(y1))


def close_window(section: CrossSection) -> tuple[Point, Point]:
    """Corners of a square about the solids. [m]"""
    (x, y), radius = enclosing_circle(section.section())
    return (x - 1.15 * radius, y - 1.15 * radius), (x + 1.15 * radius, y + 1.15 * radius)
