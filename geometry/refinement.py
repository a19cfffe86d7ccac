"""Uniform refinement of a section mesh."""

from __future__ import annotations

import numpy as np

from geometry.arrays import Floats
from geometry.section_mesh import SectionMesh

# local coordinates of the children's corners: the parent's six nodes serve as corners of four children
_CHILDREN = ((0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5))
_NODES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])


def refined(mesh: SectionMesh) -> SectionMesh:
    """Mesh with every triangle split into four along the middles of its edges.

    The new nodes lie on the curved edges of the old ones; those of the outer circle are put on the circle.
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
    x, y = local.T
    z = 1 - x - y
    return np.stack([z * (2 * z - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * x * z, 4 * x * y, 4 * y * z], axis=1)
