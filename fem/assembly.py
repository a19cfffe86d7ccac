"""Matrices and vectors of a mesh that do not depend on frequency, numbered like the nodes of the mesh."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import skfem
from scipy import sparse
from skfem.helpers import dot, grad

from fem.arrays import Complexes, Floats, Ints
from fem.exterior import Exterior, exterior_of
from fem.mesh import RegionMesh, shape_values


@dataclass(frozen=True)
class Assembly:
    """Matrices and vectors that all solves on a mesh share."""

    mesh: RegionMesh
    numbering: sparse.csr_matrix
    """1 at row i, column k if unknown k of the basis is node i of the mesh, shape (p, unknowns)."""
    mass: sparse.csr_matrix
    """int sigma N_i N_j, shape (p, p). [S/m]"""
    part_vectors: Floats
    """int_k sigma N_i of each part, shape (p, N). [S m]"""
    source_vectors: Floats
    """int_s N_i of each source, shape (p, S). [m^2]"""
    exterior: Exterior

    @cached_property
    def basis(self) -> skfem.CellBasis:
        """Quadratic isoparametric basis of the mesh, made when it is needed."""
        return _basis(self.mesh)[0]

    def forget_basis(self) -> None:
        """Let the basis go, which takes more memory than all else here."""
        vars(self).pop("basis", None)

    @property
    def weights(self) -> Floats:
        """Areas of the quadrature points of each triangle, shape (t, q). [m^2]"""
        return np.asarray(self.basis.dx, dtype=np.float64)

    @property
    def abscissae(self) -> Floats:
        """Local coordinates of the quadrature points, shape (q, 2). [-]"""
        return np.asarray(self.basis.X.T, dtype=np.float64)

    def stiffness(self, reluctivity: Complexes) -> sparse.csr_matrix:
        """int nu grad N_i . grad N_j, shape (p, p). [m/H]

        reluctivity, shape (t,) or (t, q): Reluctivity of each triangle, or at each quadrature point of the basis. [m/H]
        """
        value = reluctivity if np.any(reluctivity.imag) else reluctivity.real
        nu = np.broadcast_to(value if value.ndim == 2 else value[:, None], self.basis.dx.shape)
        form = skfem.BilinearForm(lambda a, v, w: w["nu"] * dot(grad(a), grad(v)), dtype=value.dtype.type)
        return sparse.csr_matrix(self.numbering @ form.assemble(self.basis, nu=nu) @ self.numbering.T)


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
    basis, node_of = _basis(mesh)
    size = len(mesh.points)
    ones = np.ones(len(node_of))
    numbering = sparse.csr_matrix((ones, (node_of, np.arange(len(node_of)))), shape=(size, len(node_of)))
    sigma = np.broadcast_to(conductivity[mesh.regions][:, None], basis.dx.shape)
    mass = skfem.BilinearForm(lambda a, v, w: w["sigma"] * a * v).assemble(basis, sigma=sigma)
    shape_integrals = (basis.dx[:, :, None] * shape_values(basis.X.T)).sum(axis=1)
    weighted = conductivity[mesh.regions][:, None] * shape_integrals
    made = Assembly(
        mesh,
        numbering,
        (numbering @ mass @ numbering.T).tocsr(),
        _region_vectors(mesh, weighted, part_regions),
        _region_vectors(mesh, shape_integrals, source_regions),
        exterior_of(mesh, reference_radius),
    )
    vars(made)["basis"] = basis
    return made


def _region_vectors(mesh: RegionMesh, by_triangle: Floats, groups: tuple[tuple[int, ...], ...]) -> Floats:
    """Sum of element vectors (t, 6) over the triangles of each group of regions, shape (p, groups)."""
    vectors = np.zeros((len(mesh.points), len(groups)))
    for k, regions in enumerate(groups):
        inside = np.isin(mesh.regions, regions)
        np.add.at(vectors[:, k], mesh.triangles[inside], by_triangle[inside])
    return vectors


def _basis(mesh: RegionMesh) -> tuple[skfem.CellBasis, Ints]:
    """Quadratic isoparametric basis of the mesh, and the mesh node of each of its unknowns."""
    used, corners = np.unique(mesh.triangles[:, :3], return_inverse=True)
    corners = corners.reshape(-1, 3)
    straight = skfem.MeshTri1(np.ascontiguousarray(mesh.points[used].T), np.ascontiguousarray(corners.T), sort_t=False)
    node_of = np.concatenate([used, np.zeros(straight.nfacets, dtype=np.int64)])
    node_of[len(used) + straight.t2f.T] = mesh.triangles[:, 3:]
    curved = skfem.MeshTri2(np.ascontiguousarray(mesh.points[node_of].T), straight.t)
    return skfem.CellBasis(curved, skfem.ElementTriP2(), intorder=4), node_of
