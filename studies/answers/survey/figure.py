"""Readings beside the computed field, and their deviations."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from studies.answers.answers import Answers
from studies.answers.result_units import result_units
from studies.drawing.style import COMPUTED, FORMULA, INK, QUIET, new_figure, styled
from studies.text.units import FLUX_DENSITY

HEIGHT = 4.2
MOST_NAMES, SHORT = 25, 3
"""Readings whose names fit below the figure, and characters of a name that stays level."""


@styled
def draw_survey(result: Answers) -> Figure:
    """Above the fields, below the deviations, by reading in the order of the file."""
    found = result.survey
    rows = () if found is None else found.readings
    figure = new_figure(HEIGHT)
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1))
    unit = result_units(result).of(FLUX_DENSITY, [row.measured_t for row in rows])
    places = np.arange(1, len(rows) + 1)
    measured, spread = (np.array([getattr(r, n) for r in rows]) / unit.size for n in ("measured_t", "uncertainty_t"))
    above.errorbar(places, measured, spread, fmt="o", color=INK, markersize=4, capsize=3, linewidth=1, label="measured")
    above.plot(places, [r.b_rms_t / unit.size for r in rows], "_", color=COMPUTED, markersize=14, label="as drawn")
    fitted = [r.fitted_b_rms_t for r in rows]
    if all(value is not None for value in fitted):
        values = [value / unit.size for value in fitted if value is not None]
        above.plot(places, values, "x", color=FORMULA, markersize=6, label="best fit")
        below.plot(places, [r.fitted_deviation for r in rows], "x", color=FORMULA, markersize=6)
    if measured.min() > 0 and measured.max() > 20 * measured.min():
        above.set_yscale("log")
    else:
        above.set_ylim(bottom=0)
    above.set_ylabel(f"field, rms ({unit.symbol})")
    above.legend(loc="best", fontsize=7)
    below.axhspan(-2, 2, color=QUIET, alpha=0.18, linewidth=0)
    below.axhline(0, color=QUIET, linewidth=0.8)
    below.plot(places, [r.deviation for r in rows], "_", color=COMPUTED, markersize=14)
    below.set_yscale("symlog", linthresh=4)  # linear about the band, so that what is far off does not flatten it
    below.yaxis.set_major_formatter("{x:g}")
    below.set_ylabel("deviation (–)")
    if len(rows) <= MOST_NAMES:
        below.set_xticks(places, [r.name for r in rows], fontsize=7)
        if max(len(r.name) for r in rows) > SHORT:
            below.tick_params(axis="x", rotation=45)
    else:
        below.set_xlabel("reading, in the order of the file")
    figure.tight_layout()
    return figure
