"""Where on the map the line formula holds: its difference from the finite-element field in per cent."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure
from numpy.typing import NDArray

from studies.figures.colour_scales import bar_axes
from studies.figures.engineering import MINUS
from studies.figures.field_map import (
    LEAST_MAP,
    foot,
    keep_solids_free,
    label_axes,
    map_extent,
    map_margins,
    require_map,
)
from studies.figures.labels import LabelPlacer
from studies.figures.receptors import draw_receptors, receptor_handles
from studies.figures.solids import draw_outlines
from studies.figures.style import INK, differences, styled, to_scale
from studies.results import MapResult, Result

Floats = NDArray[np.float64]

CONTOURS = (-20.0, -5.0, -1.0, 1.0, 5.0, 20.0)
"""Differences with a contour. [%]"""
STEPS = (-100.0, -50.0, -20.0, -5.0, -1.0, 1.0, 5.0, 20.0, 50.0, 100.0)
"""Where the colour changes. [%]"""


def difference_percent(field: MapResult) -> Floats:
    """Line formula over finite element less one, shape (ny, nx); infinite on a conductor's axis. [%]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        difference: Floats = 100 * (field.line_formula_b_rms_t / field.b_rms_t - 1)
    return difference


@styled
def draw_formula_map(result: Result) -> Figure:
    """Difference of the line formula from the finite-element field, in steps, with contours at 1, 5 and 20 %."""
    field = require_map(result)
    handles = receptor_handles(result.receptors)
    figure, axes = to_scale(map_extent(field), map_margins(handles, ""), LEAST_MAP)
    difference = np.clip(np.nan_to_num(difference_percent(field), nan=0.0, posinf=1e3, neginf=-1e3), -1e3, 1e3)
    colours = differences()
    norm = BoundaryNorm(STEPS, colours.N, extend="both")
    areas = axes.contourf(
        field.x_m, field.y_m, difference, levels=STEPS, norm=norm, cmap=colours, extend="both", zorder=1
    )
    draw_outlines(axes, result.cross_section, 1.0)
    placer = LabelPlacer(axes)
    keep_solids_free(placer, result.cross_section)
    lines = axes.contour(
        field.x_m,
        field.y_m,
        difference,
        levels=CONTOURS,
        colors=INK,
        linewidths=0.7,
        linestyles=["dashed" if level < 0 else "solid" for level in CONTOURS],
        zorder=6,
    )
    draw_receptors(axes, placer, result.receptors, result.cross_section, values=False)
    for level, path in zip(CONTOURS, lines.get_paths(), strict=True):
        placer.on_line(f"{_signed(level)} %", np.asarray(path.vertices), size=6.5)
    bar = figure.colorbar(areas, cax=bar_axes(figure, axes), ticks=STEPS)
    bar.ax.set_yticklabels([_signed(step) for step in STEPS])
    bar.ax.minorticks_off()
    bar.set_label("line formula over FE − 1 (%)")
    label_axes(axes)
    axes.set_title("Where the line formula holds: its difference from the finite-element field")
    foot(figure, handles, "")
    return figure


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else MINUS if value < 0 else ''}{abs(value):g}"
