"""The cross-sections of the cases beside each other, each with the contours of its limits, all on one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from fem.arrays import Floats
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.contours import Contours
from studies.compare.limits import keeps_limits
from studies.drawing.solids import draw_layers, draw_metalwork, draw_outlines, extent
from studies.drawing.style import ABOVE, INK, PAGE_WIDTH, WITHIN, new_figure, styled
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.study.file import Study
from studies.study.reading import loads_data
from studies.text.numbers import stated
from studies.text.units import FLUX_DENSITY, unit_for

MOST_PANELS = 12
"""Cases that are drawn: the first of the report's order."""
COLUMNS = 4
REACH = 25.0
"""Half width of a panel over the diagonal of the largest cross-section; contours further out are told. [-]"""
AROUND = 1.12
"""Room about what is drawn. [-]"""
DASHES = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)))
"""Lines of the limits, the lowest first."""
LEFT, RIGHT, BOTTOM, TOP, BETWEEN, ABOVE_PANEL = 0.5, 0.1, 0.75, 0.42, 0.3, 0.44
"""Room about and between the panels. [in]"""
NAME_LENGTH = 26
CLOSE = 0.45
"""Height of the close view of a section over its width. [-]"""
"""Letters of a case's name above its panel."""


@dataclass(frozen=True)
class _Drawn:
    """A case with what is drawn of it."""

    row: CaseRow
    study: Study
    section: CrossSection

    @property
    def contours(self) -> Contours:
        return {} if self.row.measured is None else self.row.measured.contours


def _drawn(comparison: Comparison, rows: Sequence[CaseRow]) -> list[_Drawn]:
    """The first of some cases that have tables to draw a cross-section from."""
    having = [(row, row.data) for row in rows if row.data is not None][:MOST_PANELS]
    read = [(row, loads_data(data, comparison.base.source_name)) for row, data in having]
    return [_Drawn(row, study, cross_section(study)) for row, study in read]


@styled
def draw_small_multiples(comparison: Comparison, rows: Sequence[CaseRow]) -> Figure:
    """A panel for each case; the same scale, window and lines in all."""
    cases = _drawn(comparison, rows)
    if not cases:
        raise ValueError("no case has a cross-section to draw")
    low, high = _window(cases)
    limits = sorted({limit for case in cases for limit in case.contours})
    columns = min(COLUMNS, len(cases))
    width = (PAGE_WIDTH - LEFT - RIGHT - BETWEEN * (COLUMNS - 1)) / COLUMNS
    panel, close = width * (high[1] - low[1]) / (high[0] - low[0]), width * CLOSE
    lines = math.ceil(len(cases) / columns)
    height = BOTTOM + TOP + lines * (panel + close) + (lines - 1) * ABOVE_PANEL
    figure = new_figure(height)
    for k, case in enumerate(cases):
        line, column = divmod(k, columns)
        left = LEFT + column * (width + BETWEEN)
        bottom = height - TOP - panel - close - line * (panel + close + ABOVE_PANEL)
        axes = figure.add_axes((left / PAGE_WIDTH, bottom / height, width / PAGE_WIDTH, panel / height))
        axes.set_xlim(low[0], high[0])
        axes.set_ylim(low[1], high[1])
        axes.set_aspect("equal", adjustable="box")
        _panel(axes, case, limits)
        box = (left / PAGE_WIDTH, (bottom + panel) / height, width / PAGE_WIDTH, close / height)
        _close_view(figure.add_axes(box), case, cases)
        axes.tick_params(labelleft=column == 0, labelbottom=k + columns >= len(cases))
        if column == 0:
            axes.set_ylabel("y (m)")
        if k + columns >= len(cases):
            axes.set_xlabel("x (m)")
    unit = unit_for(limits[-1], FLUX_DENSITY) if limits else None
    handles = [
        Line2D([], [], color=INK, linewidth=1.1, linestyle=_dash(k), label=f"limit {stated(limit, unit)}")
        for k, limit in enumerate(limits)
        if unit is not None
    ]
    handles.append(Line2D([], [], color=INK, marker="D", markersize=4, markerfacecolor="white", linestyle="none"))
    handles[-1].set_label("receptor")
    figure.legend(handles=handles, loc="lower center", bbox_to_anchor=(0.5, 0.05 / height), ncols=len(handles))
    return figure


def _panel(axes: Axes, case: _Drawn, limits: Sequence[float]) -> None:
    draw_outlines(axes, case.section, 1.0, 0.4)
    for k, limit in enumerate(limits):
        pieces = case.contours.get(limit, ())
        lines = LineCollection([np.array(piece) for piece in pieces], colors=INK, linewidths=1.0, linestyles=[_dash(k)])
        axes.add_collection(lines, autolim=False)
    for receptor in case.study.receptors:
        axes.plot(*receptor.at, marker="D", markersize=3.5, color=INK, markerfacecolor="white", markeredgewidth=0.7)
    axes.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))


def _close_view(axes: Axes, case: _Drawn, cases: Sequence[_Drawn]) -> None:
    """The cross-section enlarged, as much for every case, below its name."""
    corners = np.array([extent(one.section) for one in cases])
    sizes = (corners[:, 1] - corners[:, 0]).max(axis=0)
    box = axes.get_window_extent()
    half = AROUND / 2 * max(float(sizes[0]), float(sizes[1]) * box.width / box.height)
    (x0, y0), (x1, y1) = extent(case.section)
    axes.set_xlim((x0 + x1) / 2 - half, (x0 + x1) / 2 + half)
    axes.set_ylim((y0 + y1) / 2 - half * box.height / box.width, (y0 + y1) / 2 + half * box.height / box.width)
    axes.set_xticks([])
    axes.set_yticks([])
    draw_layers(axes, case.section, 1.0)
    draw_metalwork(axes, case.section, 1.0, 0.6)
    kept = keeps_limits(case.row)
    told = {True: "keeps every limit", False: "above a limit", None: "no limit judged"}[kept]
    name = case.row.label if len(case.row.label) <= NAME_LENGTH else f"{case.row.label[: NAME_LENGTH - 1]}…"
    axes.set_title(f"{name}\n{told}", fontsize=7.0, color={True: WITHIN, False: ABOVE, None: INK}[kept])


def _dash(k: int) -> Any:
    """The line of a limit, as the drawing library takes it."""
    return DASHES[k % len(DASHES)]


def _window(cases: Sequence[_Drawn]) -> tuple[Floats, Floats]:
    """Corners of the window of all panels: sections and contours, no further than `REACH`. [m]"""
    corners = np.array([extent(case.section) for case in cases])
    low, high = corners[:, 0].min(axis=0), corners[:, 1].max(axis=0)
    middle, diagonal = (low + high) / 2, float(np.linalg.norm(high - low))
    places = [receptor.at for case in cases for receptor in case.study.receptors if receptor.limit is not None]
    points = places + [
        point for case in cases for pieces in case.contours.values() for piece in pieces for point in piece
    ]
    if points:
        low, high = np.minimum(low, np.min(points, axis=0)), np.maximum(high, np.max(points, axis=0))
    low = np.maximum(middle + AROUND * (low - middle), middle - REACH * diagonal)
    high = np.minimum(middle + AROUND * (high - middle), middle + REACH * diagonal)
    least = 0.45 * (high[0] - low[0])  # panels are not flatter than this
    if high[1] - low[1] < least:
        centre = (low[1] + high[1]) / 2
        low[1], high[1] = centre - least / 2, centre + least / 2
    return low, high
