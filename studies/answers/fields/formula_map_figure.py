"""Where on the map the line formula holds: its difference from the finite-element field in per cent."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure

from fem.arrays import Floats
from studies.answers.answers import Answers
from studies.answers.fields.map_figure import (
    LEAST_MAP,
    foot,
    keep_solids_free,
    label_axes,
    map_extent,
    map_margins,
    require_map,
)
from studies.answers.fields.map_marks import draw_receptors, legend_handles
from studies.answers.fields.rows import MapResult, ReceptorResult
from studies.drawing.colour_scales import bar_axes
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import draw_outlines, inside_solids
from studies.drawing.style import INK, differences, styled, titled, to_scale
from studies.text.numbers import MINUS, plain

CONTOURS = (-20.0, -5.0, -1.0, 1.0, 5.0, 20.0)
"""Differences with a contour. [%]"""
STEPS = (-100.0, -50.0, -20.0, -5.0, -1.0, 1.0, 5.0, 20.0, 50.0, 100.0)
"""Where the colour changes. [%]"""
SEEN, LABELLED = 0.12, 0.5
"""Extent from which a contour is drawn, and from which it is labelled. [in]

Smaller ones crowd at the cables and metal of a wide map, where the colours say enough.
"""


def difference_percent(field: MapResult) -> Floats:
    """Line formula / finite element - 1, shape (ny, nx); infinite on a conductor's axis. [%]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        difference: Floats = 100 * (field.line_formula_b_rms_t / field.b_rms_t - 1)
    return difference


@styled
def draw_formula_map(result: Answers) -> Figure:
    """Difference of the line formula from the finite-element field, in steps, with contours at 1, 5 and 20 %."""
    field = require_map(result)
    handles = legend_handles(result.receptors)
    figure, axes = to_scale(map_extent(field), map_margins(handles, ""), LEAST_MAP)
    difference = np.clip(np.nan_to_num(difference_percent(field), nan=0.0, posinf=1e3, neginf=-1e3), -1e3, 1e3)
    colours = differences()
    norm = BoundaryNorm(STEPS, colours.N, extend="both")
    areas = axes.contourf(
        field.x_m, field.y_m, difference, levels=STEPS, norm=norm, cmap=colours, extend="both", zorder=1
    )
    draw_outlines(axes, result.cross_section, 1.0, cables_filled=True)
    placer = LabelPlacer(axes)
    keep_solids_free(placer, result.cross_section)
    points = np.stack(np.meshgrid(field.x_m, field.y_m), axis=-1).reshape(-1, 2)
    solid = inside_solids(result.cross_section, points).reshape(difference.shape)
    lines = _contours(axes, field, np.where(solid, np.nan, difference))
    draw_receptors(axes, placer, result.receptors, result.cross_section, _receptor_text)
    for level, pieces in lines.items():
        if pieces and _size(axes, pieces[0]) >= LABELLED:
            placer.on_line(f"{_signed(level)} %", pieces[0], size=6.5)
    bar = figure.colorbar(areas, cax=bar_axes(figure, axes), ticks=STEPS)
    bar.ax.set_yticklabels([_signed(step) for step in STEPS])
    bar.ax.minorticks_off()
    bar.set_label("line formula over FE − 1 (%)")
    label_axes(axes)
    titled(axes, "Where the line formula holds: its difference from the finite-element field")
    foot(figure, handles, "")
    return figure


def _contours(axes: Axes, field: MapResult, difference: Floats) -> dict[float, list[Floats]]:
    """Draw the lines of each level that are large enough to be seen as lines, and return them, the largest first."""
    drawn = axes.contour(field.x_m, field.y_m, difference, levels=CONTOURS)
    segments = drawn.allsegs
    drawn.remove()
    found = {}
    for level, pieces in zip(CONTOURS, segments, strict=True):
        seen = [piece for piece in pieces if _size(axes, piece) >= SEEN]
        found[level] = sorted(seen, key=lambda piece: -_size(axes, piece))
        dashes = "dashed" if level < 0 else "solid"
        lines = LineCollection(seen, colors=INK, linewidths=0.7, linestyles=dashes, zorder=3.5)
        axes.add_collection(lines, autolim=False)
    return found


def _size(axes: Axes, piece: Floats) -> float:
    """Diagonal of the box about a line. [in]"""
    if len(piece) < 2:
        return 0.0
    return float(np.hypot(*np.ptp(axes.transData.transform(piece), axis=0))) / axes.figure.dpi


def _receptor_text(receptor: ReceptorResult) -> str:
    """Name of a receptor and the difference there."""
    if receptor.b_rms_t == 0:
        return receptor.name
    difference = 100 * (receptor.line_formula_b_rms_t / receptor.b_rms_t - 1)
    digits = 3 if abs(difference) >= 99.5 else 2 if abs(difference) >= 1 else 1
    return f"{receptor.name}\n{'+' if difference > 0 else ''}{plain(difference, digits)} %"


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else MINUS if value < 0 else ''}{abs(value):g}"
