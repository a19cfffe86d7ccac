"""Cables, trays and other metal to scale on an axes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PatchCollection, PathCollection
from matplotlib.patches import Circle
from matplotlib.path import Path

from fem.arrays import Flags, Floats
from geometry.shapes import Point, Shape, boundary_loops
from studies.drawing.style import INK, LAYERS, METALWORK
from studies.section.parts import CrossSection, PlacedCable
from studies.study.parts import CONDUCTOR
from studies.study.phases import PHASE_COLOURS


def draw_layers(axes: Axes, section: CrossSection, scale: float, cables: Sequence[PlacedCable] | None = None) -> None:
    """Cables of a section, or some of them, as filled layers; `scale` data units a metre.

    A conductor has the colour of its phase.
    """
    cables, phases = section.cables if cables is None else cables, PHASE_COLOURS[section.phase_colours]
    # from the outside in, so that each layer leaves of the one below it what shows
    for order, layer in enumerate([*reversed(LAYERS), CONDUCTOR]):
        having = [cable for cable in cables if layer in cable.layers.layers]
        colours = [phases[cable.phase] if layer == CONDUCTOR else LAYERS[layer] for cable in having]
        _circles(axes, having, [cable.layers.layers[layer][1] for cable in having], scale, colours, 3 + 0.1 * order)


def draw_outlines(
    axes: Axes,
    section: CrossSection,
    scale: float,
    width: float = 0.5,
    metal_filled: bool = True,
    cables_filled: bool = False,
) -> None:
    """Conductors and outer circles of the cables and metalwork as thin lines [pt]; `scale` data units a metre."""
    cables = section.cables
    if cables_filled:
        radii = [cable.layers.outer_radius for cable in cables]
        _circles(axes, cables, radii, scale, [LAYERS["jacket"]] * len(cables), 3.9)
    for radii in ([c.layers.outer_radius for c in cables], [c.layers.conductor_radius for c in cables]):
        rings = [Circle((c.axis[0] * scale, c.axis[1] * scale), r * scale) for c, r in zip(cables, radii, strict=True)]
        axes.add_collection(
            PatchCollection(rings, facecolors="none", edgecolors=INK, linewidths=width, zorder=4), autolim=False
        )
    draw_metalwork(axes, section, scale, width, metal_filled)


def draw_metalwork(axes: Axes, section: CrossSection, scale: float, width: float, filled: bool = True) -> None:
    """Trays and other metal without a cable, outlined [pt] so that thin walls show; `scale` data units a metre."""
    paths = [shape_path(part.shape, scale) for part in section.parts if part.cable is None]
    face = METALWORK if filled else "none"
    collection = PathCollection(paths, facecolors=face, edgecolors=METALWORK, linewidths=width, zorder=4)
    axes.add_collection(collection, autolim=False)


def shape_path(shape: Shape, scale: float) -> Path:
    """Outline of a solid, with its holes; `scale` data units a metre."""
    outer, holes = boundary_loops(shape)
    loops = [outer, *(hole[::-1] for hole in holes)]
    return Path.make_compound_path(*(Path(np.vstack([loop, loop[:1]]) * scale, closed=True) for loop in loops))


def inside_solids(section: CrossSection, points: Floats) -> Flags:
    """Whether points (n, 2) [m] lie in a cable or in metal, shape (n,)."""
    inside = np.zeros(len(points), dtype=bool)
    for cable in section.cables:
        inside |= np.linalg.norm(points - np.asarray(cable.axis), axis=1) <= cable.layers.outer_radius
    for part in section.parts:
        if part.cable is None:
            inside |= shape_path(part.shape, 1.0).contains_points(points)
    return inside


def extent(section: CrossSection) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle about all cables and metal. [m]"""
    boxes = [
        (np.subtract(cable.axis, cable.layers.outer_radius), np.add(cable.axis, cable.layers.outer_radius))
        for cable in section.cables
    ]
    for part in section.parts:
        outer, _ = boundary_loops(part.shape)
        boxes.append((outer.min(axis=0), outer.max(axis=0)))
    low = np.min([box[0] for box in boxes], axis=0)
    high = np.max([box[1] for box in boxes], axis=0)
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def _circles(
    axes: Axes, cables: Sequence[PlacedCable], radii: Sequence[float], scale: float, colours: list[str], order: float
) -> None:
    circles = [
        Circle((cable.axis[0] * scale, cable.axis[1] * scale), radius * scale)
        for cable, radius in zip(cables, radii, strict=True)
    ]
    collection = PatchCollection(circles, facecolors=colours, edgecolors=INK, linewidths=0.3, zorder=order)
    axes.add_collection(collection, autolim=False)
