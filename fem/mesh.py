"""The arrays that the solver needs of a mesh, and the shape functions of its six-node triangles."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

import numpy as np

from fem.arrays import Complexes, Floats, Ints


class RegionMesh(Protocol):
    """Six-node triangles with named regions inside a circle."""

    @property
    def points(self) -> Floats:
        """Nodes, shape (p, 2). [m]"""

    @property
    def triangles(self) -> Ints:
        """Three corners anticlockwise, then the middles of edges 01, 12, 20, shape (t, 6)."""

    @property
    def regions(self) -> Ints:
        """Index into names of each triangle, shape (t,)."""

    @property
    def names(self) -> tuple[str, ...]:
        """Region names."""

    @property
    def circle_centre(self) -> tuple[float, float]:
        """Centre of the outer circle. [m]"""

    @property
    def circle_radius(self) -> float:
        """Radius of the outer circle. [m]"""

    def circle_edges(self) -> Ints:
        """Edges on the outer circle as nodes (start, end, middle), anticlockwise, shape (e, 3)."""


class RegionGroup(Protocol):
    """The mesh of one group of solids about the origin, and its place."""

    @property
    def mesh(self) -> RegionMesh:
        """Mesh about the origin; equal groups may share one."""

    @property
    def origin(self) -> tuple[float, float]:
        """Place of the origin. [m]"""

    @property
    def reach(self) -> float:
        """Radius about the middle of its circle that holds all solids. [m]"""

    @property
    def regions(self) -> Ints:
        """Number of each of its regions in the whole mesh."""


@runtime_checkable
class GroupedRegionMesh(RegionMesh, Protocol):
    """Meshes of groups side by side, with no mesh between their circles."""

    @property
    def groups(self) -> tuple[RegionGroup, ...]:
        """In the order of the points and triangles."""


def curl(slope: Complexes) -> Complexes:
    """B = curl(A e_z) = (dA/dy, -dA/dx) of gradients (dA/dx, dA/dy), shape (..., 2). [T]"""
    return np.stack([slope[..., 1], -slope[..., 0]], axis=-1)


_ROOT = np.sqrt(38 - 44 * np.sqrt(0.4))
_NEAR, _FAR = (8 - np.sqrt(10) + _ROOT) / 18, (8 - np.sqrt(10) - _ROOT) / 18
_SHARE = np.sqrt(213125 - 53320 * np.sqrt(10))
_BOTH = ((_NEAR, 1 - 2 * _NEAR), (_FAR, 1 - 2 * _FAR))
QUADRATURE_POINTS: Floats = np.array([*_BOTH, *((y, x) for x, y in _BOTH), *((x, x) for x, _ in _BOTH)])
"""Local coordinates of the quadrature of a triangle that is exact up to the fourth degree, shape (6, 2). [-]

D. A. Dunavant, High degree efficient symmetrical Gaussian quadrature rules for the triangle, Int. J. Numer. Meth. Eng.
21:1129-1148, 1985 [M]; its roots in closed form [D], tested on all monomials.
"""
QUADRATURE_WEIGHTS: Floats = np.tile([620 + _SHARE, 620 - _SHARE], 3) / 7440
"""Their weights, which sum to the local area 1/2, shape (6,). [-]"""


def shape_values(local: Floats) -> Floats:
    """Values of the six shape functions at local points (..., 2), shape (..., 6). [-]"""
    x, y = local[..., 0], local[..., 1]
    z = 1 - x - y
    return np.stack([z * (2 * z - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * x * z, 4 * x * y, 4 * y * z], axis=-1)


def shape_gradients(local: Floats) -> Floats:
    """Derivatives of the six shape functions by the two local coordinates, shape (..., 6, 2). [-]"""
    x, y = local[..., 0], local[..., 1]
    z = 1 - x - y
    none = np.zeros_like(x)
    by_x = np.stack([1 - 4 * z, 4 * x - 1, none, 4 * (z - x), 4 * y, -4 * y], axis=-1)
    by_y = np.stack([1 - 4 * z, none, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)], axis=-1)
    return np.stack([by_x, by_y], axis=-1)


def gradients_at(nodes: Floats, local: Floats) -> tuple[Floats, Floats]:
    """Gradients of the shape functions by x and y, and the Jacobian.

    nodes, shape (..., 6, 2): Nodes of the triangles. [m]
    local, shape (..., 2): Local points. [-]
    Returns gradients, shape (..., 6, 2): [1/m]
    Returns jacobian, shape (...): Ratio of the area element in the plane to the local one. [m^2]
    """
    by_local = shape_gradients(local)
    first, second = by_local[..., 0], by_local[..., 1]
    pairs = ((nodes[..., i], own) for i in range(2) for own in (first, second))
    a, b, c, d = (np.einsum("...n,...n->...", *pair)[..., None] for pair in pairs)
    determinant = a * d - b * c
    gradients = np.empty((*determinant.shape[:-1], 6, 2))
    gradients[..., 0] = first * (d / determinant) - second * (c / determinant)
    gradients[..., 1] = second * (a / determinant) - first * (b / determinant)
    return gradients, determinant[..., 0]
