"""Search for the triangle that holds a point, with curved edges."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2b

import numpy as np

from fem.arrays import Floats, Ints
from fem.kept import kept_for
from fem.mesh import GroupedRegionMesh, RegionMesh, shape_gradients, shape_values

SLACK = 1e-6
"""Distance outside an edge, in local coordinates, up to which a point still counts as inside the triangle. [-]"""
STRAIGHT = 1e-9
"""Bow of an edge, over the size of its triangle, up to which the edge counts as straight. [-]"""
MOST_KEPT = 200_000
"""Points of the last searches that are kept: each frequency, and each case of other currents, asks for the same."""
MOST_STEPS = 24
"""Edges that a search may step over, as an arc can bow across all layers of a thin tube."""


@dataclass(frozen=True)
class Places:
    """Triangles and local coordinates of points."""

    triangle: Ints
    """Triangle of each point, -1 for a point outside the mesh, shape (q,)."""
    local: Floats
    """Local coordinates in that triangle, shape (q, 2). [-]"""


class Locator:
    """Search structure over the triangles of a mesh."""

    def __init__(self, mesh: RegionMesh) -> None:
        """Prepare the search; the cost grows with the number of triangles."""
        from matplotlib.tri import Triangulation

        used, numbers = np.unique(mesh.triangles[:, :3], return_inverse=True)
        x, y = mesh.points[used].T
        triangulation = Triangulation(x, y, numbers.reshape(-1, 3))
        self._points, self._triangles = mesh.points, mesh.triangles
        self._find = triangulation.get_trifinder()
        self._neighbours = triangulation.neighbors
        corners, middles = mesh.points[mesh.triangles[:, :3]], mesh.points[mesh.triangles[:, 3:]]
        sides = corners[:, 1:] - corners[:, :1]
        self._origin: Floats = corners[:, 0]
        self._inverse: Floats = np.linalg.inv(sides.transpose(0, 2, 1)).astype(np.float64)
        bow = np.linalg.norm(middles - (corners + np.roll(corners, -1, axis=1)) / 2, axis=2).max(axis=1)
        self._kept: dict[bytes, Places] = {}
        self._curved = bow > STRAIGHT * np.abs(sides).max(axis=(1, 2))

    def places(self, points: Floats) -> Places:
        """Triangles that hold the points (q, 2) [m].

        The search starts in the straight triangle through the corners. If a curved edge leaves the point outside, the
        search steps over that edge. The arrays of the result are shared with later searches of the same points.
        """
        if len(points) > MOST_KEPT:
            return self._searched(points)
        key = blake2b(np.ascontiguousarray(points, dtype=np.float64).tobytes()).digest()
        found = self._kept.pop(key, None) or self._searched(points)
        self._kept[key] = found  # the last in the order of the dictionary
        while sum(len(kept.triangle) for kept in self._kept.values()) > MOST_KEPT:
            del self._kept[next(iter(self._kept))]
        return found

    def _searched(self, points: Floats) -> Places:
        triangle = np.asarray(self._find(*points.T), dtype=np.int64)
        local = np.zeros((len(points), 2))
        open_ = np.flatnonzero(triangle >= 0)
        for _ in range(MOST_STEPS):
            if len(open_) == 0:
                break
            local[open_] = self._local(triangle[open_], points[open_])
            x, y = local[open_].T
            distance = np.stack([y, 1 - x - y, x], axis=1)  # from edges 01, 12, 20
            worst = distance.argmin(axis=1)
            ahead = self._neighbours[triangle[open_], worst]
            step = (distance.min(axis=1) < -SLACK) & (ahead >= 0)
            open_, here = open_[step], triangle[open_[step]]
            triangle[open_] = ahead[step]
        else:
            triangle[open_] = here  # the search goes round in a circle: keep a triangle and its coordinates
        triangle.flags.writeable = local.flags.writeable = False
        return Places(triangle, local)

    def _local(self, triangle: Ints, points: Floats) -> Floats:
        """Local coordinates: of the straight triangle, or by Newton's method if an edge is curved."""
        local: Floats = np.einsum("qli,qi->ql", self._inverse[triangle], points - self._origin[triangle])
        curved = self._curved[triangle]
        if np.any(curved):
            local[curved] = self._in_curved(triangle[curved], points[curved])
        return local

    def _in_curved(self, triangle: Ints, points: Floats) -> Floats:
        """Local coordinates by Newton's method, from the middle of the triangle."""
        nodes = self._points[self._triangles[triangle]]
        local = np.full((len(points), 2), 1 / 3)
        for _ in range(12):
            miss = points - np.einsum("qn,qni->qi", shape_values(local), nodes)
            jacobian = np.einsum("qni,qnl->qil", nodes, shape_gradients(local))
            step = np.linalg.solve(jacobian, miss[..., None])[..., 0]
            local = local + step
            if np.abs(step).max() < 1e-13:
                break
        return local


class GroupedLocator:
    """Search in the meshes of groups; the structure of a group is made when a point lies in its circle."""

    def __init__(self, mesh: GroupedRegionMesh) -> None:
        """Take the groups of a mesh."""
        self._groups = mesh.groups
        self._starts = np.cumsum([0, *(len(group.mesh.triangles) for group in mesh.groups)])

    def places(self, points: Floats) -> Places:
        """Triangles of the whole mesh that hold the points (q, 2) [m]."""
        triangle, local = np.full(len(points), -1, dtype=np.int64), np.zeros((len(points), 2))
        for group, start in zip(self._groups, self._starts, strict=False):
            mesh, origin = group.mesh, np.asarray(group.origin)
            x, y = (points - (origin + mesh.circle_centre)).T
            here = np.flatnonzero(x * x + y * y <= (mesh.circle_radius * (1 + SLACK)) ** 2)
            here = here[triangle[here] < 0]
            if len(here):
                found = locator_of(mesh).places(points[here] - origin)
                triangle[here] = np.where(found.triangle >= 0, found.triangle + start, -1)
                local[here] = found.local
        return Places(triangle, local)


def locator_of(mesh: RegionMesh) -> Locator | GroupedLocator:
    """The search structure of a mesh, made once."""
    return kept_for(mesh, "locator", lambda: _located(mesh))


def _located(mesh: RegionMesh) -> Locator | GroupedLocator:
    return GroupedLocator(mesh) if isinstance(mesh, GroupedRegionMesh) else Locator(mesh)
