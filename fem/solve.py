"""The time-harmonic solve: unit voltages on every part, one factorisation, the admittance matrix."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import skfem
from scipy import sparse
from scipy.sparse.linalg import splu
from skfem.helpers import dot, grad

from fem.exterior import Exterior, exterior_of
from fem.materials import AIR, Material
from fem.mesh import Complexes, Floats, Ints, RegionMesh, shape_values

REFERENCE_RADIUS = 1000.0
"""Radius on which a net current returns, if no other is given. [m]"""


class SolveError(RuntimeError):
    """The field could not be computed."""


@dataclass(frozen=True)
class UnitFields:
    """Fields of unit voltages: everything electrical and magnetic follows from them by superposition."""

    mesh: RegionMesh
    frequency: float
    """[Hz]"""
    materials: tuple[Material, ...]
    """Material of each region, in the order of the mesh's names."""
    part_names: tuple[str, ...]
    """Names of the N conducting parts."""
    part_regions: tuple[tuple[int, ...], ...]
    """Indices of the regions of each part."""
    potentials: Complexes
    """A of one volt per metre on each part alone, at the mesh's nodes, shape (p, N). [Wb/m per V/m]"""
    admittance: Complexes
    """Y, with part currents i = Y u, shape (N, N). [S m]"""
    exterior: Exterior

    @property
    def omega(self) -> float:
        """Angular frequency. [rad/s]"""
        return 2 * math.pi * self.frequency

    def potential(self, voltages: Complexes) -> Complexes:
        """A at the mesh's nodes for part voltages (N,) [V/m], shape (p,). [Wb/m]"""
        result: Complexes = self.potentials @ voltages
        return result

    def part_of_region(self) -> Ints:
        """Index of the part that each region belongs to, -1 for none, shape (regions,)."""
        part = np.full(len(self.materials), -1, dtype=np.int64)
        for k, regions in enumerate(self.part_regions):
            part[list(regions)] = k
        return part


def solve_unit_voltages(
    mesh: RegionMesh,
    materials: Mapping[str, Material],
    frequency: float,
    parts: Mapping[str, tuple[str, ...]] | None = None,
    reference_radius: float | None = None,
) -> UnitFields:
    """Solve for one volt per metre on each part in turn.

    Parameters
    ----------
    mesh : RegionMesh
        Six-node triangles with named regions.
    materials : mapping of str to Material
        Material of each named region; air where none is given.
    frequency : float
        Frequency, above 0. [Hz]
    parts : mapping of str to tuple of str, optional
        Conducting parts and their regions; every conducting region is a part of its own if not given.
    reference_radius : float, optional
        Radius of the far circle on which a net current returns. [m]

    Returns
    -------
    fields : UnitFields

    Notes
    -----
    int nu grad A . grad v + j w int sigma A v + e(A, v) = sum u_k int_k sigma v, quadratic elements, complex
    symmetric sparse LU. Y_kl = delta_kl int_k sigma - j w int_k sigma A_l.
    """
    if not (frequency > 0 and math.isfinite(frequency)):
        raise ValueError(f"frequency must be above 0: {frequency} Hz")
    unknown = [name for name in materials if name not in mesh.names]
    if unknown:
        raise ValueError(f"materials given for regions that the mesh has not: {', '.join(unknown)}")
    of_region = tuple(materials.get(name, AIR) for name in mesh.names)
    if parts is None:
        parts = {
            name: (name,) for name, material in zip(mesh.names, of_region, strict=True) if material.conductivity > 0
        }
    part_regions = tuple(tuple(mesh.names.index(region) for region in regions) for regions in parts.values())
    exterior = exterior_of(mesh, reference_radius or max(REFERENCE_RADIUS, 100 * mesh.circle_radius))
    stiffness, mass, sources = _matrices(mesh, of_region, part_regions)
    omega = 2 * math.pi * frequency
    system = (stiffness + 1j * omega * mass + exterior.matrix(len(mesh.points))).tocsc()
    potentials = _solve_symmetric(system, sources.astype(np.complex128))
    admittance = np.diag(sources.sum(axis=0)) - 1j * omega * (sources.T @ potentials)
    return UnitFields(mesh, frequency, of_region, tuple(parts), part_regions, potentials, admittance, exterior)


