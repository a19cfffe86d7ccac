"""Bars of what each cause adds to the formula."""

from __future__ import annotations

from matplotlib.figure import Figure

from studies.answers.answers import Answers
from studies.answers.causes.rows import LOSSES, splits
from studies.answers.causes.words import HEADINGS
from studies.drawing.style import PAGE_WIDTH, new_figure, styled

ROW, FRAME = 0.24, 1.05
"""Height of a bar, and of all about them. [in]"""
MOST = 16
"""Numbers that are drawn; results.json holds all."""
HATCHES = ("", "//", "..", "xx", "\\\\")


@styled
def draw_causes(result: Answers) -> Figure:
    """Signed bars of each cause in per cent of the computed value, end to end, one line for each number."""
    rows = [row for row in splits(result.causes) if row.computed][:MOST]
    height = FRAME + ROW * len(rows)
    figure = new_figure(height)
    axes = figure.add_axes((1.9 / PAGE_WIDTH, 0.5 / height, (PAGE_WIDTH - 2.1) / PAGE_WIDTH, ROW * len(rows) / height))
    for number, heading in enumerate(HEADINGS):
        values = [100 * row.parts()[number] / row.computed for row in rows]
        starts = [
            100 * sum(part for part in row.parts()[:number] if part * row.parts()[number] > 0) / row.computed
            for row in rows
        ]
        axes.barh(
            range(len(rows)),
            values,
            left=starts,
            height=0.7,
            color=f"C{number}",
            hatch=HATCHES[number],
            edgecolor="black",
            linewidth=0.4,
            label=heading.lower(),
        )
    axes.axvline(0.0, color="black", linewidth=0.6)
    names = [("loss, " if row.of == LOSSES else f"{row.of[:-1]}, ") + row.place for row in rows]
    axes.set_yticks(range(len(rows)), [name if len(name) < 32 else f"{name[:30]}…" for name in names])
    axes.invert_yaxis()
    axes.set_xlabel("part of the difference / computed value (%)")
    figure.legend(loc="upper center", ncols=3, frameon=False)
    axes.grid(True, axis="x")
    return figure
