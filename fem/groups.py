"""Groups far from each other, each on a mesh of its own, coupled exactly by the series between their circles.

Outside all circles, with r and theta about the centre of each group's circle of radius R and D = ln(Rref/R),

    A = sum over groups of a_0 ln(Rref/r)/D + sum (R/r)^n (a_n cos n theta + b_n sin n theta).

On its own circle the sum of the others is regular: p_0 + sum (r/R)^n (p_n cos n theta + q_n sin n theta). One
factorisation of each group gives the response y = (a_0, a, b) to unit voltages and to unit incoming x = (p_0, p, q):
y = U u + S x, i = Y u + W x. The translation of the series, x = T y, closes it: x = (1 - T S)^{-1} T U u.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy import sparse
from scipy.linalg import block_diag

from fem.arrays import Complexes, Flags, Floats, Ints
from fem.assembly import Assembly, assemble
from fem.constants import mu_0
from fem.exterior import CHUNK, HARMONICS, Exterior
from fem.mesh import GroupedRegionMesh, RegionGroup
from fem.multipole_system import outgoing_to_incident

COUPLING = 1e-6
"""Share of a field at the solids of a group that the series between circles may miss. [-]"""
LEAST_ORDER = 4
"""Least order of these series."""


@dataclass(frozen=True)
class GroupedExterior:
    """The air outside all circles; as `fem.exterior.Exterior`, with the coefficients of all groups below each other."""

    centre: tuple[float, float]
    """Centre of a circle that holds all of them. [m]"""
    radius: float
    """Radius of that circle. [m]"""
    reference_radius: float
    """Radius on which a net current returns. [m]"""
    members: tuple[Exterior, ...]
    """Exterior of each group, with the numbers of the nodes in the whole mesh."""
    order: int
    """Order up to which the groups are coupled."""

    @property
    def least_radius(self) -> float:
        """Radius of the smallest circle of a group. [m]"""
        return min(member.radius for member in self.members)

    @property
    def depth(self) -> float:
        """ln(Rref/R) of the circle that holds all. [-]"""
        return math.log(self.reference_radius / self.radius)

    @property
    def kept(self) -> Ints:
        """Places of the coupled coefficients, a_0 to a_order and b_1 to b_order, among those of one group."""
        return np.concatenate([np.arange(self.order + 1), HARMONICS + 1 + np.arange(self.order)])

    @cached_property
    def translation(self) -> Floats:
        """T with x = T y of the coupled coefficients of all groups, shape (G(2N+1), G(2N+1)). [-]"""
        size = 2 * self.order + 1
        whole = np.zeros((len(self.members), size, len(self.members), size))
        for i, to in enumerate(self.members):
            for j, of in enumerate(self.members):
                if i != j:
                    whole[i, :, j] = _translated(of, to, self.order)
        return whole.reshape(len(self.members) * size, -1)

    def coefficients(self, potential: Complexes) -> Complexes:
        """Outgoing coefficients of all groups for potentials (p, ...) of all nodes, shape (G(2 HARMONICS + 1), ...).

        Those of A on a circle are y + x = (1 + T) y. [Wb/m]
        """
        found = np.stack([member.coefficients(potential) for member in self.members])
        kept = self.kept
        coupled = found[:, kept]
        own = self._inverse @ coupled.reshape(len(self.translation), -1)
        found[:, kept] = own.reshape(coupled.shape)
        return np.asarray(found.reshape(-1, *potential.shape[1:]), dtype=np.complex128)

    @cached_property
    def _inverse(self) -> Floats:
        """(1 + T)^{-1}."""
        return np.asarray(np.linalg.inv(np.eye(len(self.translation)) + self.translation), dtype=np.float64)

    def beyond(self, points: Floats, share: float = 1.0) -> Flags:
        """Whether points (..., 2) [m] lie on or outside all circles, or those of a share of their radii, (...)."""
        return np.asarray(np.all([member.beyond(points, share) for member in self.members], axis=0))

    def potential(self, coefficients: Complexes, points: Floats) -> Complexes:
        """Potential at points (q, 2) on or outside all circles, shape (q, ...). [Wb/m]"""
        pieces = [points[k : k + CHUNK] for k in range(0, len(points), CHUNK)] or [points]
        return np.concatenate([self._summed(Exterior.potential, coefficients, piece) for piece in pieces])

    def field(self, coefficients: Complexes, points: Floats) -> Complexes:
        """Flux density (Bx, By) at points (q, 2) on or outside all circles, shape (q, 2, ...). [T]"""
        return self._summed(Exterior.field, coefficients, points)

    def _summed(
        self, of: Callable[[Exterior, Complexes, Floats], Complexes], coefficients: Complexes, points: Floats
    ) -> Complexes:
        own = np.split(coefficients, len(self.members))
        parts = [of(member, each, points) for member, each in zip(self.members, own, strict=True)]
        return np.asarray(sum(parts), dtype=np.complex128)

    def matrix(self, size: int) -> sparse.csr_matrix:
        """e(., .) of all circles with their coupling, dense between their nodes, shape (size, size). [m/H]

        A on the circles has the coefficients c = (1 + T) y, and what comes in is x = T (1 + T)^{-1} c.
        """
        kept, nodes = self.kept, np.concatenate([member.nodes for member in self.members])
        of_nodes = block_diag(*(member.functionals[kept] for member in self.members))
        loads = np.concatenate([_incoming_weights(member, self.order) for member in self.members])
        means = np.tile(np.where(kept == 0, 0.5, 1.0) / np.pi, len(self.members))
        dense = -(of_nodes.T * loads) @ (self.translation @ self._inverse * means) @ of_nodes
        rows, columns = np.repeat(nodes, len(nodes)), np.tile(nodes, len(nodes))
        coupling = sparse.csr_matrix((dense.ravel(), (rows, columns)), shape=(size, size))
        return sparse.csr_matrix(sum((member.matrix(size) for member in self.members), coupling))


def _incoming_weights(exterior: Exterior, order: int) -> Floats:
    """Right-hand side per functional and unit incoming coefficient: (1/mu0) (1/D, 2n, 2n). [m/H]"""
    n = np.arange(1, order + 1)
    return np.concatenate([[1 / exterior.depth], 2 * n, 2 * n]) / mu_0


def _translated(of: Exterior, to: Exterior, order: int) -> Floats:
    """Incoming coefficients on one circle per outgoing one of another, shape (2N+1, 2N+1). [-]"""
    shift = complex(*to.centre) - complex(*of.centre)
    matrix = outgoing_to_incident(shift, of.radius, to.radius, order)
    n = np.arange(1, order + 1)
    line = np.concatenate([[math.log(of.reference_radius / abs(shift))], (-to.radius / shift) ** n / n]) / of.depth
    cosines = np.column_stack([line.real, matrix.real, -matrix.imag])
    sines = np.column_stack([-line.imag, -matrix.imag, -matrix.real])[1:]
    return np.asarray(np.vstack([cosines, sines]), dtype=np.float64)


@dataclass(frozen=True)
class GroupedAssembly:
    """Matrices of groups; what `fem.assembly.Assembly` holds of one mesh, for all of them."""

    mesh: GroupedRegionMesh
    members: tuple[Assembly, ...]
    """Of each group about the origin; equal groups with equal materials share one."""
    columns: tuple[Ints, ...]
    """Parts and then sources of each group, in the order of its own ones."""
    parts: int
    """Number N of all parts."""
    sources: int
    """Number S of all sources."""
    exterior: GroupedExterior

    @property
    def node_starts(self) -> Ints:
        """First node of each group, and the number of all, shape (G + 1,)."""
        return np.cumsum([0, *(len(member.mesh.points) for member in self.members)])

    @property
    def triangle_starts(self) -> Ints:
        """First triangle of each group, and the number of all, shape (G + 1,)."""
        return np.cumsum([0, *(len(member.mesh.triangles) for member in self.members)])

    @property
    def weights(self) -> Floats:
        """Areas of the quadrature points of all triangles, shape (t, q). [m^2]"""
        return np.concatenate([member.weights for member in self.members])

    @property
    def abscissae(self) -> Floats:
        """Local coordinates of the quadrature points, shape (q, 2). [-]"""
        return self.members[0].abscissae

    @property
    def mass(self) -> sparse.csr_matrix:
        """int sigma N_i N_j, shape (p, p). [S/m]"""
        return sparse.csr_matrix(sparse.block_diag([member.mass for member in self.members]))

    @property
    def part_vectors(self) -> Floats:
        """int_k sigma N_i of each part, shape (p, N). [S m]"""
        return self._vectors()[:, : self.parts]

    @property
    def source_vectors(self) -> Floats:
        """int_s N_i of each source, shape (p, S). [m^2]"""
        return self._vectors()[:, self.parts :]

    def _vectors(self) -> Floats:
        starts = self.node_starts
        whole = np.zeros((starts[-1], self.parts + self.sources))
        for start, member, columns in zip(starts, self.members, self.columns, strict=False):
            rows = slice(start, start + len(member.mesh.points))
            whole[rows, columns] = np.hstack([member.part_vectors, member.source_vectors])
        return whole

    def stiffness(self, reluctivity: Complexes) -> sparse.csr_matrix:
        """int nu grad N_i . grad N_j for reluctivities (t,) or (t, q), shape (p, p). [m/H]"""
        own = np.split(reluctivity, self.triangle_starts[1:-1])
        pieces = [member.stiffness(each) for member, each in zip(self.members, own, strict=True)]
        return sparse.csr_matrix(sparse.block_diag(pieces))


def assemble_groups(
    mesh: GroupedRegionMesh,
    conductivity: Floats,
    part_regions: tuple[tuple[int, ...], ...],
    source_regions: tuple[tuple[int, ...], ...],
    reference_radius: float,
) -> GroupedAssembly:
    """Matrices of groups; arguments as for `fem.assembly.assemble`, each part and source within one group."""
    made: list[tuple[tuple[object, ...], Assembly]] = []
    members, columns = [], []
    for group in mesh.groups:
        index = {int(region): k for k, region in enumerate(group.regions)}
        parts, of_parts = _within(part_regions, index)
        sources, of_sources = _within(source_regions, index)
        sigma = conductivity[group.regions]
        key = (id(group.mesh), sigma.tobytes(), of_parts, of_sources)
        member = next((own for other, own in made if other == key), None)
        if member is None:
            member = assemble(group.mesh, sigma, of_parts, of_sources, reference_radius)
            made.append((key, member))
        members.append(member)
        columns.append(np.array([*parts, *(len(part_regions) + k for k in sources)], dtype=np.int64))
    counts = (len(part_regions), len(source_regions))
    missing = set(range(sum(counts))) - {int(k) for own in columns for k in own}
    if missing:
        raise ValueError("each part and source must lie within one group of the mesh")
    exterior = _exterior_of(mesh, members, reference_radius, coupling_order(mesh.groups))
    return GroupedAssembly(mesh, tuple(members), tuple(columns), *counts, exterior)


def moved_assembly(assembly: GroupedAssembly, mesh: GroupedRegionMesh) -> GroupedAssembly:
    """The assembly of the same groups at other places; at least as many orders are coupled as before."""
    pairs = zip(assembly.mesh.groups, mesh.groups, strict=True)
    if not all(one.mesh is other.mesh and np.array_equal(one.regions, other.regions) for one, other in pairs):
        raise ValueError("groups that move must keep their meshes and their order")
    order = max(assembly.exterior.order, coupling_order(mesh.groups))
    exterior = _exterior_of(mesh, assembly.members, assembly.exterior.reference_radius, order)
    return replace(assembly, mesh=mesh, exterior=exterior)


def _within(
    regions: tuple[tuple[int, ...], ...], index: dict[int, int]
) -> tuple[list[int], tuple[tuple[int, ...], ...]]:
    """Numbers of the parts that lie in one group, and their regions in the group's own numbers."""
    own = [k for k, each in enumerate(regions) if each and all(region in index for region in each)]
    return own, tuple(tuple(index[region] for region in regions[k]) for k in own)


