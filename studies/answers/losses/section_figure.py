"""Where a part that is no single sheet is hot: loss density on its section, thin sheets drawn thicker."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure

from fem.arrays import Floats
from geometry.network import Network
from geometry.shapes import Disc, Point, Shape, Tube, boundary_loops
from studies.answers.answers import Answers
from studies.answers.figure_names import at_own_frequency
from studies.answers.losses.developed import tray_triangles
from studies.drawing.colour_scales import bar_axes
from studies.drawing.sheets import CHORDS, chorded, exaggeration, thickened, thickened_outline, thinnest
from studies.drawing.solids import draw_layers
from studies.drawing.style import INK, Margins, magnitude_colours, styled, titled, to_scale
from studies.text.numbers import with_unit
from studies.text.units import LOSS_PER_LENGTH, LOSS_PER_VOLUME, unit_for

MILLIMETRES = 1e3
TALLEST_SECTION = 4.8
"""Largest height of the drawing. [in]"""
DRAWN_THICKNESS = 6.0
"""Least thickness of a sheet in the drawing. [pt]"""


@styled
def draw_loss_section(result: Answers, name: str) -> Figure:
    """Loss density of a part over its section, in millimetres."""
    shape = result.cross_section.part(name).shape
    low, high = _window(boundary_loops(shape)[0])
    figure, axes = to_scale((low, high), Margins(right=0.95), 1.4, tallest=TALLEST_SECTION)
    limits = axes.get_xlim(), axes.get_ylim()
    mesh = result.fields.mesh
    chosen = tray_triangles(result, name)
    drawn = chorded(mesh.points[mesh.triangles[chosen]], CHORDS if isinstance(shape, Disc | Tube) else 1)
    pieces = drawn.shape[1]
    outlines = [np.vstack([loop, loop[:1]]) for loop in (boundary_loops(shape)[0], *boundary_loops(shape)[1])]
    factor = _exaggeration(axes, shape)
    if isinstance(shape, Network) and factor > 1:
        middles = np.repeat(mesh.points[mesh.triangles[chosen, :3]].mean(axis=1), 3 * pieces, axis=0)
        drawn = thickened(shape, drawn.reshape(-1, 2), middles, factor).reshape(drawn.shape)
        outlines = thickened_outline(shape, factor)
    density = result.element_fields.loss_density[chosen]
    unit = unit_for(float(density.max(initial=0.0)), LOSS_PER_VOLUME)
    picture = _painted(axes, drawn.reshape(-1, 2) * MILLIMETRES, np.repeat(density / unit.size, pieces))
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    for loop in outlines:
        axes.plot(*(loop * MILLIMETRES).T, color=INK, linewidth=0.4, zorder=3)
    draw_layers(axes, result.cross_section, MILLIMETRES)
    figure.colorbar(picture, cax=bar_axes(figure, axes)).set_label(f"loss density ({unit.symbol})")
    loss = float(result.loss_fields.total[result.fields.part_names.index(name)])
    axes.set_xlabel("x (mm)")
    axes.set_ylabel("y (mm)")
    thicker = ""
    if isinstance(shape, Network) and factor > 1:
        thicker = f", sheets ({thinnest(shape) * MILLIMETRES:.3g} mm) drawn {factor:g} times as thick"
    titled(axes, f"{name}: {with_unit(loss, LOSS_PER_LENGTH)} in all{at_own_frequency(result)}{thicker}")
    return figure


def _painted(axes: Axes, corners: Floats, values: Floats) -> PolyCollection:
    """Triangles of which each three corners are one, coloured by their values."""
    return axes.tripcolor(
        *corners.T,
        triangles=np.arange(len(corners)).reshape(-1, 3),
        facecolors=values,
        cmap=magnitude_colours(),
        vmin=0.0,
        vmax=float(values.max(initial=0.0)) or 1.0,
        rasterized=True,
        zorder=2,
    )


def _exaggeration(axes: Axes, shape: Shape) -> float:
    """How many times as thick as they are the sheets of a part are drawn; 1 for other parts. [-]"""
    if not isinstance(shape, Network):
        return 1.0
    figure, (left, right) = axes.get_figure(root=True), axes.get_xlim()
    assert figure is not None
    across = axes.get_position(original=True).width * figure.get_figwidth() * 72
    return exaggeration(shape, across / ((right - left) / MILLIMETRES), DRAWN_THICKNESS)


def _window(outline: Floats) -> tuple[Point, Point]:
    low, high = outline.min(axis=0) * MILLIMETRES, outline.max(axis=0) * MILLIMETRES
    room = 0.06 * float((high - low).max())
    return (float(low[0]) - room, float(low[1]) - room), (float(high[0]) + room, float(high[1]) + room)
