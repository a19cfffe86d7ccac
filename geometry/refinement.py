"""Uniform refinement of a section mesh."""

from __future__ import annotations

import numpy as np

from geometry.arrays import Floats
from geometry.section_mesh import SectionMesh

# the six nodes of a triangle are the corners of its four children; and local coordinates of these nodes
_CHILDREN = ((0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5))
_NODES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])


def refined(mesh: SectionMesh) -> SectionMesh:
    """Mesh with every triangle divided into four at the middles of its edges.

    New nodes lie on the curved edges of the old triangles; on the outer circle they are moved onto the circle.
    """
    children = np.array(_CHILDREN)
    corners = mesh.triangles[:, children].reshape(-1, 3)
    middle_local = (_NODES[children] + _NODES[np.roll(children, -1, axis=1)]) / 2  # (4, 3, 2)
    shapes = _shape_values(middle_local.reshape(-1, 2))
    middles = np.einsum("sn,tni->tsi", shapes, mesh.points[mesh.triangles]).reshape(-1, 2)
    pairs = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2)
    edges, first, inverse = np.unique(np.sort(pairs, axis=1), axis=0, return_index=True, return_inverse=True)
    points = np.vstack([mesh.points, middles[first]])
    triangles = np.hstack([corners, inverse.reshape(-1, 3) + len(mesh.points)])
    start, end, middle = mesh.circle_edges().T
    halves = np.sort(np.vstack([np.stack([start, middle], axis=1), np.stack([middle, end], axis=1)]), axis=1)
    keys = edges[:, 0] * len(mesh.points) + edges[:, 1]
    new_on_rim = np.flatnonzero(np.isin(keys, halves[:, 0] * len(mesh.points) + halves[:, 1])) + len(mesh.points)
    from_centre = points[new_on_rim] - mesh.circle_centre
    radius = np.linalg.norm(from_centre, axis=1, keepdims=True)
    points[new_on_rim] = np.asarray(mesh.circle_centre) + from_centre / radius * mesh.circle_radius
    return SectionMesh(
        points, triangles, np.repeat(mesh.regions, 4), mesh.names, mesh.circle_centre, mesh.circle_radius
    )


def _shape_values(local: Floats) -> Floats:
    """Values of the six quadratic shape functions at local points (n, 2), shape (n, 6). [-]"""
    x, y = local.T
    z = 1 - x - y
    return np.stack([z * (2 * z - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * x * z, 4 * x * y, 4 * y * z], axis=1)
