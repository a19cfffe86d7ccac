"""Bars of the loss of plates by the way in which cables pass through them."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from studies.answers.answers import Answers
from studies.answers.plates.words import drawn_ways
from studies.drawing.bars import bars, legend_above, named_rows, write_at
from studies.drawing.style import FORMULA, WITHIN, styled
from studies.text.numbers import with_unit
from studies.text.units import LOSS

ROOM = 0.15
"""Free share of the axis for what is written beside the longest bar. [-]"""


@styled
def draw_plates(result: Answers) -> Figure:
    """A bar on a logarithmic axis for each way, those of saturated steel hatched, with their losses written beside."""
    rows = drawn_ways(result)
    figure, axes = named_rows([row.name for row in rows], row=0.34, left=2.7)
    for saturated, look in ((False, (WITHIN, "", "constant permeability")), (True, (FORMULA, "///", "saturated"))):
        own = [place for place, row in enumerate(rows) if row.saturated is saturated]
        if own:
            bars(axes, own, [rows[place].loss_w for place in own], *look)
    low, high = 0.3 * min(row.loss_w for row in rows), max(row.loss_w for row in rows)
    axes.set_xscale("log")
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xlim(low, high * (high / low) ** (ROOM / (1 - ROOM)))
    for place, row in enumerate(rows):
        write_at(axes, place, row.loss_w, with_unit(row.loss_w, LOSS))
    axes.set_xlabel("loss of all such plates, closed forms (W)")
    legend_above(figure, axes)
    return figure
