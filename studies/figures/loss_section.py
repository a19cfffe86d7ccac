"""Where a part that is no single wall is hot: loss density on its section, as thick as it is."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from geometry.shapes import Point, boundary_loops
from studies.figures.colour_scales import bar_axes
from studies.figures.developed import tray_triangles
from studies.figures.engineering import LOSS_PER_LENGTH, LOSS_PER_VOLUME, quantity, unit_for
from studies.figures.names import at_own_frequency
from studies.figures.solids import draw_layers, shape_path
from studies.figures.style import INK, Margins, magnitudes, styled, to_scale
from studies.results import Result

MILLIMETRES = 1e3
TALLEST_SECTION = 4.8
"""Largest height of the drawing. [in]"""


@styled
def draw_loss_section(result: Result, name: str) -> Figure:
    """Loss density of a part over its section, in millimetres."""
    part = result.cross_section.part(name)
    low, high = _window(boundary_loops(part.shape)[0])
    figure, axes = to_scale((low, high), Margins(right=0.95), 1.4, tallest=TALLEST_SECTION)
    limits = axes.get_xlim(), axes.get_ylim()
    mesh = result.fields.mesh
    chosen = tray_triangles(result, name)
    density = result.element_fields.loss_density[chosen]
    peak = float(density.max(initial=0.0))
    unit = unit_for(peak, LOSS_PER_VOLUME)
    x, y = mesh.points.T * MILLIMETRES
    picture = axes.tripcolor(
        x,
        y,
        triangles=mesh.triangles[chosen, :3],
        facecolors=density / unit.size,
        cmap=magnitudes(),
        vmin=0.0,
        vmax=peak / unit.size or 1.0,
        rasterized=True,
        zorder=2,
    )
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    outline = shape_path(part.shape, MILLIMETRES)
    for loop in outline.to_polygons(closed_only=True):
        axes.plot(*np.asarray(loop).T, color=INK, linewidth=0.4, zorder=3)
    draw_layers(axes, result.cross_section.cables, MILLIMETRES)
    figure.colorbar(picture, cax=bar_axes(figure, axes)).set_label(f"loss density ({unit.symbol})")
    loss = float(result.loss_fields.total[result.fields.part_names.index(name)])
    axes.set_xlabel("x (mm)")
    axes.set_ylabel("y (mm)")
    axes.set_title(f"{name}: {quantity(loss, LOSS_PER_LENGTH)} in all{at_own_frequency(result)}")
    return figure


def _window(outline: np.ndarray) -> tuple[Point, Point]:
    low, high = outline.min(axis=0) * MILLIMETRES, outline.max(axis=0) * MILLIMETRES
    room = 0.06 * float((high - low).max())
    return (float(low[0]) - room, float(low[1]) - room), (float(high[0]) + room, float(high[1]) + room)
