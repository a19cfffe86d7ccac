"""Bars of the energy of a year by kind of parts."""

from __future__ import annotations

from matplotlib.figure import Figure

from studies.answers.answers import Answers
from studies.answers.energy.words import drawn_energies, parts_words
from studies.drawing.bars import bars, legend_above, named_rows, write_at
from studies.drawing.style import COMPUTED, INK, QUIET, styled
from studies.text.numbers import plain
from studies.text.units import KILOWATT_HOUR_PER_METRE


@styled
def draw_energy(result: Answers) -> Figure:
    """A bar for each kind of parts and, hatched, all, and a line from least to most where the load is estimated."""
    rows = drawn_energies(result)
    figure, axes = named_rows([parts_words(row) for row in rows], row=0.3, left=1.5)
    values = [KILOWATT_HOUR_PER_METRE.of(row.energy_j_per_m) for row in rows]
    last = len(rows) - 1
    bars(axes, range(last), values[:last], COMPUTED, "", "kinds of parts")
    bars(axes, [last], values[last:], QUIET, "///", "all")
    ends = list(values)
    for place, row in enumerate(rows):
        text = plain(values[place])
        if row.least_energy_j_per_m is not None and row.most_energy_j_per_m is not None:
            least, ends[place] = map(KILOWATT_HOUR_PER_METRE.of, (row.least_energy_j_per_m, row.most_energy_j_per_m))
            label = "" if place < last else "least to most"
            axes.plot([least, ends[place]], [place, place], "|-", color=INK, linewidth=1.2, label=label, zorder=4)
            text += f" ({plain(least)} to {plain(ends[place])})"
        write_at(axes, place, ends[place], text)
    axes.set_xlim(0.0, 1.3 * max(ends))
    axes.set_xlabel("energy of the losses over a year (kWh/m)")
    legend_above(figure, axes)
    return figure
