"""How far the limits reach: where the field has fallen to each limit, to scale about the section."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Rectangle
from matplotlib.ticker import MaxNLocator

from geometry.shapes import Point
from studies.answers.answers import Answers
from studies.answers.figure_names import several_frequencies
from studies.answers.limits.rows import DIRECTIONS, MET, LimitDistanceResult, LimitReach, limit_reaches
from studies.answers.limits.verdicts import limit_words
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import draw_outlines, extent
from studies.drawing.style import COMPUTED, FORMULA, PAGE_WIDTH, QUIET, new_figure, styled
from studies.text.numbers import with_unit
from studies.text.units import LENGTH

VECTORS: Mapping[str, Point] = dict(zip(DIRECTIONS, ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)), strict=True))
COLUMNS = 2
MOST_LIMITS = 4
"""Limits that are shown: those that reach furthest."""
PANEL = 2.5
"""Height of the plan of one limit. [in]"""
LEFT, RIGHT, BOTTOM, TOP, BETWEEN_ROWS, BETWEEN = 0.62, 0.15, 0.86, 0.46, 0.86, 0.62
"""Room about and between them. [in]"""
CIRCLE_PIECES = 180
"""Places along the circle of the far form that labels leave free."""
LETTERS = 40
"""Letters of a title's first line. [-]"""


@styled
def draw_limit_distances(result: Answers) -> Figure:
    """For each limit the distance right, up, left and down of the section, and the circle of the far form."""
    plans = shown_limits(result)
    if not plans:
        raise ValueError("no limit is exceeded outside the section")
    rows = math.ceil(len(plans) / COLUMNS)
    columns = min(COLUMNS, len(plans))
    height = BOTTOM + rows * PANEL + (rows - 1) * BETWEEN_ROWS + TOP
    figure = new_figure(height)
    width = (PAGE_WIDTH - LEFT - RIGHT - (COLUMNS - 1) * BETWEEN) / COLUMNS
    start = LEFT + (COLUMNS - columns) * (width + BETWEEN) / 2
    for k, plan in enumerate(plans):
        row, column = divmod(k, columns)
        bottom = height - TOP - PANEL - row * (PANEL + BETWEEN_ROWS)
        axes = figure.add_axes(
            ((start + column * (width + BETWEEN)) / PAGE_WIDTH, bottom / height, width / PAGE_WIDTH, PANEL / height)
        )
        _plan(axes, result, plan, width / PANEL)
    handles = [
        Line2D([], [], color=COMPUTED, marker="|", markersize=7, linewidth=1.2, label="distance from the outline")
    ]
    if any(plan.overall.far_form_from_centre_m is not None for plan in plans):
        handles.append(
            Line2D([], [], color=FORMULA, linestyle=(0, (4, 1.6)), label="far form of line currents, no metal")
        )
    figure.legend(handles=handles, loc="lower center", bbox_to_anchor=(0.5, 0.1 / height), ncols=2, borderpad=0)
    return figure


def shown_limits(result: Answers) -> list[LimitReach]:
    """The limits that are exceeded somewhere outside the section and met further out, at most `MOST_LIMITS`."""
    plans = limit_reaches(result.limit_distances)
    far = sorted((plan for plan in plans if plan.largest > 0), key=lambda plan: -plan.largest)[:MOST_LIMITS]
    return [plan for plan in plans if plan in far]


def _plan(axes: Axes, result: Answers, plan: LimitReach, ratio: float) -> None:
    low, high = extent(result.cross_section)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    far = plan.overall.far_form_from_centre_m
    half = 1.35 * max((high[0] - low[0]) / 2 + plan.largest, ratio * ((high[1] - low[1]) / 2 + plan.largest), 1e-3)
    if far is not None and far < 3 * half:
        half = max(half, 1.08 * ratio * far)
    axes.set_xlim(middle[0] - half, middle[0] + half)
    axes.set_ylim(middle[1] - half / ratio, middle[1] + half / ratio)
    axes.set_aspect("equal", adjustable="box")
    draw_outlines(axes, result.cross_section, 1.0, 0.4)
    size = (high[0] - low[0], high[1] - low[1])
    axes.add_patch(Rectangle(low, *size, fill=False, edgecolor=QUIET, linewidth=0.6, linestyle=(0, (2, 2))))
    placer = LabelPlacer(axes)
    if far is not None:
        turn = np.linspace(0, 2 * np.pi, CIRCLE_PIECES + 1)
        placer.keep_free(np.add(middle, far * np.stack([np.cos(turn), np.sin(turn)], axis=1)), 2)
        axes.add_patch(Circle(middle, far, fill=False, edgecolor=FORMULA, linestyle=(0, (4, 1.6)), linewidth=1.2))
    placer.keep_box_free(low, high)
    for name, direction in VECTORS.items():
        _distance(axes, placer, plan.rows[name], direction, low, high)
    axes.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    axes.set_xlabel("x (m)")
    axes.set_ylabel("y (m)")
    axes.set_title(_title(result, plan), fontsize=8.0)
    states = _states(plan)
    if states:
        axes.text(0.02, 0.02, states, transform=axes.transAxes, fontsize=6.5, color=QUIET)


def _distance(
    axes: Axes, placer: LabelPlacer, row: LimitDistanceResult, direction: Point, low: Point, high: Point
) -> None:
    if row.state != MET or row.from_outline_m is None:
        return
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    start = (
        middle[0] + direction[0] * (high[0] - low[0]) / 2,
        middle[1] + direction[1] * (high[1] - low[1]) / 2,
    )
    end = (start[0] + direction[0] * row.from_outline_m, start[1] + direction[1] * row.from_outline_m)
    axes.plot([start[0], end[0]], [start[1], end[1]], color=COMPUTED, linewidth=1.2, zorder=6)
    marker = "|" if direction[0] else "_"
    axes.plot(*end, color=COMPUTED, marker=marker, markersize=8, markeredgewidth=1.4, zorder=6)
    placer.keep_free([end], 2)
    x, y = direction
    across = ((0.0, 1.0), (0.0, -1.0), (-x, 1.0), (-x, -1.0))
    along = (direction, (1.0, 0.0), (-1.0, 0.0), (1.0, -y), (-1.0, -y))
    beside = across if x else along
    text = "at the outline" if row.at_outline else with_unit(row.from_outline_m, LENGTH)
    placer.beside(text, end, size=7.0, nearest=4.0, directions=beside)


def _title(result: Answers, plan: LimitReach) -> str:
    first = plan.overall
    if first.limit_name is not None and several_frequencies(result):
        limit = f"index 1 of {first.limit_name}"
    else:
        limit = limit_words(result, first.limit_t)
        limit += f", {first.limit_name}" if first.limit_name is not None else ""
    text = f"{limit}, for {', '.join(first.of)}"
    text = text if len(text) <= LETTERS else text[: LETTERS - 1] + "…"
    reach = plan.overall.from_outline_m
    return text if reach is None else f"{text}\nat most {with_unit(reach, LENGTH)} all round"


def _states(plan: LimitReach) -> str:
    """Directions in which there is no distance, by why there is none."""
    found: dict[str, list[str]] = {}
    for direction in DIRECTIONS:
        row = plan.rows[direction]
        if row.state != MET:
            found.setdefault(row.state, []).append(direction)
    return "; ".join(f"{state}: {', '.join(directions)}" for state, directions in found.items())
