"""The flux density around the cables and trays, straight from the elements of the mesh."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fem.arrays import Floats
from fem.field import FieldProbe
from fem.polarisation import resultant
from geometry.shapes import Point
from studies.answers.answers import Answers
from studies.answers.element_fields import flux_density_near
from studies.answers.figure_names import at_own_frequency
from studies.drawing.colour_scales import log_colour_bar, log_norm, scale_unit
from studies.drawing.solids import draw_outlines, extent
from studies.drawing.style import Margins, magnitude_colours, styled, titled, to_scale
from studies.text.units import FLUX_DENSITY

MILLIMETRES = 1e3
TALLEST_CLOSE = 4.8
"""Largest height of the drawing. [in]"""
PIXELS = 300
"""Across and up the corners of the drawing that lie outside the mesh."""
RIM = 0.99
"""Share of the mesh's radius from which on they are drawn, under its triangles, or two pixels less of it. [-]"""


@styled
def draw_field_close(result: Answers) -> Figure:
    """Resultant rms flux density in and around the solids on a logarithmic scale, in millimetres."""
    low, high = extent(result.cross_section)
    room = 0.12 * max(high[0] - low[0], high[1] - low[1])
    window = _mm((low[0] - room, low[1] - room)), _mm((high[0] + room, high[1] + room))
    figure, axes = to_scale(window, Margins(right=1.05), 1.6, tallest=TALLEST_CLOSE)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    seen = (x0 / MILLIMETRES, y0 / MILLIMETRES), (x1 / MILLIMETRES, y1 / MILLIMETRES)
    field = flux_density_near(result, *seen, (x1 - x0) / MILLIMETRES / axes.get_window_extent().width)
    x, y = field.points.T * MILLIMETRES
    beyond = _beyond_the_mesh(axes, result)
    within = field.values[(x >= x0) & (x <= x1) & (y >= y0) & (y <= y1)]
    norm = log_norm(np.concatenate([within, beyond[np.isfinite(beyond)]]))
    axes.imshow(beyond, extent=(x0, x1, y0, y1), origin="lower", cmap=magnitude_colours(), norm=norm, zorder=0)
    drawing = axes.tripcolor(
        field.triangulation(MILLIMETRES),
        field.values,
        shading="gouraud",
        cmap=magnitude_colours(),
        norm=norm,
        rasterized=True,
    )
    axes.set_xlim(x0, x1)
    axes.set_ylim(y0, y1)
    draw_outlines(axes, result.cross_section, MILLIMETRES, metal_filled=False)
    log_colour_bar(figure, axes, drawing, "flux density, rms", scale_unit(norm, FLUX_DENSITY))
    axes.set_xlabel("x (mm)")
    axes.set_ylabel("y (mm)")
    titled(axes, f"Resultant flux density in and around the cables and metal{at_own_frequency(result)}")
    return figure


def _beyond_the_mesh(axes: Axes, result: Answers) -> Floats:
    """Resultant rms flux density at pixels of the axes outside the mesh, which is round, shape (ny, nx). [T]"""
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    x, y = (low + (high - low) * (np.arange(PIXELS) + 0.5) / PIXELS for low, high in ((x0, x1), (y0, y1)))
    points = np.stack(np.meshgrid(x, y), axis=-1) / MILLIMETRES
    # the rim of the mesh is made of chords: what lies between them and the circle is drawn from outside too
    exterior = result.fields.exterior
    pixel = max(x1 - x0, y1 - y0) / PIXELS / MILLIMETRES
    outside = exterior.beyond(points, min(RIM, max(1 - 2 * pixel / exterior.least_radius, 0.0)))
    values = np.full(outside.shape, np.nan)
    nodal = result.fields.potential(result.drive.voltages)
    probe = FieldProbe(result.fields)
    values[outside] = resultant(probe.flux_density_raw(nodal, points[outside]))
    return values


def _mm(point: Point) -> Point:
    return point[0] * MILLIMETRES, point[1] * MILLIMETRES
