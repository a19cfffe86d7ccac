"""Where on the map the line formula holds: its difference from the finite-element field in per cent."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure

from fem.arrays import Floats
from studies.answers.answers import Answers
from studies.answers.fields.map_figure import (
    LEAST_MAP,
    contours,
    foot,
    keep_solids_free,
    label_axes,
    label_contours,
    map_extent,
    map_margins,
    require_map,
)
from studies.answers.fields.map_marks import draw_receptors, legend_handles
from studies.answers.fields.rows import MapResult, ReceptorResult
from studies.answers.net_currents.marked import marked_receptors
from studies.drawing.colour_scales import bar_axes
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import draw_outlines, inside_solids
from studies.drawing.style import differences, styled, titled, to_scale
from studies.text.numbers import MINUS, plain

FINE_STEPS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
"""Where the colour changes if nearly all differences are small: the five up to the first that holds them. [%]"""
COARSE_STEPS = ((1.0, 5.0, 10.0, 20.0, 50.0), (1.0, 5.0, 20.0, 50.0, 100.0))
"""The same of larger differences. [%]"""
NEARLY_ALL = 0.98
"""Share of the map's air whose differences the steps hold. [-]"""


def difference_percent(field: MapResult) -> Floats:
    """Line formula / finite element - 1, shape (ny, nx); infinite on a conductor's axis. [%]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        difference: Floats = 100 * (field.line_formula_b_rms_t / field.b_rms_t - 1)
    return difference


def steps_for(differences_in_air: Floats) -> tuple[float, ...]:
    """Steps of the colours on both sides of zero that hold nearly all differences. [%]"""
    size = float(np.quantile(np.abs(differences_in_air), NEARLY_ALL)) if differences_in_air.size else 0.0
    fine = [FINE_STEPS[k - 4 : k + 1] for k in range(4, len(FINE_STEPS))]
    own = next((steps for steps in (*fine, *COARSE_STEPS) if size <= steps[-1]), COARSE_STEPS[-1])
    return (*(-step for step in reversed(own)), *own)


@styled
def draw_formula_map(result: Answers) -> Figure:
    """Difference of the line formula from the finite-element field, in steps that suit it, with contours."""
    field, receptors = require_map(result), marked_receptors(result)
    handles = legend_handles(receptors)
    figure, axes = to_scale(map_extent(field), map_margins(handles, ""), LEAST_MAP)
    difference = np.clip(np.nan_to_num(difference_percent(field), nan=0.0, posinf=1e3, neginf=-1e3), -1e3, 1e3)
    points = np.stack(np.meshgrid(field.x_m, field.y_m), axis=-1).reshape(-1, 2)
    solid = inside_solids(result.cross_section, points).reshape(difference.shape)
    steps = steps_for(difference[~solid])
    colours = differences()
    norm = BoundaryNorm(steps, colours.N, extend="both")
    areas = axes.contourf(
        field.x_m, field.y_m, difference, levels=steps, norm=norm, cmap=colours, extend="both", zorder=1
    )
    draw_outlines(axes, result.cross_section, 1.0, cables_filled=True)
    placer = LabelPlacer(axes, boxed=True)
    keep_solids_free(placer, result.cross_section)
    dashes = {step: "dashed" if step < 0 else "solid" for step in steps if abs(step) < 50}
    lines = contours(axes, field, np.where(solid, np.nan, difference), dashes, width=0.7)
    draw_receptors(axes, placer, receptors, result.cross_section, _receptor_text)
    label_contours(axes, placer, {f"{_signed(level)} %": pieces for level, pieces in lines.items()})
    bar = figure.colorbar(areas, cax=bar_axes(figure, axes), ticks=steps)
    bar.ax.set_yticklabels([_signed(step) for step in steps])
    bar.ax.minorticks_off()
    bar.set_label("line formula over FE − 1 (%)")
    label_axes(axes)
    titled(axes, "Where the line formula holds: its difference from the finite-element field")
    foot(figure, handles, "")
    return figure


def _receptor_text(receptor: ReceptorResult) -> str:
    """Name of a receptor and the difference there."""
    if receptor.b_rms_t == 0:
        return receptor.name
    difference = 100 * (receptor.line_formula_b_rms_t / receptor.b_rms_t - 1)
    digits = 3 if abs(difference) >= 99.5 else 2 if abs(difference) >= 1 else 1
    return f"{receptor.name}\n{'+' if difference > 0 else ''}{plain(difference, digits)} %"


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else MINUS if value < 0 else ''}{abs(value):g}"