def _exterior_of(
    mesh: GroupedRegionMesh, members: Sequence[Assembly], reference_radius: float, order: int
) -> GroupedExterior:
    exteriors, start = [], 0
    for group, member in zip(mesh.groups, members, strict=True):
        own = member.exterior
        centre = (own.centre[0] + group.origin[0], own.centre[1] + group.origin[1])
        exteriors.append(Exterior(centre, own.radius, own.reference_radius, own.nodes + start, own.functionals))
        start += len(member.mesh.points)
    return GroupedExterior(mesh.circle_centre, mesh.circle_radius, reference_radius, tuple(exteriors), order)


def coupling_order(groups: Sequence[RegionGroup], share: float = COUPLING) -> int:
    """Order from which on the series between any two groups miss less than a share of the field at their solids.

    The sources of one lie within its reach rho_j of its centre and the solids of the other within rho_i of theirs, at
    the distance s: the terms of order n fall like (rho_i/(s - rho_j))^n.
    """
    centres = np.array([np.add(group.origin, group.mesh.circle_centre) for group in groups])
    reach = np.array([group.reach for group in groups])
    apart = np.linalg.norm(centres[:, None] - centres, axis=2)
    np.fill_diagonal(apart, np.inf)
    ratio = float((reach[:, None] / (apart - reach)).max())
    if not 0 < ratio < 1:
        raise ValueError("groups must lie apart: the circle of the solids of one holds the centre of another's field")
    return int(np.clip(math.ceil(math.log(share) / math.log(ratio)), LEAST_ORDER, HARMONICS))