def _matrices(
    mesh: RegionMesh, materials: tuple[Material, ...], part_regions: tuple[tuple[int, ...], ...]
) -> tuple[sparse.csr_matrix, sparse.csr_matrix, Floats]:
    """Stiffness, sigma-weighted mass and the vectors int_k sigma N, in the numbering of the mesh's nodes."""
    basis, node_of = _basis(mesh)
    shape = basis.dx.shape
    reluctivity = np.array([material.reluctivity for material in materials])
    if not np.any(reluctivity.imag):
        reluctivity = reluctivity.real
    conductivity = np.array([material.conductivity for material in materials])
    nu = np.broadcast_to(reluctivity[mesh.regions][:, None], shape)
    sigma = np.broadcast_to(conductivity[mesh.regions][:, None], shape)
    dtype = np.complex128 if np.iscomplexobj(nu) else np.float64
    stiffness = skfem.BilinearForm(lambda a, v, w: w["nu"] * dot(grad(a), grad(v)), dtype=dtype).assemble(basis, nu=nu)
    mass = skfem.BilinearForm(lambda a, v, w: w["sigma"] * a * v).assemble(basis, sigma=sigma)
    size = len(mesh.points)
    place = sparse.csr_matrix((np.ones(len(node_of)), (node_of, np.arange(len(node_of)))), shape=(size, len(node_of)))
    stiffness, mass = place @ stiffness @ place.T, place @ mass @ place.T
    # the shape functions sum to one: int_k sigma N is the row sum of the mass matrix over the part's own triangles
    row_sums = np.zeros((size, len(part_regions)))
    weights = (basis.dx * sigma)[:, :, None] * _values_at_quadrature(basis)
    by_triangle = weights.sum(axis=1)
    for k, regions in enumerate(part_regions):
        own = np.isin(mesh.regions, regions)
        np.add.at(row_sums[:, k], mesh.triangles[own], by_triangle[own])
    return stiffness.tocsr(), mass.tocsr(), row_sums


def _values_at_quadrature(basis: skfem.CellBasis) -> Floats:
    values: Floats = shape_values(basis.X.T)[None]
    return values


def _basis(mesh: RegionMesh) -> tuple[skfem.CellBasis, Ints]:
    """Quadratic isoparametric basis of the mesh, and the mesh node of each of its unknowns."""
    used, corners = np.unique(mesh.triangles[:, :3], return_inverse=True)
    corners = corners.reshape(-1, 3)
    straight = skfem.MeshTri1(np.ascontiguousarray(mesh.points[used].T), np.ascontiguousarray(corners.T), sort_t=False)
    node_of = np.concatenate([used, np.zeros(straight.nfacets, dtype=np.int64)])
    node_of[len(used) + straight.t2f.T] = mesh.triangles[:, 3:]
    curved = skfem.MeshTri2(np.ascontiguousarray(mesh.points[node_of].T), straight.t)
    return skfem.CellBasis(curved, skfem.ElementTriP2(), intorder=4), node_of


def _solve_symmetric(system: sparse.csc_matrix, right: Complexes) -> Complexes:
    """Solve by sparse LU in the ordering that suits a matrix of symmetric structure."""
    try:
        factors = splu(system, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.001, options={"SymmetricMode": True})
        solution: Complexes = factors.solve(right)
    except (RuntimeError, MemoryError) as error:
        raise SolveError(f"the linear system of {system.shape[0]} unknowns could not be solved: {error}") from error
    if not np.all(np.isfinite(solution)):
        raise SolveError(f"the linear system of {system.shape[0]} unknowns has no finite solution")
    return solution
