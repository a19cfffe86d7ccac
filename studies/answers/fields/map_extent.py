"""Which rectangle the field map shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fem.arrays import Floats
from geometry.shapes import Point, enclosing_circle
from studies.answers.limits.compute import outer_rectangle
from studies.answers.limits.rows import LimitDistanceResult
from studies.section.parts import CrossSection
from studies.study.file import Study

OVERALL = "overall"
"""Direction of the row of limit distances that holds all round."""
MARGIN = 0.08
"""Room about all that is shown, over its extent. [-]"""
SLIMMEST = 0.6
"""Least ratio of the shorter to the longer side. [-]"""
FURTHEST = 3.5
"""A limit is reached for as long as the map grows to no more than this many times its extent without it. [-]"""


def extent_of_map(
    study: Study, section: CrossSection, distances: Sequence[LimitDistanceResult] = ()
) -> tuple[Point, Point]:
    """Lower left and upper right corner of the map. [m]

    As stated, else the solids, the receptors and the zones with a margin, and all round to where each limit is met as
    far as the places that are asked about do not shrink to a corner of it.
    """
    if study.map is not None:
        return study.map.window
    (x, y), radius = enclosing_circle(section.section())
    corners = [(x - 2 * radius, y - 2 * radius), (x + 2 * radius, y + 2 * radius)]
    zones = [corner for zone in study.zones for corner in zone.window]
    points = np.array(corners + [receptor.at for receptor in study.receptors] + zones)
    asked = _with_margin(np.array([points.min(axis=0), points.max(axis=0)]))
    low, high = _reaching(asked, section, distances)
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def _reaching(asked: Floats, section: CrossSection, distances: Sequence[LimitDistanceResult]) -> Floats:
    """The corners (2, 2) with those of the largest limit distance that suits them."""
    found = asked
    for row in distances:
        if row.direction != OVERALL or row.from_outline_m is None:
            continue
        outline = outer_rectangle(section)
        half = outline.half + row.from_outline_m
        around = _with_margin(np.array([outline.centre - half, outline.centre + half]))
        both = np.array([np.minimum(asked[0], around[0]), np.maximum(asked[1], around[1])])
        if np.ptp(both, axis=0).max() <= FURTHEST * np.ptp(asked, axis=0).max():
            found = np.array([np.minimum(found[0], both[0]), np.maximum(found[1], both[1])])
    return found


def _with_margin(corners: Floats) -> Floats:
    """Corners (2, 2) with a margin, the shorter side widened about its middle."""
    size = np.ptp(corners, axis=0) * (1 + 2 * MARGIN)
    half, middle = np.maximum(size, SLIMMEST * size.max()) / 2, corners.mean(axis=0)
    return np.array([middle - half, middle + half])
