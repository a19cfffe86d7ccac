"""Currents and fields of any laying from the nominal solution: reciprocity in place of another mesh."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from fem.field import FieldProbe
from fem.kept import kept_for
from fem.moved_currents import ORDERS, Movable, MovedCurrents, move_powers, moved_currents
from fem.solve import UnitFields, solve_unit_voltages
from fem.ties import Tie
from studies.answers.laying.lot import MATERIALS, Layings, scattered_currents
from studies.answers.laying.varied import with_materials
from studies.answers.net_currents.superposed import NetAtPoints
from studies.section.parts import CrossSection
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.laying import LayingTolerance

CHUNK = 256
"""Layings that are computed at a time."""


@dataclass(frozen=True)
class Response:
    """Impedances and fields at one state of the materials, or how they change with one of them."""

    impedance: Complexes
    """Z of all parts, u = Z i, shape (N, N). [ohm/m]"""
    field: Complexes
    """(Bx, By) at the points per ampere in each part alone, shape (N, 2 q). [T/A]"""


@dataclass(frozen=True)
class Reciprocal:
    """What one frequency of a study answers to a laying."""

    section: CrossSection
    names: tuple[str, ...]
    """Of the N parts."""
    ties: tuple[Tie, ...]
    """With the currents of cross-bonded screens, which stay as drawn."""
    residual: str
    omega: float
    """[rad/s]"""
    moved: MovedCurrents
    nominal: Response
    slopes: Mapping[str, tuple[Response, Response]]
    """First and second order of the change with each material that is spread, per deviate."""
    of_moves: Complexes
    """(Bx, By) per multipole of each cable, shape (M 2 ORDERS, 2 q). [T/(A m^n)]"""

    @cached_property
    def group(self) -> Ints:
        """Index of the cable of each part, -1 for metal that does not move, shape (N,)."""
        labels = [cable.label for cable in self.section.cables]
        cable = {part.name: part.cable for part in self.section.parts}
        return np.array([-1 if (own := cable[name]) is None else labels.index(own.label) for name in self.names])

    def currents(self, layings: Layings) -> Complexes:
        """Currents of all parts, shape (s, N). [A]

        Parts alone in their tie have given currents. The others share voltages v: with Y the inverse of their
        impedances, i = Y (P v - Z_ad i_d), where i_d are the given ones; P' i is given, or v + z P' i = 0.
        """
        phases = scattered_currents(self.section, layings.phase_factors, self.residual)
        totals = np.repeat(np.array([[tie.current for tie in self.ties]], dtype=np.complex128), len(phases), axis=0)
        totals[:, [phase.tie for phase in self.section.phases]] = phases
        found = np.zeros((len(phases), len(self.names)), dtype=np.complex128)
        shared: list[int] = []
        for k, tie in enumerate(self.ties):
            if len(tie.parts) == 1 and tie.impedance is None:
                found[:, self.names.index(tie.parts[0])] = totals[:, k]
            else:
                shared.append(k)
        for first in range(0, len(phases), CHUNK) if shared else ():
            some = slice(first, first + CHUNK)
            self.share(found[some, :, None], totals[some, :, None], shared, self.impedances(layings, some))
        return found

    def share(self, found: Complexes, totals: Complexes, shared: list[int], impedances: Complexes) -> None:
        """Fill in the currents (s, N, k) of the parts of some ties, for k cases.

        The ties are `shared`, by number, with totals (s, ties, k) [A]; impedances are those of all
        parts, shape (s, N, N). [ohm/m]
        """
        active = [self.names.index(part) for k in shared for part in self.ties[k].parts]
        member = np.zeros((len(active), len(shared)))
        for column, k in enumerate(shared):
            for part in self.ties[k].parts:
                member[active.index(self.names.index(part)), column] = 1.0
        admittance = np.linalg.inv(impedances[:, active][:, :, active])
        driven = admittance @ (impedances[:, active] @ found)
        tied = np.asarray(member.T @ admittance @ member, dtype=np.complex128)
        returned = member.T @ driven
        right = totals[:, shared] + returned
        for column, k in enumerate(shared):
            closing = self.ties[k].impedance
            if closing is not None:
                tied[:, column] *= closing
                tied[:, column, column] += 1.0
                right[:, column] = closing * returned[:, column]
        voltages = np.linalg.solve(tied, right)
        found[:, active] = admittance @ (member @ voltages) - driven

    def per_part(self, layings: Layings, some: slice) -> Complexes:
        """(Bx, By) at the points per ampere in each part where it lies, shape (s, N, 2 q). [T/A]"""
        moves = layings.moves[some]
        found = np.repeat(self.nominal.field[None], len(moves), axis=0)
        for name, (first, second) in self.slopes.items():
            z = layings.deviates[name][some, None, None]
            found += z * first.field + z**2 * second.field
        own = self.of_moves.reshape(len(self.section.cables), 2 * ORDERS, -1)
        moved = np.einsum("skn,knq->skq", move_powers(moves), own)
        cable = np.flatnonzero(self.group >= 0)
        found[:, cable] += moved[:, self.group[cable]]
        return found

    def impedances(self, layings: Layings, some: slice) -> Complexes:
        """Impedances of all parts, shape (s, N, N). [ohm/m]"""
        moves = layings.moves[some]
        found = np.repeat(self.nominal.impedance[None], len(moves), axis=0)
        for name, (first, second) in self.slopes.items():
            z = layings.deviates[name][some, None, None]
            found += z * first.impedance + z**2 * second.impedance
        if moves.any():
            between, to_fixed = self.moved.linkage_changes(moves)
            cable, still = np.flatnonzero(self.group >= 0), np.flatnonzero(self.group < 0)
            own = self.group[cable]
            found[:, cable[:, None], cable] += 1j * self.omega * between[:, own][:, :, own]
            order = [self.moved.fixed.index(self.names[k]) for k in still]
            mutual = 1j * self.omega * to_fixed[:, own][:, :, order]
            found[:, cable[:, None], still] += mutual
            found[:, still[:, None], cable] += mutual.transpose(0, 2, 1)
        return found

    def squared_fields(self, layings: Layings, currents: Complexes, net: NetAtPoints | None = None) -> Floats:
        """|Bx|^2 + |By|^2 at the points for the currents of all parts (s, N) [A], shape (s, q). [T^2]

        net: Net currents that are added, as drawn.
        """
        pieces = []
        for first in range(0, len(currents), CHUNK):
            some = slice(first, first + CHUNK)
            own = currents[some]
            field = own @ self.nominal.field
            for name, (slope, bend) in self.slopes.items():
                z = layings.deviates[name][some, None]
                field += (z * own) @ slope.field + (z**2 * own) @ bend.field
            if layings.moves[some].any():
                carried = np.stack([own[:, self.group == k].sum(axis=1) for k in range(len(self.section.cables))], 1)
                weights = carried[:, :, None] * move_powers(layings.moves[some])
                field += weights.reshape(len(own), -1) @ self.of_moves
            vectors = field.reshape(len(own), -1, 2)
            pieces.append((np.abs(vectors) ** 2).sum(axis=2) if net is None else net.squared(vectors))
        return np.concatenate(pieces)


def reciprocal_of(study: Study, solution: Solution, points: Floats) -> Reciprocal:
    """The answer of one frequency to any laying, with the field at points (q, 2) [m].

    Steel that saturates keeps the reluctivity that it has as drawn.
    """
    asked = study.laying_tolerance or LayingTolerance()
    section, fields = solution.section, solution.solved.fields
    groups = [
        Movable(f"{cable.label}.conductor", tuple(part.name for part in section.parts if part.cable == cable))
        for cable in section.cables
    ]
    axes = np.array([cable.axis for cable in section.cables])
    # a search of orders and the layings themselves ask for the same
    moved = kept_for(fields, "moved currents", lambda: moved_currents(fields, groups, axes))
    probe = solution.solved.probe
    columns = moved.potentials.reshape(-1, len(groups) * 2 * ORDERS)
    of_moves = np.array([probe.flux_density(np.ascontiguousarray(own), points).ravel() for own in columns.T])
    nominal = _response(fields, probe, points)
    slopes = {}
    for name in MATERIALS:
        if getattr(asked, name) > 0:
            above, below = (_other(study, solution, {name: z}, points) for z in (1.0, -1.0))
            slopes[name] = _slopes(nominal, above, below)
    ties = ties_with_cross_bonds(section, fields)
    return Reciprocal(
        section, tuple(fields.part_names), ties, asked.residual, fields.omega, moved, nominal, slopes, of_moves
    )


def _response(fields: UnitFields, probe: FieldProbe, points: Floats) -> Response:
    impedance = np.linalg.inv(fields.admittance)
    field = [
        probe.flux_density(fields.potential(np.ascontiguousarray(impedance[:, k])), points).ravel()
        for k in range(len(impedance))
    ]
    return Response(np.asarray(impedance, dtype=np.complex128), np.array(field))


def _other(study: Study, solution: Solution, deviates: Mapping[str, float], points: Floats) -> Response:
    """The response with other materials, on the mesh of the solution."""
    own = solution.solved.fields
    section = with_materials(study, solution.section, deviates)
    before, now = solution.section.materials(), section.materials()
    ratio = np.ones(len(own.mesh.names), dtype=np.complex128)
    for k, name in enumerate(own.mesh.names):
        if name in now:
            ratio[k] = now[name].reluctivity / before[name].reluctivity
    parts = {part.name: (part.name,) for part in section.parts}
    reluctivity = own.reluctivity * ratio[own.mesh.regions]
    fields = solve_unit_voltages(own.mesh, now, section.frequency, parts, reluctivity=reluctivity, earth=own.earth)
    return _response(fields, FieldProbe(fields), points)


def _slopes(nominal: Response, above: Response, below: Response) -> tuple[Response, Response]:
    """First and second order in the deviate from the responses at one spread above and below."""
    pairs = [
        ((up - down) / 2, (up + down) / 2 - middle)
        for middle, up, down in (
            (nominal.impedance, above.impedance, below.impedance),
            (nominal.field, above.field, below.field),
        )
    ]
    return Response(pairs[0][0], pairs[1][0]), Response(pairs[0][1], pairs[1][1])
