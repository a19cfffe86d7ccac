"""Horizontal bars with a name each, one below the other."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from studies.drawing.style import INK, PAGE_WIDTH, new_figure

BELOW, ABOVE = 0.5, 0.4
"""Room for the axis and for the legend. [in]"""
MOST_LETTERS = 40
"""Letters of a line of a name that is drawn whole."""


def named_rows(names: Sequence[str], row: float = 0.22, left: float = 2.3) -> tuple[Figure, Axes]:
    """A figure of page width whose axes have a row [in] for each name, right of the room for names [in]."""
    rows = row * len(names)
    height = rows + BELOW + ABOVE
    figure = new_figure(height)
    axes = figure.add_axes((left / PAGE_WIDTH, BELOW / height, (PAGE_WIDTH - left - 0.2) / PAGE_WIDTH, rows / height))
    axes.set_yticks(range(len(names)), ["\n".join(map(_cut, name.split("\n"))) for name in names])
    axes.set_ylim(len(names) - 0.5, -0.5)
    axes.grid(True, axis="x")
    return figure, axes


def bars(axes: Axes, places: Sequence[int], lengths: Sequence[float], colour: str, hatch: str, label: str) -> None:
    """Bars of one kind, told from others by hatch as well as by colour."""
    axes.barh(
        places, lengths, height=0.7, color=colour, hatch=hatch, edgecolor="black", linewidth=0.4, label=label, zorder=2
    )


def write_at(axes: Axes, place: int, end: float, text: str) -> None:
    """Write beside the end of a bar."""
    axes.annotate(
        text, (end, place), (4, 0), textcoords="offset points", va="center", fontsize=7.0, color=INK, zorder=5
    )


def legend_above(figure: Figure, axes: Axes) -> None:
    """Explain bars and lines in one row above the axes."""
    figure.legend(*axes.get_legend_handles_labels(), loc="upper right", bbox_to_anchor=(0.98, 1.0), ncols=4)


def _cut(line: str) -> str:
    return line if len(line) <= MOST_LETTERS else f"{line[: MOST_LETTERS - 1]}…"
