"""The field of each shield over its mass or loss, with the limit."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from studies.answers.answers import Answers
from studies.answers.result_units import result_units
from studies.answers.shields.rows import ShieldResult
from studies.answers.shields.words import CHOSEN
from studies.drawing.labels import LabelPlacer
from studies.drawing.style import ABOVE, COMPUTED, INK, QUIET, new_figure, styled
from studies.study.solved_changes import LEAST_MASS
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH

HEIGHT = 3.6
MOST_NAMES = 12
"""Shields that meet the limits, are not beaten, and have their names; of more, the chosen one alone has."""
ROOM = 0.12
"""Free share of each axis beyond what is drawn. [-]"""


@styled
def draw_shields(result: Answers) -> Figure:
    """Shields that are not beaten filled, those above a limit as triangles, the chosen one ringed."""
    figure = new_figure(HEIGHT)
    axes = figure.add_axes((0.095, 0.13, 0.885, 0.715))
    of_mass = result.study.shield_search is None or result.study.shield_search.least == LEAST_MASS
    loss_unit = result_units(result).of(LOSS_PER_LENGTH, [row.loss_w_per_m for row in result.shields])
    size, limit = _field_axis(axes, result)

    def at(row: ShieldResult) -> tuple[float, float]:
        return (row.mass_kg_per_m if of_mass else loss_unit.of(row.loss_w_per_m)), row.field_over_limit * size

    first = result.shields[0]
    without = _without(result) * size
    bare = 0.0 if of_mass else loss_unit.of(first.loss_w_per_m - first.loss_change_w_per_m)
    axes.set_xlabel("mass (kg/m)" if of_mass else f"losses of all parts ({loss_unit.symbol})")
    places = [(bare, without), *map(at, result.shields)]
    low, high = min(x for x, _ in places), max(x for x, _ in places)
    axes.set_xlim(low - ROOM * (high - low or 1), high + 2 * ROOM * (high - low or 1))
    axes.set_ylim(0, (1 + ROOM) * max(limit, *(y for _, y in places)))
    axes.grid(True)
    axes.axhline(limit, color=INK, linewidth=0.9, linestyle=(0, (6, 3)), label="limit")
    axes.plot(bare, without, "s", color=QUIET, markersize=6, label="without a shield")
    _marks(axes, result, at)
    placer = LabelPlacer(axes)
    placer.keep_line_free((axes.get_xlim()[0], limit), (axes.get_xlim()[1], limit))
    placer.keep_free(places, 5)
    best = [row for row in result.shields if row.within_limits and not row.beaten]
    for row in best if len(best) <= MOST_NAMES else [row for row in best if row.chosen]:
        placer.beside(f"{row.metal}\n{row.width_m * 1e3:.6g} × {row.thickness_m * 1e3:.6g} mm", at(row), nearest=8.0)
    figure.legend(*axes.get_legend_handles_labels(), loc="upper left", bbox_to_anchor=(0.085, 0.99), ncols=4)
    return figure


def _field_axis(axes: Axes, result: Answers) -> tuple[float, float]:
    """What a field over its limit is multiplied by, and the limit: a field if all shields have one place and limit."""
    rows = result.shields
    limit = rows[0].b_rms_t / rows[0].field_over_limit
    ratios = [row.field_over_limit * limit / row.b_rms_t for row in rows]  # others than 1 if it is an exposure index
    if len({row.receptor for row in rows}) > 1 or not np.allclose(ratios, 1.0, rtol=1e-6):
        axes.set_ylabel("largest field over its limit (–)")
        return 1.0, 1.0
    unit = result_units(result).of(FLUX_DENSITY, [limit])
    axes.set_ylabel(f"flux density at {rows[0].receptor}, rms ({unit.symbol})")
    return unit.of(limit), unit.of(limit)


def _without(result: Answers) -> float:
    """Largest field over its limit without a shield. [-]"""
    row = max(result.shields, key=lambda row: row.field_over_limit * row.shielding_factor)
    return row.field_over_limit * row.shielding_factor


def _marks(axes: Axes, result: Answers, at: object) -> None:
    assert callable(at)
    for within, colour, shape in ((True, COMPUTED, "o"), (False, ABOVE, "^")):
        for beaten in (False, True):
            rows = [row for row in result.shields if row.within_limits is within and row.beaten is beaten]
            if rows:
                x, y = zip(*map(at, rows), strict=True)
                name = f"{'meets the limits' if within else 'above a limit'}{', beaten' if beaten else ''}"
                face = "white" if beaten else colour
                axes.plot(x, y, shape, color=colour, markerfacecolor=face, markersize=6, label=name)
    for row in result.shields:
        if row.chosen:
            axes.plot(*at(row), "o", color=INK, markerfacecolor="none", markersize=12, label=CHOSEN)