@dataclass(frozen=True)
class Response:
    """What one group does about the origin, far from all others."""

    own: Complexes
    """A for each unit voltage of its parts, then for each of its sources, nothing coming in, shape (p_g, N_g + S_g)."""
    incoming: Complexes
    """A for each unit incoming coefficient, shape (p_g, 2N+1). [-]"""


@dataclass(frozen=True)
class GroupedPotentials:
    """Potentials at all nodes for unit voltages (or densities), kept as responses of the groups."""

    responses: tuple[Response, ...]
    chosen: tuple[Flags, ...]
    """Which of the own columns of each response are meant."""
    columns: tuple[Ints, ...]
    """Their numbers among all."""
    coefficients: tuple[Complexes, ...]
    """Coefficients coming into each group for each unit voltage, shape (2N+1, N). [Wb/m per V/m]"""

    def __matmul__(self, voltages: Complexes) -> Complexes:
        """A at all nodes for voltages (N, ...), shape (p, ...)."""
        pieces = []
        for response, own, columns, x in zip(self.responses, self.chosen, self.columns, self.coefficients, strict=True):
            alone = np.zeros((len(own), *voltages.shape[1:]), dtype=np.complex128)
            alone[own] = voltages[columns]
            pieces.append(response.own @ alone + response.incoming @ (x @ voltages))
        return np.concatenate(pieces)


