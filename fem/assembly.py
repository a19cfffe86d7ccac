"""Matrices and vectors of a mesh that do not depend on frequency, numbered like the nodes of the mesh."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import sparse

from fem.arrays import Complexes, Floats, Ints
from fem.exterior import Exterior, exterior_of
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS, RegionMesh, gradients_at, shape_values


@dataclass(frozen=True)
class Assembly:
    """Matrices and vectors that all solves on a mesh share."""

    mesh: RegionMesh
    mass: sparse.csr_matrix
    """int sigma N_i N_j, shape (p, p). [S/m]"""
    part_vectors: Floats
    """int_k sigma N_i of each part, shape (p, N). [S m]"""
    source_vectors: Floats
    """int_s N_i of each source, shape (p, S). [m^2]"""
    exterior: Exterior

    @cached_property
    def gradients(self) -> tuple[Floats, Floats]:
        """Gradients of the shape functions at the quadrature points of each triangle, and the weights of these.

        Shapes (t, q, 6, 2) [1/m], (t, q) [m^2]. Made when they are needed.
        """
        return _gradients(self.mesh)

    def forget_gradients(self) -> None:
        """Let the gradients go, which take more memory than all else here."""
        vars(self).pop("gradients", None)

    @property
    def weights(self) -> Floats:
        """Areas of the quadrature points of each triangle, shape (t, q). [m^2]"""
        return self.gradients[1]

    @property
    def abscissae(self) -> Floats:
        """Local coordinates of the quadrature points, shape (q, 2). [-]"""
        return QUADRATURE_POINTS

    def stiffness(self, reluctivity: Complexes) -> sparse.csr_matrix:
        """int nu grad N_i . grad N_j, shape (p, p). [m/H]

        reluctivity, shape (t,) or (t, q): Reluctivity of each triangle, or at each quadrature point. [m/H]
        """
        if reluctivity.ndim == 1:
            value = reluctivity if np.any(reluctivity.imag) else reluctivity.real
            by_triangle = value[:, None, None] * self._slopes_squared(np.ones((1, 1)))
        else:
            by_triangle = self._slopes_squared(reluctivity.real)
            if np.any(reluctivity.imag):
                by_triangle = by_triangle + 1j * self._slopes_squared(reluctivity.imag)
        return _summed(by_triangle, self.mesh.triangles, len(self.mesh.points))

    def _slopes_squared(self, factor: Floats) -> Floats:
        """int f grad N_i . grad N_j of each triangle for factors (t, q), shape (t, 6, 6)."""
        slopes, weights = self.gradients
        turned = slopes.transpose(0, 2, 1, 3)
        weighted = turned * (factor * weights)[:, None, :, None]
        size = (len(slopes), 6, -1)
        return np.asarray(weighted.reshape(size) @ turned.reshape(size).transpose(0, 2, 1), dtype=np.float64)


def assemble(
    mesh: RegionMesh,
    conductivity: Floats,
    part_regions: tuple[tuple[int, ...], ...],
    source_regions: tuple[tuple[int, ...], ...],
    reference_radius: float,
) -> Assembly:
    """Compute the matrices and vectors of a mesh.

    conductivity, shape (regions,): Conductivity of each region. [S/m]
    part_regions, source_regions: Indices of the regions of each conducting part and of each source of given current
        density.
    reference_radius: Radius on which a net current returns. [m]
    """
    slopes, weights = _gradients(mesh)
    values, sigma = shape_values(QUADRATURE_POINTS), conductivity[mesh.regions]
    shape_integrals = weights @ values
    inside = sigma > 0
    squares = (sigma[inside, None] * weights[inside]) @ (values[:, :, None] * values[:, None]).reshape(-1, 36)
    made = Assembly(
        mesh,
        _summed(squares, mesh.triangles[inside], len(mesh.points)),
        _region_vectors(mesh, sigma[:, None] * shape_integrals, part_regions),
        _region_vectors(mesh, shape_integrals, source_regions),
        exterior_of(mesh, reference_radius),
    )
    vars(made)["gradients"] = slopes, weights
    return made


def _gradients(mesh: RegionMesh) -> tuple[Floats, Floats]:
    """What `Assembly.gradients` holds."""
    slopes, jacobian = gradients_at(mesh.points[mesh.triangles][:, None], QUADRATURE_POINTS)
    return slopes, jacobian * QUADRATURE_WEIGHTS


def _summed(by_triangle: Floats | Complexes, triangles: Ints, size: int) -> sparse.csr_matrix:
    """Matrix (size, size) of the matrices of triangles (t, 36) or (t, 6, 6) with nodes (t, 6)."""
    nodes = triangles.astype(np.int32)
    rows, columns = np.repeat(nodes, 6, axis=1).ravel(), np.tile(nodes, 6).ravel()
    return sparse.coo_matrix((by_triangle.ravel(), (rows, columns)), shape=(size, size)).tocsr()


def _region_vectors(mesh: RegionMesh, by_triangle: Floats, groups: tuple[tuple[int, ...], ...]) -> Floats:
    """Sum of element vectors (t, 6) over the triangles of each group of regions, shape (p, groups)."""
    vectors = np.zeros((len(mesh.points), len(groups)))
    for k, regions in enumerate(groups):
        inside = np.isin(mesh.regions, regions)
        np.add.at(vectors[:, k], mesh.triangles[inside], by_triangle[inside])
    return vectors
