"""The phase order as stated and the best ones side by side on the cross-section, with what each is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PatchCollection
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Patch

from geometry.shapes import Point
from studies.answers.answers import Answers
from studies.answers.figure_names import at_own_frequency
from studies.answers.orders.rows import OrderResult
from studies.drawing.solids import draw_metalwork, extent
from studies.drawing.style import ABOVE, INK, PAGE_WIDTH, new_figure, reads_dark, styled
from studies.section.parts import CrossSection, PlacedCable
from studies.section.turning import relabelled
from studies.study.phases import PHASE_COLOURS
from studies.text.numbers import percent, plain

MILLIMETRES = 1e3
"""Data units a metre."""
EDGE = 0.12
"""Free margin of the page, and between two panels. [in]"""
LEGEND, TITLE = 0.34, 0.32
"""Height of the legend, and of the figure's title. [in]"""
LINE = 0.15
"""Height of a line of text above a panel. [in]"""
TALLEST = 7.6
"""Largest height of the figure. [in]"""
SMALLEST_TEXT = 4.0
"""Smallest phase label within a cable. [pt]"""
AROUND = 0.5
"""Room about the cables, where metal goes on beyond, over their extent. [-]"""

THIN, NAMED = 0.015, 0.08
"""Room about everything, and above cables for the name of their circuit, over their extent. [-]"""


@dataclass(frozen=True)
class _Layout:
    """How the panels are arranged. [in]"""

    columns: int
    rows: int
    width: float
    height: float
    lines: int
    """Lines of text above each panel."""

    @property
    def total(self) -> float:
        """Height of the figure. [in]"""
        return TITLE + LEGEND + self.rows * (self.height + self.lines * LINE + EDGE)


@styled
def draw_phase_orders(result: Answers) -> Figure:
    """Cross-section with the order as stated and the best ones, conductors coloured by phase."""
    found = result.order_search
    assert found is not None
    orders = [("as stated", found.today), *((f"no. {k}", order) for k, order in enumerate(found.best, 1))]
    low, high = _window(result.cross_section)
    layout = _layout(len(orders), (high[0] - low[0]) / (high[1] - low[1]))
    figure = new_figure(layout.total)
    limits = {entry.name: entry.limit_t for entry in result.receptors}
    limits |= {zone.name: zone.limit_t for zone in result.zones}
    for k, (name, order) in enumerate(orders):
        row, column = divmod(k, layout.columns)
        left = EDGE + column * (layout.width + EDGE)
        top = TITLE + row * (layout.height + layout.lines * LINE + EDGE) + layout.lines * LINE
        axes = figure.add_axes(
            (
                left / PAGE_WIDTH,
                1 - (top + layout.height) / layout.total,
                layout.width / PAGE_WIDTH,
                layout.height / layout.total,
            )
        )
        _panel(axes, relabelled(result.cross_section, order.phases), low, high, layout.width / layout.height)
        at = (left / PAGE_WIDTH, 1 - (top - 0.04) / layout.total)
        _caption(figure, at, name, order, limits, layout.lines)
    figure.text(
        EDGE / PAGE_WIDTH,
        1 - 0.08 / layout.total,
        f"Phase orders, by {found.objective}{at_own_frequency(result)}",
        fontsize=8.5,
        va="top",
    )
    _legend(figure, result.cross_section, layout.total)
    return figure


def _window(section: CrossSection) -> tuple[Point, Point]:
    """Lower left and upper right corner about the cables, with the metal that is close by. [mm]"""
    axes = np.array([cable.axis for cable in section.cables])
    radii = np.array([[cable.layers.outer_radius] for cable in section.cables])
    low, high = (axes - radii).min(axis=0), (axes + radii).max(axis=0)
    span = float((high - low).max())
    room, thin = AROUND * span, THIN * span
    all_low, all_high = extent(section)
    named = len({cable.circuit for cable in section.cables}) > 1
    above = np.array([0.0, high[1] + (NAMED if named else THIN) * span])
    low = np.maximum(low - room, np.array(all_low) - thin) * MILLIMETRES
    high = np.maximum(np.minimum(high + room, np.array(all_high) + thin), above) * MILLIMETRES
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def _layout(count: int, aspect: float) -> _Layout:
    """The arrangement in which the panels are largest, for their width over their height."""
    layouts = []
    for columns in (1, 2, 4):
        rows = math.ceil(count / columns)
        lines = 1 if columns == 1 else 2 if columns == 2 else 3
        width = (PAGE_WIDTH - (columns + 1) * EDGE) / columns
        room = (TALLEST - TITLE - LEGEND) / rows - lines * LINE - EDGE
        layouts.append(_Layout(columns, rows, width, min(width / aspect, room), lines))
    return max(layouts, key=lambda layout: layout.height)