Solver = Callable[[sparse.csc_matrix, Complexes], Complexes]


def responses_of_groups(
    assembly: GroupedAssembly, omega: float, reluctivity: Complexes, solve: Solver
) -> tuple[Response, ...]:
    """Responses of all groups, those of equal ones found once.

    omega: Angular frequency. [rad/s]
    reluctivity, shape (t,) or (t, q): Of all triangles. [m/H]
    solve: Solution of a symmetric sparse system.
    """
    made: dict[tuple[int, bytes], Response] = {}
    keys = []
    pieces = np.split(reluctivity, assembly.triangle_starts[1:-1])
    for member, nu in zip(assembly.members, pieces, strict=True):
        keys.append((id(member), nu.tobytes()))
        if keys[-1] not in made:
            made[keys[-1]] = _response(member, omega, nu, assembly.exterior.order, solve)
            if nu.ndim == 1:  # else more iterations are to come
                member.forget_gradients()
    return tuple(made[key] for key in keys)


def coupled(
    assembly: GroupedAssembly, omega: float, responses: tuple[Response, ...]
) -> tuple[GroupedPotentials, GroupedPotentials, Complexes]:
    """Potentials of unit voltages and of unit source densities, and the admittance matrix, from those of each group."""
    kept, size = assembly.exterior.kept, 2 * assembly.exterior.order + 1
    translation = assembly.exterior.translation
    outgoing = np.zeros((len(responses), size, assembly.parts + assembly.sources), dtype=np.complex128)
    through = np.empty((len(translation), len(responses), size), dtype=np.complex128)
    made: dict[int, tuple[Complexes, Complexes]] = {}
    for g, (member, columns, response) in enumerate(zip(assembly.members, assembly.columns, responses, strict=True)):
        if id(response) not in made:
            scattered = member.exterior.coefficients(response.incoming)[kept] - np.eye(size)
            made[id(response)] = member.exterior.coefficients(response.own)[kept], scattered
        outgoing[g][:, columns], scattered = made[id(response)]
        through[:, g] = translation[:, g * size : (g + 1) * size] @ scattered
    closed = np.eye(len(translation)) - through.reshape(translation.shape)
    coming = np.linalg.solve(closed, translation @ outgoing.reshape(len(translation), -1))
    by_group = np.split(coming, len(responses))

    admittance = np.zeros((assembly.parts, assembly.parts), dtype=np.complex128)
    for member, columns, response, x in zip(assembly.members, assembly.columns, responses, by_group, strict=True):
        rows, vectors = columns[columns < assembly.parts], member.part_vectors
        linked = (vectors.T @ response.incoming) @ x[:, : assembly.parts]
        linked[:, rows] += vectors.T @ response.own[:, : len(rows)]
        admittance[rows] = -1j * omega * linked
        admittance[rows, rows] += vectors.sum(axis=0)

    def potentials(first: int, last: int) -> GroupedPotentials:
        """Of the columns from the first to before the last."""
        chosen = [(columns >= first) & (columns < last) for columns in assembly.columns]
        return GroupedPotentials(
            responses,
            tuple(chosen),
            tuple(columns[c] - first for columns, c in zip(assembly.columns, chosen, strict=True)),
            tuple(x[:, first:last] for x in by_group),
        )

    of_sources = potentials(assembly.parts, assembly.parts + assembly.sources)
    return potentials(0, assembly.parts), of_sources, admittance


def _response(member: Assembly, omega: float, reluctivity: Complexes, order: int, solve: Solver) -> Response:
    """A in one group for each unit voltage and source, and for each unit incoming coefficient."""
    exterior, nodes = member.exterior, len(member.mesh.points)
    system = (member.stiffness(reluctivity) + 1j * omega * member.mass + exterior.matrix(nodes)).tocsc()
    coming = np.zeros((nodes, 2 * order + 1))
    kept = np.concatenate([np.arange(order + 1), HARMONICS + 1 + np.arange(order)])
    coming[exterior.nodes] = exterior.functionals[kept].T * _incoming_weights(exterior, order)
    right = np.hstack([member.part_vectors, member.source_vectors, coming])
    solved = solve(system, right)
    loads = right.shape[1] - coming.shape[1]
    return Response(solved[:, :loads], solved[:, loads:])
