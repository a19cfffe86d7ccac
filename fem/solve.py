"""Time-harmonic solve: unit voltages on each part, one factorisation, the admittance matrix."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar, cast

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from fem.arrays import Complexes, Floats, Ints
from fem.assembly import Assembly, assemble
from fem.earth import EarthReturn
from fem.exterior import Exterior
from fem.groups import (
    GroupedAssembly,
    GroupedExterior,
    GroupedPotentials,
    assemble_groups,
    coupled,
    moved_assembly,
    responses_of_groups,
)
from fem.materials import AIR, Material
from fem.mesh import GroupedRegionMesh, RegionMesh

REFERENCE_RADIUS = 1000.0
"""Radius on which a net current returns, if no other is given. [m]"""
AT_ONCE = 16
"""Right-hand sides that are solved at a time; all of 49 together take a fifth longer, of 100 twice as long."""


Array = TypeVar("Array", Floats, Complexes)


class SolveError(RuntimeError):
    """The field could not be computed."""


@dataclass(frozen=True)
class UnitFields:
    """Fields of unit voltages, from which all electric and magnetic quantities follow by superposition."""

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
    potentials: Complexes | GroupedPotentials
    """A at the nodes of the mesh for 1 V/m imposed on each part alone, shape (p, N). [Wb/m per V/m]"""
    admittance: Complexes
    """Y with part currents i = Y u, earth return included, shape (N, N). [S m]"""
    source_potentials: Complexes | GroupedPotentials
    """A for 1 A/m^2 in each of the S sources of given current density alone, parts at u = 0, shape (p, S). [H m]"""
    assembly: Assembly | GroupedAssembly
    earth: EarthReturn | None = None
    """The earth through which net currents return; None for the far circle."""
    earth_impedance: Complexes | None = None
    """Impedances that the return through the earth adds to the parts, shape (N, N). [ohm/m]"""

    @property
    def exterior(self) -> Exterior | GroupedExterior:
        """The air beyond the mesh."""
        return self.assembly.exterior

    @property
    def omega(self) -> float:
        """Angular frequency. [rad/s]"""
        return 2 * math.pi * self.frequency

    @property
    def return_radius(self) -> complex:
        """Radius on which a net current returns in line formulas; complex for a return through the earth. [m]"""
        if self.earth is None:
            return self.exterior.reference_radius
        return self.earth.equivalent_radius(self.omega)

    def imposed(self, voltages: Complexes) -> Complexes:
        """Part voltages (N,) minus those that the earth current induces, so that E = imposed - j w A, (N,). [V/m]"""
        if self.earth_impedance is None:
            return voltages
        return voltages - self.earth_impedance @ (self.admittance @ voltages)

    def earth_loss(self, currents: Complexes) -> float:
        """Loss in the earth for part currents (N,) [A]. [W/m]"""
        if self.earth_impedance is None:
            return 0.0
        return float((currents.conj() @ self.earth_impedance.real @ currents).real)

    def potential(self, voltages: Complexes, densities: Complexes | None = None) -> Complexes:
        """A at the nodes of the mesh for part voltages (N,) [V/m] and source densities (S,) [A/m^2], (p,). [Wb/m]"""
        result: Complexes = self.potentials @ self.imposed(voltages)
        if densities is not None:
            result = result + self.source_potentials @ densities
        return result

    def source_linkages(self, nodal: Complexes) -> Complexes:
        """Mean of A over each source for potentials (p,) at the nodes of the mesh, shape (S,). [Wb/m]"""
        vectors = self.assembly.source_vectors
        mean: Complexes = (vectors.T @ nodal) / vectors.sum(axis=0)
        return mean

    def part_of_region(self) -> Ints:
        """Index of the part to which each region belongs, -1 for no part, shape (regions,)."""
        part = np.full(len(self.materials), -1, dtype=np.int64)
        for k, regions in enumerate(self.part_regions):
            part[list(regions)] = k
        return part

    def sum_over_parts(self, by_triangle: Array) -> Array:
        """Sum over the triangles of each part, from one row for each triangle (t, ...) to (N, ...)."""
        part = self.part_of_region()[self.mesh.regions]
        sums = np.zeros((len(self.part_names), *by_triangle.shape[1:]), dtype=by_triangle.dtype)
        np.add.at(sums, part[part >= 0], by_triangle[part >= 0])
        return cast(Array, sums)


def solve_unit_voltages(
    mesh: RegionMesh,
    materials: Mapping[str, Material],
    frequency: float,
    parts: Mapping[str, tuple[str, ...]] | None = None,
    reference_radius: float | None = None,
    sources: Mapping[str, tuple[str, ...]] | None = None,
    reluctivity: Complexes | None = None,
    earth: EarthReturn | None = None,
) -> UnitFields:
    """Solve for one volt per metre on each part in turn, and for one ampere per square metre in each source.

    materials: Material of each named region; air if none is given.
    frequency: Frequency, above 0. [Hz]
    parts: Conducting parts and their regions; if not given, each conducting region is one part.
    reference_radius: Radius of the far circle on which a net current returns. [m]
    sources: Regions of given, uniform current density (windings of thin wire); they must not conduct.
    reluctivity, shape (t,): Reluctivity of each triangle, used instead of that of its material. [m/H]
    earth: Earth through which net currents return instead of on the far circle; not with sources.

    int nu grad A . grad v + j w int sigma A v + e(A, v) = sum u_k int_k sigma v + sum J_s int_s v, quadratic elements,
    complex symmetric sparse LU. Y_kl = delta_kl int_k sigma - j w int_k sigma A_l.

    The potential of the earth current is smooth. It is taken as constant over each part, and the currents of the parts
    as lying at their centroids. Let dZ be the impedances that it adds and Y' the admittance with return on the far
    circle. The field inside follows from u' = u - dZ i, and i = Y' u' gives Y = (1 + Y' dZ)^{-1} Y'.
    """
    _check_frequency(frequency)
    of_region = _materials_of_regions(mesh, materials)
    parts, sources = _conducting_regions(mesh, of_region) if parts is None else parts, sources or {}
    part_regions, source_regions = _indices(mesh, parts), _indices(mesh, sources)
    _check_sources(sources, source_regions, of_region, earth)
    if reluctivity is None:
        reluctivity = np.array([material.reluctivity for material in of_region], dtype=np.complex128)[mesh.regions]
    if isinstance(mesh, GroupedRegionMesh) and earth is not None:
        raise ValueError("groups of solids on meshes of their own have no return through the earth")
    conductivity = np.array([material.conductivity for material in of_region])
    far = reference_radius or max(REFERENCE_RADIUS, 100 * mesh.circle_radius)
    assembly = (
        assemble_groups(mesh, conductivity, part_regions, source_regions, far)
        if isinstance(mesh, GroupedRegionMesh)
        else assemble(mesh, conductivity, part_regions, source_regions, far)
    )
    of_parts, of_sources, admittance = _unit_potentials(assembly, 2 * math.pi * frequency, reluctivity)
    fields = UnitFields(
        mesh,
        frequency,
        of_region,
        reluctivity,
        tuple(parts),
        part_regions,
        of_parts,
        admittance,
        of_sources,
        assembly,
    )
    return fields if earth is None else with_earth(fields, earth, part_places(fields))


def _conducting_regions(mesh: RegionMesh, of_region: Sequence[Material]) -> dict[str, tuple[str, ...]]:
    """Each conducting region as one part."""
    named = zip(mesh.names, of_region, strict=True)
    return {name: (name,) for name, material in named if material.conductivity > 0}


def with_reluctivity(fields: UnitFields, reluctivity: Complexes) -> UnitFields:
    """Solve again with another reluctivity; everything else is kept, including the assembly.

    reluctivity, shape (t,) or (t, q): Reluctivity of each triangle, or at each quadrature point; the new
        solution then holds its mean in each triangle. [m/H]
    """
    own = reluctivity
    if reluctivity.ndim == 2:
        own = np.average(reluctivity, axis=1, weights=fields.assembly.weights)
    return _again(replace(fields, reluctivity=own), reluctivity)


def with_frequency(fields: UnitFields, frequency: float) -> UnitFields:
    """Solve again at another frequency, above 0 [Hz]; assembly, reluctivity and return path are kept."""
    _check_frequency(frequency)
    return _again(replace(fields, frequency=frequency), fields.reluctivity)


def with_groups_at(fields: UnitFields, mesh: GroupedRegionMesh) -> UnitFields:
    """The solution with its groups at the places of another mesh, without solving any of them again.

    mesh: The same groups in the same order. If they come so close that the series need more orders, all is solved anew.
    """
    if not isinstance(fields.assembly, GroupedAssembly) or not isinstance(fields.potentials, GroupedPotentials):
        raise TypeError("the solution has no groups that could move")
    assembly = moved_assembly(fields.assembly, mesh)
    moved = replace(fields, mesh=mesh, assembly=assembly)
    if assembly.exterior.order > fields.assembly.exterior.order:
        return _again(moved, fields.reluctivity)
    of_parts, of_sources, admittance = coupled(assembly, fields.omega, fields.potentials.responses)
    return replace(moved, potentials=of_parts, source_potentials=of_sources, admittance=admittance)


def _again(fields: UnitFields, reluctivity: Complexes) -> UnitFields:
    """The solution with everything that depends on frequency and reluctivity solved again."""
    of_parts, of_sources, admittance = _unit_potentials(fields.assembly, fields.omega, reluctivity)
    solved = replace(
        fields, potentials=of_parts, admittance=admittance, source_potentials=of_sources, earth_impedance=None
    )
    return solved if fields.earth is None else with_earth(solved, fields.earth, part_places(fields))


def part_places(fields: UnitFields) -> Floats:
    """Centroid of each part, shape (N, 2). [m]"""
    vectors = fields.assembly.part_vectors
    weight = vectors.sum(axis=0)[:, None]
    centroid = vectors.T @ fields.mesh.points / np.where(weight > 0, weight, 1)
    return np.where(weight > 0, centroid, np.asarray(fields.exterior.centre))  # no current without conductivity


def part_radii(fields: UnitFields, places: Floats) -> Floats:
    """Distance of the farthest point of each part from its place (N, 2) [m], shape (N,). [m]"""
    away = np.linalg.norm(fields.mesh.points[:, None] - places, axis=2)
    return np.asarray(np.where(fields.assembly.part_vectors != 0, away, 0.0).max(axis=0))


def with_earth(fields: UnitFields, earth: EarthReturn, places: Floats) -> UnitFields:
    """The solution with return through the earth instead of on the far circle, for parts at places (N, 2) [m]."""
    added = earth.impedances(fields.omega, places, fields.exterior.reference_radius)
    own, unit = fields.admittance, np.eye(len(fields.admittance))
    if fields.earth_impedance is not None:  # Y' = (1 - Y dZ)^{-1} Y removes the previous earth
        own = np.asarray(np.linalg.solve(unit - own @ fields.earth_impedance, own), dtype=np.complex128)
    admittance = np.asarray(np.linalg.solve(unit + own @ added, own), dtype=np.complex128)
    return replace(fields, admittance=admittance, earth=earth, earth_impedance=added)


def _unit_potentials(
    assembly: Assembly | GroupedAssembly, omega: float, reluctivity: Complexes
) -> tuple[Complexes | GroupedPotentials, Complexes | GroupedPotentials, Complexes]:
    """Potentials of unit voltages and of unit source densities, and the admittance matrix."""
    if isinstance(assembly, GroupedAssembly):
        return coupled(assembly, omega, responses_of_groups(assembly, omega, reluctivity, solve_symmetric))
    exterior = assembly.exterior.matrix(len(assembly.mesh.points))
    system = (assembly.stiffness(reluctivity) + 1j * omega * assembly.mass + exterior).tocsc()
    right = np.hstack([assembly.part_vectors, assembly.source_vectors])
    potentials = solve_symmetric(system, right)
    parts = assembly.part_vectors.shape[1]
    of_parts = potentials[:, :parts]
    conductance = np.diag(assembly.part_vectors.sum(axis=0))
    admittance = conductance - 1j * omega * (assembly.part_vectors.T @ of_parts)
    return of_parts, potentials[:, parts:], admittance


def _check_frequency(frequency: float) -> None:
    if not (frequency > 0 and math.isfinite(frequency)):
        raise ValueError(f"frequency must be above 0: {frequency} Hz")


def _materials_of_regions(mesh: RegionMesh, materials: Mapping[str, Material]) -> tuple[Material, ...]:
    """Material of each region of the mesh in its order, air if none is given."""
    unknown = [name for name in materials if name not in mesh.names]
    if unknown:
        raise ValueError(f"materials are given for regions that the mesh does not have: {', '.join(unknown)}")
    return tuple(materials.get(name, AIR) for name in mesh.names)


def _check_sources(
    names: Collection[str],
    regions: tuple[tuple[int, ...], ...],
    of_region: tuple[Material, ...],
    earth: EarthReturn | None,
) -> None:
    """Refuse a source whose current density its conductivity or the earth would change."""
    conducting = [name for name, own in zip(names, regions, strict=True) for k in own if of_region[k].conductivity]
    if conducting:
        raise ValueError(f"a source of given current density must not conduct: {', '.join(conducting)}")
    if earth is not None and names:
        raise ValueError("sources of given current density have no return through the earth")


def _indices(mesh: RegionMesh, groups: Mapping[str, tuple[str, ...]]) -> tuple[tuple[int, ...], ...]:
    """Indices of the regions of each group."""
    unknown = [region for regions in groups.values() for region in regions if region not in mesh.names]
    if unknown:
        raise ValueError(f"parts or sources name regions that the mesh does not have: {', '.join(unknown)}")
    return tuple(tuple(mesh.names.index(region) for region in regions) for regions in groups.values())


def solve_symmetric(system: sparse.csc_matrix, right: Floats | Complexes) -> Complexes:
    """Solution of a symmetric sparse system, real or complex, by LU in an ordering for symmetric structure.

    Real if both are. Raises SolveError: If the system is singular, too large for the memory, or has no finite solution.
    """
    solution = np.empty(right.shape, dtype=np.result_type(system.dtype, right.dtype), order="F")
    try:
        factors = splu(system, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.001, options={"SymmetricMode": True})
        for k in range(0, right.shape[1], AT_ONCE):
            solution[:, k : k + AT_ONCE] = factors.solve(right[:, k : k + AT_ONCE].astype(solution.dtype))
    except (RuntimeError, MemoryError) as error:
        raise SolveError(f"the linear system of {system.shape[0]} unknowns could not be solved: {error}") from error
    if not np.all(np.isfinite(solution)):
        raise SolveError(f"the linear system of {system.shape[0]} unknowns has no finite solution")
    return solution
