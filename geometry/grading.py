"""Element sizes along lines: the choices of a mesh, and nodes spaced by a size function."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Floats


@dataclass(frozen=True)
class MeshSizes:
    """Choices of the mesh.

    All numbers of elements are the numbers at fineness 1 times the fineness. A finer mesh is then finer everywhere, and
    the difference between two meshes shows their error.
    """

    fineness: float = 1.0
    """Number of elements along any line, relative to the ordinary mesh."""
    size_per_depth: float = 1.2
    """Element size over skin depth at the surface of a solid."""
    size_per_gap: float = 0.6
    """Element size on a wall over its distance from the next solid."""
    growth: float = 0.5
    """Growth of the element size over the distance from its smallest value."""
    air_growth: float = 0.3
    """Growth of the element size in air with the distance from the nearest edge of a solid or of the outer circle.

    It decreases with the fineness; otherwise the error of the field in air would stop decreasing. Sizes that depend on
    all edges around would fill the air between distant runs with elements as small as those of the cables.
    """
    wall_layers: int = 2
    """Least number of layers through a thin wall, whose corners are the hardest places to resolve."""
    tube_layers: int = 2
    """Least number of layers through a tube."""
    polygon_edges: int = 2000
    """Largest number of elements along the outline of a free polygon; at this limit thin places have fewer layers."""
    least_round: int = 16
    """Least number of vertices on a circle."""
    outer_circle: int = 48
    """Vertices on the outer circle."""
    outer_ratio: float = 1.6
    """Radius of the outer circle over that of the circle that encloses the solids."""

    def __post_init__(self) -> None:
        """Refuse a fineness out of range."""
        if not 0.5 <= self.fineness <= 64:
            raise ValueError(f"fineness must lie between 0.5 and 64: {self.fineness}")


def graded(length: float, size: Callable[[Floats], Floats], fineness: float, least: int = 1) -> Floats:
    """Relative positions from 0 to 1 of nodes along a line, spaced by a size function.

    length: Length of the line. [m]
    size: Element size at positions from 0 to length, (n,) -> (n,). [m]
    fineness: Divides the sizes.
    least: Least number of elements at fineness 1.
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
    """Number of elements at a fineness, from the number at fineness 1."""
    return max(int(np.ceil(round(count * fineness, 6))), 1)


def through(thickness: float, depth: float, layers: int, sizes: MeshSizes) -> Floats:
    """Layer boundaries through a wall, finer at both faces if the wall is thicker than the skin depth."""

    def size(x: Floats) -> Floats:
        from_face = np.minimum(x, thickness - x)
        return np.minimum(thickness / layers, sizes.size_per_depth * depth + sizes.growth * from_face)

    return graded(thickness, size, sizes.fineness, layers)
