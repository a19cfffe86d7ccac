"""The time-harmonic solve: unit voltages on every part, one factorisation, the admittance matrix."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from fem.assembly import Assembly, assemble
from fem.exterior import Exterior
from fem.materials import AIR, Material
from fem.mesh import Complexes, Ints, RegionMesh

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
    reluctivity: Complexes
    """Reluctivity of each triangle, shape (t,). [m/H]"""
    part_names: tuple[str, ...]
    """Names of the N conducting parts."""
    part_regions: tuple[tuple[int, ...], ...]
    """Indices of the regions of each part."""
    potentials: Complexes
    """A of one volt per metre on each part alone, at the mesh's nodes, shape (p, N). [Wb/m per V/m]"""
    admittance: Complexes
    """Y, with part currents i = Y u, shape (N, N). [S m]"""
    source_names: tuple[str, ...]
    """Names of the S sources of given current density."""
    source_potentials: Complexes
    """A of one ampere per square metre in each source alone, all parts at u = 0, shape (p, S). [Wb/m per A/m^2]"""
    assembly: Assembly

    @property
    def exterior(self) -> Exterior:
        """The air beyond the mesh."""
        return self.assembly.exterior

    @property
    def omega(self) -> float:
        """Angular frequency. [rad/s]"""
        return 2 * math.pi * self.frequency

    def potential(self, voltages: Complexes, densities: Complexes | None = None) -> Complexes:
        """A at the mesh's nodes for part voltages (N,) [V/m] and source densities (S,) [A/m^2], shape (p,). [Wb/m]"""
        result: Complexes = self.potentials @ voltages
        if densities is not None:
            result = result + self.source_potentials @ densities
        return result

    def source_linkages(self, nodal: Complexes) -> Complexes:
        """Mean of A over each source for potentials at the mesh's nodes (p,), shape (S,). [Wb/m]"""
        vectors = self.assembly.source_vectors
        mean: Complexes = (vectors.T @ nodal) / vectors.sum(axis=0)
        return mean

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
    reference_radius: complex | None = None,
    sources: Mapping[str, tuple[str, ...]] | None = None,
    reluctivity: Complexes | None = None,
) -> UnitFields:
    """Solve for one volt per metre on each part in turn, and for one ampere per square metre in each source.

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
    reference_radius : complex, optional
        Radius of the far circle on which a net current returns, complex for a return through the earth. [m]
    sources : mapping of str to tuple of str, optional
        Regions of given, uniform current density (windings of thin wire), which must not conduct.
    reluctivity : ndarray (t,), optional
        Reluctivity of each triangle in place of its material's. [m/H]

    Returns
    -------
    fields : UnitFields

    Notes
    -----
    int nu grad A . grad v + j w int sigma A v + e(A, v) = sum u_k int_k sigma v + sum J_s int_s v, quadratic elements,
    complex symmetric sparse LU. Y_kl = delta_kl int_k sigma - j w int_k sigma A_l.
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
    sources = sources or {}
    part_regions, source_regions = _indices(mesh, parts), _indices(mesh, sources)
    conducting = [
        name for name, own in zip(sources, source_regions, strict=True) for k in own if of_region[k].conductivity
    ]
    if conducting:
        raise ValueError(f"a source of given current density must not conduct: {', '.join(conducting)}")
    if reluctivity is None:
        reluctivity = np.array([material.reluctivity for material in of_region], dtype=np.complex128)[mesh.regions]
    assembly = assemble(
        mesh,
        np.array([material.conductivity for material in of_region]),
        part_regions,
        source_regions,
        reference_radius or max(REFERENCE_RADIUS, 100 * mesh.circle_radius),
    )
    of_parts, of_sources, admittance = _unit_potentials(assembly, 2 * math.pi * frequency, reluctivity)
    return UnitFields(
        mesh,
        frequency,
        of_region,
        reluctivity,
        tuple(parts),
        part_regions,
        of_parts,
        admittance,
        tuple(sources),
        of_sources,
        assembly,
    )


def with_reluctivity(fields: UnitFields, reluctivity: Complexes) -> UnitFields:
    """Solve again with another reluctivity; all else, also the assembly, is kept.

    Parameters
    ----------
    fields : UnitFields
        A solution.
    reluctivity : ndarray (t,) or (t, q)
        Reluctivity of each triangle, or at each quadrature point of the assembly's basis, of which the new solution
        keeps the mean over each triangle. [m/H]
    """
    of_parts, of_sources, admittance = _unit_potentials(fields.assembly, fields.omega, reluctivity)
    if reluctivity.ndim == 2:
        reluctivity = np.average(reluctivity, axis=1, weights=fields.assembly.basis.dx)
    return replace(
        fields, reluctivity=reluctivity, potentials=of_parts, admittance=admittance, source_potentials=of_sources
    )


def with_frequency(fields: UnitFields, frequency: float) -> UnitFields:
    """Solve again at another frequency, above 0 [Hz]; assembly, reluctivity and far circle are kept."""
    if not (frequency > 0 and math.isfinite(frequency)):
        raise ValueError(f"frequency must be above 0: {frequency} Hz")
    of_parts, of_sources, admittance = _unit_potentials(fields.assembly, 2 * math.pi * frequency, fields.reluctivity)
    return replace(
        fields, frequency=frequency, potentials=of_parts, admittance=admittance, source_potentials=of_sources
    )


def _unit_potentials(
    assembly: Assembly, omega: float, reluctivity: Complexes
) -> tuple[Complexes, Complexes, Complexes]:
    """Potentials of unit voltages and of unit source densities, and the admittance matrix."""
    exterior = assembly.exterior.matrix(len(assembly.mesh.points))
    system = (assembly.stiffness(reluctivity) + 1j * omega * assembly.mass + exterior).tocsc()
    right = np.hstack([assembly.part_vectors, assembly.source_vectors]).astype(np.complex128)
    potentials = _solve_symmetric(system, right)
    parts = assembly.part_vectors.shape[1]
    of_parts = potentials[:, :parts]
    conductance = np.diag(assembly.part_vectors.sum(axis=0))
    admittance = conductance - 1j * omega * (assembly.part_vectors.T @ of_parts)
    return of_parts, potentials[:, parts:], admittance


def _indices(mesh: RegionMesh, groups: Mapping[str, tuple[str, ...]]) -> tuple[tuple[int, ...], ...]:
    unknown = [region for regions in groups.values() for region in regions if region not in mesh.names]
    if unknown:
        raise ValueError(f"parts or sources name regions that the mesh has not: {', '.join(unknown)}")
    return tuple(tuple(mesh.names.index(region) for region in regions) for regions in groups.values())


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
