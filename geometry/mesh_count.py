"""Number of unknowns of a mesh, and the solids that need them, before gmsh makes the mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import Floats, Ints
from geometry.meshing import Plan
from geometry.structured import Block

COARSEST = 2.0
"""Largest side of a square in which the air is counted, over the size of its elements. [-]"""
PER_SQUARE = 2 * 4 / np.sqrt(3)
"""Nodes of six-node triangles, two for each, in a square as wide as the edge of a triangle. [-]"""
MOST_SQUARES = 400_000
"""Squares of one level at which the count stops, far above any mesh that can be solved."""


@dataclass(frozen=True)
class MeshCount:
    """Expected unknowns of a mesh."""

    of_solids: tuple[int, ...]
    """Unknowns, about, in each region of the section and in the air nearest to it, in the order of the regions."""
    of_rim: int
    """Unknowns, about, in the air nearest to the outer circle."""

    @property
    def total(self) -> int:
        """Unknowns of the whole mesh, about."""
        return sum(self.of_solids) + self.of_rim


def expected_unknowns(plan: Plan) -> MeshCount:
    """Expected nodes of the mesh of a plan, counted without gmsh to within a quarter.

    The nodes of the solids are known. The air is divided into squares, and each square into four until it is not much
    larger than its elements. The elements of a square count for the nearest edge.
    """
    edges = [_air_edges(block) for block in plan.blocks]
    rim = np.stack([plan.circle, np.roll(plan.circle, -1, axis=0)], axis=1)
    owner = np.repeat(np.arange(len(edges) + 1), [*(len(own) for own in edges), len(rim)])
    all_edges = np.vstack([*edges, rim])
    air = _count_air(all_edges, owner, len(edges) + 1, plan)
    solids = [unknowns_of(block) for block in plan.blocks]
    return MeshCount(tuple(int(a + b) for a, b in zip(solids, air[:-1], strict=True)), int(air[-1]))


def unknowns_of(block: Block) -> int:
    """Number of corners and edges of the mesh of a solid, by Euler's formula."""
    corners, triangles, holes = len(block.vertices), len(block.triangles), len(block.inners)
    return 2 * corners + triangles - 1 + holes


def _air_edges(block: Block) -> Floats:
    """Edges of a solid along air, each with the air to its left, shape (n, 2, 2). [m]"""
    loops = [block.outer[::-1], *block.inners]
    return np.vstack([np.stack([block.vertices[loop], block.vertices[np.roll(loop, -1)]], axis=1) for loop in loops])


def _count_air(edges: Floats, owner: Ints, owners: int, plan: Plan) -> Floats:
    """Nodes of the air for each owner of a nearest edge, shape (owners,)."""
    length = np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1)
    nearest = shapely.STRtree(shapely.points(edges.mean(axis=1)))  # SciPy's trees take 0.2 s to import
    counts = np.zeros(owners)
    middles, side = np.array([plan.circle_centre]), 2 * plan.circle_radius
    while len(middles):
        (_, edge), distance = nearest.query_nearest(shapely.points(middles), return_distance=True, all_matches=False)
        # the tree holds the middles of edges; an edge that points here is nearer by half its length
        size = length[edge] + plan.growth * np.maximum(distance - length[edge] / 2, 0.0)
        small = (side <= COARSEST * size) | (len(middles) > MOST_SQUARES)
        start, along = edges[edge[small], 0], edges[edge[small], 1] - edges[edge[small], 0]
        away = middles[small] - start
        in_air = along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0] > 0
        own = PER_SQUARE * (side / size[small]) ** 2 * in_air
        counts += np.bincount(owner[edge[small]], own, owners)
        side /= 2
        corners = side / 2 * np.array([[-1, -1], [1, -1], [-1, 1], [1, 1]])
        middles = (middles[~small, None] + corners).reshape(-1, 2)
    return counts
