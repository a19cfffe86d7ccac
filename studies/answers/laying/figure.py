"""Histograms of the field over all layings."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure

from studies.answers.answers import Answers
from studies.answers.result_units import result_units
from studies.drawing.style import PAGE_WIDTH, new_figure, styled
from studies.text.units import FLUX_DENSITY

MOST_PANELS = 6
"""Places that are drawn; `results.json` holds the histograms of all."""
ROW, LEFT, FOOT, HEAD = 1.9, 0.6, 0.5, 0.3
"""Heights and widths of rows and edges. [in]"""


@styled
def draw_laying_tolerance(result: Answers) -> Figure:
    """One panel for each place: how often a field occurs, with the drawn one, the 95th percentile and the limit."""
    found = result.laying_tolerance
    rows = () if found is None else found.fields[:MOST_PANELS]
    columns = 1 if len(rows) == 1 else 2
    lines = math.ceil(len(rows) / columns)
    height = lines * ROW + 0.1
    figure = new_figure(height)
    width = (PAGE_WIDTH - 0.15) / columns
    for k, row in enumerate(rows):
        left, bottom = (k % columns) * width + LEFT, height - (k // columns + 1) * ROW + FOOT
        axes = figure.add_axes(
            (
                left / PAGE_WIDTH,
                bottom / height,
                (width - LEFT - 0.1) / PAGE_WIDTH,
                (ROW - FOOT - HEAD) / height,
            )
        )
        unit = result_units(result).of(FLUX_DENSITY, [row.b_rms_t])
        edges, count = np.array(row.histogram_b_rms_t) / unit.size, np.array(row.histogram_count)
        axes.stairs(count / count.sum() * 100, edges, fill=True, color="C0", alpha=0.45)
        axes.axvline(row.b_rms_t / unit.size, color="black", linewidth=1.0, label="as drawn")
        axes.axvline(
            row.p95_b_rms_t / unit.size, color="C1", linewidth=1.2, linestyle=(0, (5, 2)), label="95th percentile"
        )
        span = edges[-1] - edges[0]
        if row.limit_t is not None and edges[0] - span < row.limit_t / unit.size < edges[-1] + span:
            axes.axvline(row.limit_t / unit.size, color="C3", linewidth=1.4, linestyle=(0, (1, 1)), label="limit")
        axes.set_ylim(bottom=0)
        axes.set_title(row.place, loc="left")
        axes.set_xlabel(f"resultant rms ({unit.symbol})")
        if k % columns == 0:
            axes.set_ylabel("layings (%)")
        axes.legend(loc="upper right", fontsize=6, frameon=True, framealpha=0.9)
    return figure
