"""Bars of the current of each cable over its permitted current."""

from __future__ import annotations

from matplotlib.figure import Figure

from studies.answers.answers import Answers
from studies.answers.permitted.words import ABOVE, UNSURE, WITHIN, cable_verdict, drawn_cables
from studies.drawing.bars import bars, legend_above, named_rows
from studies.drawing.style import ABOVE as RED
from studies.drawing.style import INK, QUIET, styled
from studies.drawing.style import WITHIN as BLUE

LOOKS = {WITHIN: (BLUE, "", "within"), UNSURE: (QUIET, "..", "within the error"), ABOVE: (RED, "///", "above")}
"""Colour, hatch and words by verdict."""


@styled
def draw_permitted(result: Answers) -> Figure:
    """A bar for each cable, hatched above its permitted current, with its error and a line at 1."""
    rows = drawn_cables(result)
    figure, axes = named_rows([f"{row.cable}, {row.phase}" for row in rows], row=0.19, left=1.3)
    for verdict, look in LOOKS.items():
        own = [place for place, row in enumerate(rows) if cable_verdict(row).startswith(verdict)]
        if own:
            bars(axes, own, [rows[place].current_ratio for place in own], *look)
    axes.errorbar(
        [row.current_ratio for row in rows],
        range(len(rows)),
        xerr=[row.current_ratio_error for row in rows],
        fmt="none",
        ecolor=INK,
        elinewidth=0.8,
        zorder=3,
    )
    axes.axvline(1.0, color=INK, linewidth=1.2, linestyle=(0, (6, 3)), label="permitted", zorder=4)
    axes.set_xlim(0.0, 1.08 * max(1.0, *(row.current_ratio + row.current_ratio_error for row in rows)))
    axes.set_xlabel("current / permitted current")
    legend_above(figure, axes)
    return figure
