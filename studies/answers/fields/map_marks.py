"""Receptors and zones on a map: marks and labels that show whether the field is within its limit."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from geometry.shapes import Point
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.verdicts import Limited, field_of
from studies.drawing.far_points import draw_arrow, is_inside
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import extent
from studies.drawing.style import ABOVE, UNLIMITED, WITHIN
from studies.section.parts import CrossSection
from studies.text.numbers import GAP, plain, stated
from studies.text.units import Unit

Dashes = Literal["solid"] | tuple[float, tuple[float, ...]]
COLOURS = {True: WITHIN, False: ABOVE, None: UNLIMITED}
"""Colour of a receptor or zone by whether the field is within its limit."""
SHAPES = {True: "o", False: "^", None: "s"}
"""Marker of a receptor, which shows the same without colour."""
LINES: dict[bool | None, Dashes] = {True: "solid", False: "solid", None: (0.0, (4.0, 2.0))}
"""Line of a zone's edge."""
KINDS = {True: "within limit", False: "above limit", None: "without limit"}
ALONG = 40
"""Places along an edge at which a zone's name may stand."""


def field_text(entry: Limited, unit: Unit, by_index: bool = False) -> str:
    """Name, field and verdict of a receptor or zone; `by_index`: whether a reference level limits a sum of ratios."""
    value = f"{plain(unit.of(field_of(entry)[0]))}{GAP}{unit.symbol}"
    start = f"{entry.name}\n{'up to ' if isinstance(entry, ZoneResult) else ''}{value}"
    if entry.limit_t is None:
        return start
    sign = "within" if entry.within_limit else "above"
    if entry.exposure_index is not None and by_index:
        return f"{start}, index {plain(entry.exposure_index, 2)}, {sign} 1"
    return f"{start}, {sign} {stated(entry.limit_t, unit)}"


def draw_receptors(
    axes: Axes,
    placer: LabelPlacer,
    receptors: tuple[ReceptorResult, ...],
    section: CrossSection,
    text: Callable[[ReceptorResult], str],
) -> None:
    """Receptors with their texts; those outside the axes as arrows at its border."""
    inside = [receptor for receptor in receptors if is_inside(axes, (receptor.x_m, receptor.y_m))]
    for receptor in inside:
        axes.plot(
            *(receptor.x_m, receptor.y_m),
            marker=SHAPES[receptor.within_limit],
            color=COLOURS[receptor.within_limit],
            markersize=6.5,
            markeredgecolor="white",
            markeredgewidth=0.9,
            zorder=9,
        )
    placer.keep_free([(receptor.x_m, receptor.y_m) for receptor in inside], 4.5)
    for receptor in inside:
        placer.beside(text(receptor), (receptor.x_m, receptor.y_m), size=7.0)
    for receptor in receptors:
        if receptor not in inside:
            place, colour = (receptor.x_m, receptor.y_m), COLOURS[receptor.within_limit]
            draw_arrow(axes, placer, _origin(axes, section), place, text(receptor), colour)


def draw_zones(axes: Axes, placer: LabelPlacer, zones: tuple[ZoneResult, ...]) -> None:
    """Rectangles of the zones that reach into the axes, with the places of their highest field."""
    for zone in zones:
        if _is_outside(axes, zone):
            continue
        colour, line = COLOURS[zone.within_limit], LINES[zone.within_limit]
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


def name_zones(
    axes: Axes,
    placer: LabelPlacer,
    zones: tuple[ZoneResult, ...],
    section: CrossSection,
    text: Callable[[ZoneResult], str],
) -> None:
    """Name, highest field and verdict of each zone, in it if there is room; arrows to those outside the axes."""
    for zone in zones:
        if _is_outside(axes, zone):
            middle = ((zone.x0_m + zone.x1_m) / 2, (zone.y0_m + zone.y1_m) / 2)
            draw_arrow(axes, placer, _origin(axes, section), middle, text(zone), COLOURS[zone.within_limit])
        else:
            _name(axes, placer, zone, text(zone))


def _name(axes: Axes, placer: LabelPlacer, zone: ZoneResult, text: str) -> None:
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    left, right = max(zone.x0_m, x0), min(zone.x1_m, x1)
    bottom, top = max(zone.y0_m, y0), min(zone.y1_m, y1)
    heights = bottom + np.array([0.12, 0.3, 0.5, 0.7, 0.88]) * (top - bottom)
    places = np.stack(np.meshgrid(np.linspace(left, right, ALONG), heights), axis=-1).reshape(-1, 2)
    placer.among(text, places, size=7.0, within=((left, bottom), (right, top)))


def _is_outside(axes: Axes, zone: ZoneResult) -> bool:
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    return zone.x1_m <= x0 or zone.x0_m >= x1 or zone.y1_m <= y0 or zone.y0_m >= y1


def _origin(axes: Axes, section: CrossSection) -> Point:
    """The middle of the section, or the point of the axes nearest to it."""
    low, high = extent(section)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    return float(np.clip((low[0] + high[0]) / 2, x0, x1)), float(np.clip((low[1] + high[1]) / 2, y0, y1))


def legend_handles(receptors: tuple[ReceptorResult, ...], zones: tuple[ZoneResult, ...] = ()) -> list[Line2D]:
    """Legend entries of the kinds of receptors and zones that occur."""
    dots = [kind for kind in KINDS if any(receptor.within_limit is kind for receptor in receptors)]
    edges = [kind for kind in KINDS if any(zone.within_limit is kind for zone in zones)]
    marks = [
        Line2D([], [], linestyle="none", marker=SHAPES[kind], color=COLOURS[kind], label=f"receptor {KINDS[kind]}")
        for kind in dots
    ]
    return marks + [
        Line2D(
            *([], []),
            color=COLOURS[kind],
            linestyle=LINES[kind],
            marker="x",
            markersize=5,
            label=f"zone {KINDS[kind]}",
        )
        for kind in edges
    ]
