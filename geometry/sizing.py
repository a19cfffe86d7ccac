"""Mesh of each solid, with element sizes from the skin depth, the gaps to neighbours and the corners."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from geometry.arrays import Floats
from geometry.clearance import clearance, distance_to
from geometry.grading import MeshSizes, finer, graded, through
from geometry.network import Network
from geometry.network_mesh import network_solid
from geometry.polygon_mesh import polygon_solid
from geometry.polygons import Polygon
from geometry.shapes import Disc, Region, Section, Shape, Tube, Wall
from geometry.structured import Block, disc_block, tube_block, wall_block

__all__ = ["MeshSizes", "finer", "graded", "solid_block"]


def solid_block(section: Section, region: Region, sizes: MeshSizes) -> Block:
    """Mesh of one solid of a section, with sizes that suit its skin depth and its neighbours."""
    shape = region.shape
    others = [other.shape for other in section.regions if other is not region]
    if isinstance(shape, Network):
        return network_solid(shape, region.depth, others, sizes)
    if isinstance(shape, Polygon):
        return polygon_solid(shape, region.depth, others, sizes)
    if isinstance(shape, Wall):
        return _wall(shape, region.depth, others, sizes)
    if isinstance(shape, Tube):
        return _tube(section, region, shape, sizes)
    return _disc(section, region, shape, sizes)


def _wall(wall: Wall, depth: float, others: list[Shape], sizes: MeshSizes) -> Block:
    thickness = float(np.linalg.norm(np.subtract(wall.left[0], wall.right[0])))
    layers = through(thickness, depth, sizes.wall_layers, sizes)
    finest = thickness * float(np.diff(layers).min()) * sizes.fineness
    stations = []
    for right_start, right_end, left_end, left_start in wall.runs():
        start = (np.asarray(right_start) + left_start) / 2
        end = (np.asarray(right_end) + left_end) / 2
        length = float(np.linalg.norm(end - start))
        stations.append(graded(length, _along(start, end, length, finest, others, sizes), sizes.fineness, 4))
    return wall_block(wall, stations, layers)


def _along(
    start: Floats, end: Floats, length: float, finest: float, others: list[Shape], sizes: MeshSizes
) -> Callable[[Floats], Floats]:
    """Element size along a run: small at its ends, where the wall has corners, and opposite other solids."""
    sample = np.linspace(0.0, 1.0, 257)
    points = start + sample[:, None] * (end - start)
    gap = np.full(len(sample), length)
    for other in others:
        gap = np.minimum(gap, distance_to(other, points))

    def size(x: Floats) -> Floats:
        from_end = np.minimum(x, length - x)
        near = sizes.size_per_gap * np.interp(x, sample * length, gap)
        size: Floats = np.minimum(np.minimum(finest + sizes.growth * from_end, np.maximum(near, finest)), length / 4)
        return size

    return size


def _tube(section: Section, region: Region, tube: Tube, sizes: MeshSizes) -> Block:
    thickness = tube.outer_radius - tube.inner_radius
    layers = through(thickness, region.depth, sizes.tube_layers, sizes)
    count = _round_count(section, region, tube.outer_radius, sizes)
    return tube_block(tube.centre, tube.inner_radius + thickness * layers, count)


def _disc(section: Section, region: Region, disc: Disc, sizes: MeshSizes) -> Block:
    radius = disc.radius

    def size(x: Floats) -> Floats:
        return np.minimum(radius / 2.5, sizes.size_per_depth * region.depth + sizes.growth * (radius - x))

    rings = graded(radius, size, sizes.fineness, 3)[1:]
    count = _round_count(section, region, radius, sizes)
    counts = np.maximum(4 * np.round(count * rings / 4), 8).astype(np.int64)
    return disc_block(disc.centre, radius * rings, counts)


def _round_count(section: Section, region: Region, radius: float, sizes: MeshSizes) -> int:
    """Vertices on a circle, a multiple of 4; more of them if a neighbour is close."""
    gaps = [clearance(region.shape, other.shape) for other in section.regions if other is not region]
    gap = max(min(gaps, default=radius), 0.0)
    by_gap = 2 * np.pi * radius / (2.2 * (gap + 0.1 * radius))
    # an arc bows from its chord by radius angle^2/8: at most a fifth of the gap, or triangles in the gap turn over
    by_bow = 2 * np.pi * np.sqrt(radius / (8 * 0.2 * gap)) if gap > 0 else 0.0
    wanted = max(float(np.clip(by_gap, sizes.least_round, 3 * sizes.least_round)), by_bow)
    return 4 * max(finer(int(np.ceil(wanted / 4)), sizes.fineness), int(np.ceil(by_bow / 4)), 3)
