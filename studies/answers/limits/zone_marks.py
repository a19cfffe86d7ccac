"""Zones on a map: rectangles that say whether the highest field in them is within its limit."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from studies.answers.limits.rows import ZoneResult
from studies.drawing.far_points import draw_arrow, is_inside
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import extent
from studies.drawing.style import ABOVE, UNLIMITED, WITHIN
from studies.section.cross_section import CrossSection
from studies.text.numbers import GAP, plain, quantity, stated
from studies.text.units import FLUX_DENSITY, common_unit

Dashes = Literal["solid"] | tuple[float, tuple[float, ...]]
EDGES: Mapping[bool | None, tuple[str, Dashes]] = MappingProxyType(
    {True: (WITHIN, "solid"), False: (ABOVE, "solid"), None: (UNLIMITED, (0.0, (4.0, 2.0)))}
)
"""Colour and line of a zone's edge by whether its field is within its limit."""
MEANINGS = {True: "zone within limit", False: "zone above limit", None: "zone without limit"}
ALONG = 40
"""Places along an edge at which a zone's name may stand."""


def draw_zones(axes: Axes, placer: LabelPlacer, zones: tuple[ZoneResult, ...]) -> None:
    """Rectangles of the zones that reach into the axes, with the places of their highest field."""
    for zone in zones:
        if _is_outside(axes, zone):
            continue
        colour, line = EDGES[zone.within_limit]
        corner, size = (zone.x0_m, zone.y0_m), (zone.x1_m - zone.x0_m, zone.y1_m - zone.y0_m)
        for edge, width in (("white", 2.4), (colour, 1.2)):
            axes.add_patch(
                Rectangle(corner, *size, fill=False, edgecolor=edge, linewidth=width, linestyle=line, zorder=7)
            )
        (x0, y0), (x1, y1) = corner, (zone.x1_m, zone.y1_m)
        for start, end in (((x0, y0), (x1, y0)), ((x1, y0), (x1, y1)), ((x0, y1), (x1, y1)), ((x0, y0), (x0, y1))):
            placer.keep_line_free(start, end)
        if is_inside(axes, (zone.x_m, zone.y_m)):
            axes.plot(zone.x_m, zone.y_m, marker="x", color=colour, markersize=5.5, markeredgewidth=1.4, zorder=8)
            placer.keep_free([(zone.x_m, zone.y_m)], 4)


def name_zones(axes: Axes, placer: LabelPlacer, zones: tuple[ZoneResult, ...], section: CrossSection) -> None:
    """Name, highest field and verdict of each zone, in it where there is room; arrows to those outside the axes."""
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    low, high = extent(section)
    origin = (float(np.clip((low[0] + high[0]) / 2, x0, x1)), float(np.clip((low[1] + high[1]) / 2, y0, y1)))
    for zone in zones:
        if _is_outside(axes, zone):
            middle = ((zone.x0_m + zone.x1_m) / 2, (zone.y0_m + zone.y1_m) / 2)
            draw_arrow(axes, placer, origin, middle, zone_text(zone), EDGES[zone.within_limit][0])
        else:
            _name(axes, placer, zone)


def _is_outside(axes: Axes, zone: ZoneResult) -> bool:
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    return zone.x1_m <= x0 or zone.x0_m >= x1 or zone.y1_m <= y0 or zone.y0_m >= y1


def zone_handles(zones: tuple[ZoneResult, ...]) -> list[Line2D]:
    """Legend entries of the kinds of zones that occur."""
    kinds = [kind for kind in (True, False, None) if any(zone.within_limit is kind for zone in zones)]
    return [
        Line2D([], [], color=EDGES[kind][0], linestyle=EDGES[kind][1], marker="x", markersize=5, label=MEANINGS[kind])
        for kind in kinds
    ]


def zone_text(zone: ZoneResult) -> str:
    """Name, highest field and verdict of a zone."""
    if zone.limit_t is None:
        return f"{zone.name}\nup to {quantity(zone.b_max_rms_t, FLUX_DENSITY)}"
    sign = "within" if zone.within_limit else "above"
    if zone.exposure_index is not None:
        value = quantity(zone.b_max_rms_t, FLUX_DENSITY)
        return f"{zone.name}\nup to {value}, index {plain(zone.exposure_index, 2)}, {sign} 1"
    unit = common_unit([zone.b_max_rms_t, zone.limit_t], FLUX_DENSITY)
    value = f"{plain(unit.of(zone.b_max_rms_t))}{GAP}{unit.symbol}"
    return f"{zone.name}\nup to {value}, {sign} {stated(zone.limit_t, unit)}"


def _name(axes: Axes, placer: LabelPlacer, zone: ZoneResult) -> None:
    """The text of a zone in its rectangle where there is room, else beside it."""
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    left, right = max(zone.x0_m, x0), min(zone.x1_m, x1)
    bottom, top = max(zone.y0_m, y0), min(zone.y1_m, y1)
    heights = bottom + np.array([0.12, 0.3, 0.5, 0.7, 0.88]) * (top - bottom)
    places = np.stack(np.meshgrid(np.linspace(left, right, ALONG), heights), axis=-1).reshape(-1, 2)
    placer.among(zone_text(zone), places, size=7.0, within=((left, bottom), (right, top)))
