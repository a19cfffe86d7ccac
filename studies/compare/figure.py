"""Figures of a comparison: the cases beside each other, and two quantities against each other."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from functools import partial
from itertools import pairwise

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, NullFormatter

from studies.compare.comparison import CaseRow, Comparison
from studies.compare.criteria import LIMIT, Criterion, criteria_of, grid_note, non_dominated, shown_rows, trade_offs
from studies.compare.limits import limits_first
from studies.compare.small_multiples import MOST_PANELS, draw_small_multiples
from studies.drawing.labels import LabelPlacer
from studies.drawing.style import ABOVE, COMPUTED, INK, PAGE_WIDTH, QUIET, RESOLUTION, new_figure, styled
from studies.text.failures import guarded

SECTIONS = "cross_sections"
"""Stem of the figure of all cross-sections."""
MOST_BARS = 28
"""Most cases that the table of bars shows."""
MOST_LABELS = 16
"""Most points that are named."""
PLAIN_BAR = "#a9bccb"
"""Bars of cases that are not the best."""
NAME_WIDTH = 2.05
"""Most room for the names of the cases. [in]"""
LETTER_WIDTH = 0.056
"""Room for one letter of a name. [in]"""
SPACING_WIDTH = 0.74
"""Room for the column of the clear gaps. [in]"""
HEAD_LENGTH = 10
"""Longest line of the words above a column of bars. [characters]"""
ROW_HEIGHT = 0.27
"""[in]"""
NAME_LENGTH = 36
"""Longest line of a name beside its bars. [characters]"""
LABEL_LENGTH = 48
"""Longest line of a name beside its point. [characters]"""
WIDE_RANGE = 30.0
"""Values over a wider range than this are drawn on a logarithmic axis."""


@styled
def draw_bars(comparison: Comparison) -> Figure:
    """The cases below each other, with a bar for each thing by which they are judged; the best bars are dark."""
    rows = shown_rows(comparison.solved, MOST_BARS)
    judged = criteria_of(comparison.solved)
    picked = [comparison.solved.index(row) for row in rows]
    names = [_on_lines(row.brief, NAME_LENGTH) for row in rows]
    top, bottom = 0.86, 0.34
    height = top + bottom + ROW_HEIGHT * len(rows) * (1.25 if any("\n" in name for name in names) else 1.0)
    figure = new_figure(height)
    letters = max(len(line) for name in names for line in name.split("\n"))
    left, right, gap = min(NAME_WIDTH, 0.2 + LETTER_WIDTH * letters), SPACING_WIDTH + 0.1, 0.14
    width = (PAGE_WIDTH - left - right - gap * (len(judged) - 1)) / max(len(judged), 1)
    places = np.arange(len(rows))[::-1]
    for k, criterion in enumerate(judged):
        box = (
            (left + k * (width + gap)) / PAGE_WIDTH,
            bottom / height,
            width / PAGE_WIDTH,
            (height - top - bottom) / height,
        )
        axes = _panel(figure, box, places)
        _bars(axes, criterion, picked, places)
        if k == 0:
            axes.set_yticks(places, names)
            axes.tick_params(axis="y", length=0, labelsize=6.8)
            for label, row in zip(axes.get_yticklabels(), rows, strict=True):
                label.set_fontweight("bold" if row.origin == "base" else "normal")
                label.set_fontstyle("italic" if row.sections > 1 else "normal")
    _spacing_column(figure, (1 - right / PAGE_WIDTH, bottom / height), (height - top - bottom) / height, rows, places)
    _title_and_key(figure, comparison, rows)
    return figure


def _title_and_key(figure: Figure, comparison: Comparison, rows: Sequence[CaseRow]) -> None:
    left, height = 0.1 / PAGE_WIDTH, figure.get_size_inches()[1]
    count = f"{len(rows)} of {len(comparison.solved)} cases" if len(rows) < len(comparison.solved) else "The cases"
    note = grid_note(comparison, rows)
    title = f"{count} beside each other" + (f"; {note}" if note else "")
    figure.text(left, 1 - 0.16 / height, title, fontsize=8.5, va="center")
    key = "dark: the best and all equal to it within the numerical error;  bold: the base study"
    key += ";  italic: transposed, three sections" if any(row.sections > 1 for row in rows) else ""
    figure.text(left, 0.13 / height, key, fontsize=6.5, color=QUIET, va="center")


@styled
def draw_trade_off(comparison: Comparison, first: Criterion, second: Criterion) -> Figure:
    """One criterion (upwards) against another: every case a point; those that no other beats in both are filled."""
    rows = comparison.solved
    height = 4.0
    figure = new_figure(height)
    axes = figure.add_axes(
        (0.66 / PAGE_WIDTH, 0.52 / height, (PAGE_WIDTH - 0.86) / PAGE_WIDTH, (height - 0.52 - 0.62) / height)
    )
    x = np.array([second.unit.of(value) for value in second.values])
    y = np.array([first.unit.of(value) for value in first.values])
    free = non_dominated(first.rounded, second.rounded)
    with_limit = first.unit is LIMIT
    _scale(axes, "x", x)
    _scale(axes, "y", np.append(y, 1.0) if with_limit else y)
    axes.grid(True)
    axes.set_xlabel(second.heading)
    axes.set_ylabel(first.heading)
    axes.set_title(f"{first.noun.capitalize()} against {second.noun}", pad=20)
    order = np.flatnonzero(free)[np.argsort(x[free], kind="stable")]
    axes.step(x[order], y[order], where="post", color=COMPUTED, linewidth=0.8, linestyle=(0, (4, 2)), zorder=2)
    if with_limit:
        axes.axhline(1.0, color=ABOVE, linewidth=0.9, zorder=1)
    axes.plot(x[~free], y[~free], "o", color="white", markeredgecolor=QUIET, markersize=5, zorder=3)
    axes.plot(x[free], y[free], "o", color=COMPUTED, markeredgecolor="white", markeredgewidth=0.6, zorder=4)
    placer = LabelPlacer(axes)
    placer.keep_free(np.column_stack([x, y]), 3.5)
    steps = np.column_stack([np.repeat(x[order], 2)[1:], np.repeat(y[order], 2)[:-1]])
    for start, end in pairwise(steps):
        placer.keep_line_free(start, end)
    if with_limit:
        (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
        line = axes.transData.transform([(left, 1.0)])[0, 1] + np.array([-2.0, 2.0])
        band = axes.transData.inverted().transform([(0.0, line[0]), (0.0, line[1])])[:, 1]
        placer.keep_box_free((left, max(band[0], low)), (right, min(band[1], high)))
    _name_points(axes, placer, rows, x, y, free)
    _legend(axes, with_limit, bool(free.all()))
    return figure


def comparison_figures(comparison: Comparison) -> dict[str, Figure]:
    """Every figure of a comparison by its file stem; none where fewer than two cases have numbers."""
    if len(comparison.solved) < 2:
        return {}
    figures = {"cases": guarded("figure cases", lambda: draw_bars(comparison), None)}
    drawn = limits_first(shown_rows([row for row in comparison.solved if row.data is not None], MOST_PANELS))
    if drawn:
        figures[SECTIONS] = guarded(f"figure {SECTIONS}", lambda: draw_small_multiples(comparison, drawn), None)
    for stem, (first, second) in trade_offs(comparison.solved).items():
        figures[stem] = guarded(f"figure {stem}", partial(draw_trade_off, comparison, first, second), None)
    return {stem: figure for stem, figure in figures.items() if figure is not None}


def _on_lines(name: str, length: int) -> str:
    """A name on two lines at most, broken after a comma where there is one."""
    lines: list[str] = []
    for piece in name.split(", "):
        if lines and len(lines[-1]) + len(piece) + 2 <= length:
            lines[-1] += f", {piece}"
            continue
        if lines:
            lines[-1] += ","
        lines += textwrap.wrap(piece, length)
    if len(lines) > 2:
        lines = [lines[0], f"{lines[1].rstrip(',')[: length - 1]}…"]
    return "\n".join(lines)


def _panel(figure: Figure, box: tuple[float, float, float, float], places: np.ndarray) -> Axes:
    axes = figure.add_axes(box)
    axes.set_ylim(-0.6, len(places) - 0.4)
    axes.set_yticks([])
    axes.set_xticks([])
    for side in ("top", "right", "bottom"):
        axes.spines[side].set_visible(False)
    return axes


def _bars(axes: Axes, criterion: Criterion, picked: Sequence[int], places: np.ndarray) -> None:
    leaders = set(criterion.leaders())
    values = [criterion.unit.of(criterion.values[k]) for k in picked]
    colours = [COMPUTED if k in leaders else PLAIN_BAR for k in picked]
    axes.barh(places, values, height=0.62, color=colours, zorder=2)
    largest = max(*values, 1.0) if criterion.unit is LIMIT else max(values)
    axes.set_xlim(0.0, 1.55 * (largest or 1.0))  # room for the numbers beside the bars
    for k, value, place in zip(picked, values, places, strict=True):
        axes.annotate(
            criterion.number(k),
            (value, place),
            xytext=(2.5, 0),
            textcoords="offset points",
            va="center",
            fontsize=6.8,
            color=INK,
            zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4},
        )
    if criterion.unit is LIMIT:
        axes.axvline(1.0, color=ABOVE, linewidth=0.9, zorder=3)
    words, _, unit = criterion.heading.partition(" (")
    lines = textwrap.wrap(words, HEAD_LENGTH)
    heading = "\n".join([*lines, f"({unit}"] if unit else lines)
    axes.set_title(heading, fontsize=7.0, loc="left", pad=4)


def _spacing_column(
    figure: Figure, corner: tuple[float, float], height: float, rows: Sequence[CaseRow], places: np.ndarray
) -> None:
    axes = _panel(figure, (corner[0] + 0.1 / PAGE_WIDTH, corner[1], SPACING_WIDTH / PAGE_WIDTH, height), places)
    axes.spines["left"].set_visible(False)
    axes.set_title("clear gaps\nkept", fontsize=7.2, loc="left", pad=4)
    axes.set_xlim(0, 1)
    for row, place in zip(rows, places, strict=True):
        kept = row.entry("spacing_rules_met")
        axes.text(0, float(place), kept.place, va="center", fontsize=6.8, color=INK if kept.value else QUIET)


def _scale(axes: Axes, direction: str, values: np.ndarray) -> None:
    low, high = float(values.min()), float(values.max())
    axis, set_limits = (axes.xaxis, axes.set_xlim) if direction == "x" else (axes.yaxis, axes.set_ylim)
    if low > 0 and high / low > WIDE_RANGE:
        (axes.set_xscale if direction == "x" else axes.set_yscale)("log")
        room = (high / low) ** 0.09
        set_limits(low / room, high * room)
        axis.set_minor_formatter(NullFormatter())
    else:
        room = 0.09 * (high - low) or 0.1 * abs(high) or 1.0
        set_limits(max(low - room, 0.0) if low >= 0 else low - room, high + room)
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))


def _name_points(
    axes: Axes, placer: LabelPlacer, rows: Sequence[CaseRow], x: np.ndarray, y: np.ndarray, free: np.ndarray
) -> None:
    """Name the points, those at one place together; of many only what matters."""
    pixels = np.round(axes.transData.transform(np.column_stack([x, y])) / (3.0 * RESOLUTION / 72)).astype(int)
    places: dict[tuple[int, int, bool], list[int]] = {}
    for k, (column, line) in enumerate(pixels.tolist()):
        places.setdefault((column, line, bool(free[k])), []).append(k)
    groups = list(places.values())
    if len(groups) > MOST_LABELS:
        rank = {k: (rows[k].origin != "base", not free[k], rows[k].origin == "sweep", k) for k in range(len(rows))}
        groups = sorted(groups, key=lambda group: min(rank[k] for k in group))
        groups = [g for g in groups[:MOST_LABELS] if any(free[k] or rows[k].origin != "sweep" for k in g)]
    for group in groups:
        names = [_on_lines(rows[k].brief, LABEL_LENGTH) for k in group[:3]]
        more = f"\nand {len(group) - 3} more" if len(group) > 3 else ""
        first = group[0]
        colour = INK if any(free[k] for k in group) else QUIET
        placer.beside(";\n".join(names) + more, (float(x[first]), float(y[first])), size=7.0, colour=colour)


def _legend(axes: Axes, with_limit: bool, all_free: bool) -> None:
    handles = [Line2D([], [], linestyle="none", marker="o", color=COMPUTED, label="no other case is better in both")]
    if not all_free:
        handles.append(
            Line2D(
                [], [], linestyle="none", marker="o", color="white", markeredgecolor=QUIET, label="beaten by another"
            )
        )
    if with_limit:
        handles.append(Line2D([], [], color=ABOVE, linewidth=0.9, label="limit"))
    axes.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(-0.01, 1.0),
        ncols=3,
        borderpad=0.1,
        handlelength=1.4,
        columnspacing=1.4,
    )
