"""How fine each solid is meshed: element sizes from the skin depth, the gaps between neighbours and the corners."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.clearance import clearance, distance_to
from geometry.shapes import Disc, Region, Section, Tube, Wall
from geometry.structured import Block, disc_block, tube_block, wall_block

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class MeshSizes:
    """Choices of the mesh. All counts of elements are those of fineness 1 times the fineness, so that a finer mesh is
    finer everywhere and the difference between two meshes tells their error."""

    fineness: float = 1.0
    """Number of elements along any line, relative to the ordinary mesh."""
    size_per_depth: float = 1.2
    """Element size over skin depth at the surface of a solid."""
    size_per_gap: float = 0.6
    """Element size on a wall over its distance from the next solid."""
    growth: float = 0.5
    """Growth of the element size per distance from where it is smallest."""
    wall_layers: int = 2
    """Layers through a thin wall, at the least: its corners are where the field is hardest to resolve."""
    tube_layers: int = 2
    """Layers through a tube, at the least."""
    least_round: int = 16
    """Vertices on a circle, at the least."""
    outer_circle: int = 48
    """Vertices on the outer circle."""
    outer_ratio: float = 1.6
    """Radius of the outer circle over that of the circle that encloses the solids."""

    def __post_init__(self) -> None:
        """Refuse a mesh that cannot be."""
        if not 0.2 <= self.fineness <= 64:
            raise ValueError(f"fineness must lie between 0.2 and 64: {self.fineness}")


def solid_block(section: Section, region: Region, sizes: MeshSizes) -> Block:
    """Structured mesh of one solid of a section, as fine as its skin depth and its neighbours ask."""
    shape = region.shape
    if isinstance(shape, Wall):
        return _wall(section, region, shape, sizes)
    if isinstance(shape, Tube):
        return _tube(section, region, shape, sizes)
    return _disc(section, region, shape, sizes)


def graded(length: float, size: Callable[[Floats], Floats], fineness: float, least: int = 1) -> Floats:
    """Relative positions from 0 to 1 of nodes along a line, spaced by a size function.

    Parameters
    ----------
    length : float
        Length of the line. [m]
    size : callable
        Element size at positions from 0 to length, (n,) -> (n,). [m]
    fineness : float
        Divides the sizes.
    least : int
        Elements at the least, before the fineness.
    """
    position = np.linspace(0.0, length, 4001)
    density = 1.0 / size(position)
    steps = (density[1:] + density[:-1]) / 2 * np.diff(position)
    elements = np.concatenate([[0.0], np.cumsum(steps)])
    count = finer(max(int(np.ceil(round(elements[-1], 6))), least), fineness)
    nodes: Floats = np.interp(np.linspace(0.0, elements[-1], count + 1), elements, position) / length
    nodes[0], nodes[-1] = 0.0, 1.0
    return nodes


def finer(count: int, fineness: float) -> int:
    """Number of elements at a fineness, for their number at fineness 1."""
    return max(int(np.ceil(round(count * fineness, 6))), 1)


def _through(thickness: float, depth: float, layers: int, sizes: MeshSizes) -> Floats:
    """Layer boundaries through a wall, finer at both faces where the wall is thicker than the skin depth."""

    def size(x: Floats) -> Floats:
        from_face = np.minimum(x, thickness - x)
        return np.minimum(thickness / layers, sizes.size_per_depth * depth + sizes.growth * from_face)

    return graded(thickness, size, sizes.fineness, layers)


def _wall(section: Section, region: Region, wall: Wall, sizes: MeshSizes) -> Block:
    others = [other.shape for other in section.regions if other is not region]
    thickness = float(np.linalg.norm(np.subtract(wall.left[0], wall.right[0])))
    layers = _through(thickness, region.depth, sizes.wall_layers, sizes)
    finest = thickness * float(np.diff(layers).min()) * sizes.fineness
    stations = []
    for right_start, right_end, left_end, left_start in wall.runs():
        start = (np.asarray(right_start) + left_start) / 2
        end = (np.asarray(right_end) + left_end) / 2
        length = float(np.linalg.norm(end - start))
        stations.append(graded(length, _along(start, end, length, finest, others, sizes), sizes.fineness, 4))
    return wall_block(wall, stations, layers)


def _along(
    start: Floats, end: Floats, length: float, finest: float, others: list[Disc | Tube | Wall], sizes: MeshSizes
) -> Callable[[Floats], Floats]:
    """Element size along a run: small at its ends, where the field has corners, and opposite other solids."""
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
    layers = _through(thickness, region.depth, sizes.tube_layers, sizes)
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
    """Vertices on a circle, a multiple of 4: more of them where a neighbour is close."""
    gaps = [clearance(region.shape, other.shape) for other in section.regions if other is not region]
    gap = max(min(gaps, default=radius), 0.0)
    by_gap = 2 * np.pi * radius / (2.2 * (gap + 0.1 * radius))
    quarter = int(np.ceil(np.clip(by_gap, sizes.least_round, 3 * sizes.least_round) / 4))
    return 4 * finer(quarter, sizes.fineness)