def _panel(axes: Axes, section: CrossSection, low: Point, high: Point, aspect: float) -> None:
    """One order on axes of an aspect that is at least as wide as the window; what is wider stays free on the right."""
    axes.set_xlim(low[0], low[0] + max(high[0] - low[0], aspect * (high[1] - low[1])))
    axes.set_ylim(low[1], high[1])
    axes.axis("off")
    draw_metalwork(axes, section, MILLIMETRES, 0.8)
    circles = [
        Circle((cable.axis[0] * MILLIMETRES, cable.axis[1] * MILLIMETRES), cable.layers.outer_radius * MILLIMETRES)
        for cable in section.cables
    ]
    phases = PHASE_COLOURS[section.phase_colours]
    colours = [phases[cable.phase] for cable in section.cables]
    axes.add_collection(PatchCollection(circles, facecolors=colours, edgecolors=INK, linewidths=0.4, zorder=5))
    points = float(np.ptp(axes.transData.transform([(0, 0), (1, 0)])[:, 0])) / (axes.figure.dpi / 72)
    for cable in section.cables:
        size = min(8.0, 0.75 * cable.layers.outer_radius * MILLIMETRES * points)
        if size >= SMALLEST_TEXT:
            _label(axes, cable, size, phases[cable.phase])
    _circuits(axes, section, points)


def _label(axes: Axes, cable: PlacedCable, size: float, fill: str) -> None:
    x, y = cable.axis[0] * MILLIMETRES, cable.axis[1] * MILLIMETRES
    colour = "white" if reads_dark(fill) else INK
    axes.text(x, y, cable.phase, fontsize=size, color=colour, ha="center", va="center_baseline", zorder=7)


def _circuits(axes: Axes, section: CrossSection, points: float) -> None:
    """Names of the circuits above their cables, and a line over each, where there are several."""
    names = list(dict.fromkeys(cable.circuit for cable in section.cables))
    for name in names if len(names) > 1 else ():
        own = [cable for cable in section.cables if cable.circuit == name]
        left = min(cable.axis[0] - 0.8 * cable.layers.outer_radius for cable in own) * MILLIMETRES
        right = max(cable.axis[0] + 0.8 * cable.layers.outer_radius for cable in own) * MILLIMETRES
        top = max(cable.axis[1] + cable.layers.outer_radius for cable in own) * MILLIMETRES + 2.5 / points
        axes.plot([left, right], [top, top], color=INK, linewidth=0.7, zorder=6)
        axes.text((left + right) / 2, top + 1.5 / points, name, fontsize=6.5, ha="center", va="bottom", zorder=8)


def _caption(
    figure: Figure,
    at: Point,
    name: str,
    order: OrderResult,
    limits: dict[str, float | None],
    lines: int,
) -> None:
    """What the order is worth, red where a field is above its limit."""
    pieces = [f"{name}: objective {plain(order.value, 4)}"]
    above = False
    if order.worst_over_limit is not None and order.worst_at is not None:
        limit = limits.get(order.worst_at)
        above = limit is not None and order.worst_over_limit > 1
        of = "its limit" if limit is not None else "its value as stated"
        pieces.append(f"worst field {plain(order.worst_over_limit, 3)} × {of}, at {order.worst_at}")
    pieces.append(f"largest share {percent(order.largest_share, signed=False)} %")
    if lines == 1:
        text = "   ".join([pieces[0], "; ".join(pieces[1:])])
    elif lines == 2:
        text = "\n".join([f"{pieces[0]}; {pieces[-1]}", *pieces[1:-1]])
    else:
        text = "\n".join(pieces)
    figure.text(*at, text, fontsize=7.0, color=ABOVE if above else INK, va="bottom", linespacing=1.25)


def _legend(figure: Figure, section: CrossSection, total: float) -> None:
    present = {cable.phase for cable in section.cables}
    handles = [
        Patch(facecolor=colour, edgecolor=INK, linewidth=0.4, label=phase)
        for phase, colour in PHASE_COLOURS[section.phase_colours].items()
        if phase in present
    ]
    figure.legend(
        handles=handles,
        loc="lower center",
        bbox_to_anchor=(0.5, 0.02 / total),
        ncols=len(handles),
        handlelength=1.2,
        handletextpad=0.5,
        columnspacing=1.4,
    )
