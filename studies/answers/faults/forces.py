"""Forces between the cables in a short circuit: finite elements beside the line-current formula and IEC 61914."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from fem.ties import Tie, drive
from studies.answers.faults.currents import ShortCircuit
from studies.answers.faults.standard import standard_force
from studies.answers.faults.steel import (
    EDGES,
    FaultField,
    FaultFields,
    at_crest,
    fault_fields,
    flux_density,
    magnetic_parts,
)
from studies.answers.faults.waves import AlternatingForces, ForcePeak, OffsetForces, body_by_body, mixed_forces
from studies.formulas.forces import alternating_line_force, mean_line_force
from studies.section.parts import CrossSection, PlacedCable
from studies.solve.accuracy import SAFETY
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.error_floors import floored
from studies.solve.two_meshes import Pair, solve_pair
from studies.study.parts import CONDUCTOR, part_name

STRAIGHT = (
    "Forces per metre of straight parallel cables; at bends, ends and between cleats they differ, and cleats and "
    "cables answer with their own dynamics."
)
RIVALS = 0.1
"""Crests without steel within this share of the greatest are tried with the steel as it is there: a middle cable is
thrown to either side. [-]"""
SAME_CURRENTS = 0.05
"""Crests whose currents differ by less than this share of ip leave the steel the same. [-]"""


@dataclass(frozen=True)
class CableForce:
    """Short-circuit force on one cable per metre."""

    cable: PlacedCable
    mean: tuple[float, float]
    """Mean over a cycle of sinusoids of amplitude ip. [N/m]"""
    alternating: ForcePeak
    """Greatest force of sinusoids of amplitude ip, what IEC 61914 is about."""
    alternating_error: float
    """Estimate of the error of its magnitude. [N/m]"""
    offset: ForcePeak
    """Greatest force with the decaying offset, whose largest current is ip, over all inception angles."""
    offset_error: float
    """Estimate of the numerical error of its magnitude. [N/m]"""
    line_force: float
    """Greatest force of sinusoids as line currents, no metal near. [N/m]"""
    standard_force: float | None
    """Value of IEC 61914, for its formations. [N/m]"""
    standard: str
    """Which formula of the standard, or why none."""
    current: float
    """Amplitude of the alternating current of this cable where that of its phase is ip: ip, or its share. [A]"""
    without_steel: float | None
    """The greatest force with the offset as if no metal were magnetic; None where none is. [N/m]"""
    without_steel_error: float | None
    """[N/m]"""
    steel_flux_density: float | None
    """Mean over the area of the steel at the crest of the force. [T]"""
    steel_exceeded: bool
    """Whether steel of constant permeability would carry more there than steel can: the force is then between this and
    that without steel."""

    @property
    def design_force(self) -> tuple[float, float]:
        """The force that cleats must hold and its error: the larger bound where there are two. [N/m]"""
        own = self.offset.magnitude, self.offset_error
        if not self.steel_exceeded or self.without_steel is None or self.without_steel_error is None:
            return own
        return max(own, (self.without_steel, self.without_steel_error))


@dataclass(frozen=True)
class FaultForces:
    """Forces of one fault."""

    fault: ShortCircuit
    cables: tuple[CableForce, ...]
    """The cables that carry the fault, in their order."""
    alternating: AlternatingForces
    """On these cables, of sinusoids of amplitude ip."""
    offset: OffsetForces
    """On these cables, with the offset."""
    balance: float | None
    """|sum of the forces on all parts| over the greatest force: what action and reaction leave, an error of the mesh.
    None where matter is magnetised, on which the force is not computed. [-]"""
    cautions: tuple[str, ...]


def fault_forces(section: CrossSection, fault: ShortCircuit, fields: FaultFields | None = None) -> FaultForces:
    """Forces of a fault on the cables that carry it.

    section: The cross-section; currents of its own are replaced by those of the fault.
    fault: Which phases, ip and R/X.
    fields: The cross-section solved on two meshes, for several faults of one; it is solved where not given.

    Exact but for the mesh: the forces of sinusoids, with skin and proximity effect, parallel cables, screens, bonds and
    the eddy currents of linear metal. With the offset the currents are sqrt2 Re[I e^{j psi} (e^{jwt} - e^{-t/tau})],
    and J x B is taken of the sum of two fields: the alternating one, and that of direct currents, which each conductor
    carries to the amount that cancels its alternating current at t = 0. Approximate in that: the transients of eddy
    currents, screens and parallel cables, which begin at zero too, are left out, and the eddy currents of the decay
    itself (time steps from rest gave 0.1 % to 1.5 % more). Steel with a magnetisation curve has, for each cable, the
    reluctivity of the crest of its force, see `studies.answers.faults.steel.at_crest`.
    """
    fields = fault_fields(section, solve_pair(section)) if fields is None else fields
    cables = tuple(cable for cable in section.cables if (cable.circuit, cable.phase) in fault.phasors())
    given = fields.given.each(lambda field: _solved(section, fault, field, cables))
    bare = None if fields.bare is None else fields.bare.each(lambda field: _solved(section, fault, field, cables))
    if section.steels() and bare is not None:
        crests = _saturated_crests(section, fault, fields, bare, cables)
    else:
        peaks = given.now.offset.peaks(), given.now.alternating.peaks()
        crests = [_Crest(given, peak, other) for peak, other in zip(*peaks, strict=True)]
    forces = _cable_forces(section, fault, cables, crests, bare)
    waves = [one.solved.now for one in crests]
    magnetic = any(complex(part.material.relative_permeability) != 1 for part in section.parts)
    return FaultForces(
        fault,
        forces,
        AlternatingForces(
            np.array([one.alternating.mean[k] for k, one in enumerate(waves)]),
            np.array([one.alternating.double[k] for k, one in enumerate(waves)]),
        ),
        body_by_body([one.offset for one in waves]),
        None if magnetic else _balance(given.now.everything, tuple(one.alternating for one in crests)),
        force_cautions(section, fault, any(force.steel_exceeded for force in forces)),
    )


@dataclass(frozen=True)
class _Crest:
    """The crest of the force on a cable, and the state that it is in."""

    solved: Pair[_Solved]
    peak: ForcePeak
    """With the offset."""
    alternating: ForcePeak
    """Of sinusoids, at nearly the same currents."""


def _cable_forces(
    section: CrossSection,
    fault: ShortCircuit,
    cables: tuple[PlacedCable, ...],
    crests: Sequence[_Crest],
    bare: Pair[_Solved] | None,
) -> tuple[CableForce, ...]:
    """Force on each cable at its crest, beside that of line currents, of the standard and without steel (`bare`)."""
    solved = [one.solved for one in crests]
    line = _line_forces(section, fault, cables)
    errors = _errors(solved, [one.peak for one in crests], _with_offset)
    swings = _errors(solved, [one.alternating for one in crests], _of_sinusoids)
    without: Sequence[ForcePeak] = () if bare is None else bare.now.offset.peaks()
    without_errors = [] if bare is None else _errors([bare] * len(without), without, _with_offset).tolist()
    found = []
    for k, (cable, crest) in enumerate(zip(cables, crests, strict=True)):
        now, standard, steel = crest.solved.now, standard_force(cables, k, fault), _steel(section, crest)
        force = CableForce(
            cable=cable,
            mean=(float(now.alternating.mean[k, 0]), float(now.alternating.mean[k, 1])),
            alternating=crest.alternating,
            alternating_error=float(swings[k]),
            offset=crest.peak,
            offset_error=float(errors[k]),
            line_force=line[k].magnitude,
            standard_force=standard[0],
            standard=standard[1],
            current=float(now.carried[k]),
            without_steel=without[k].magnitude if without else None,
            without_steel_error=without_errors[k] if without else None,
            steel_flux_density=steel[0],
            steel_exceeded=steel[1],
        )
        found.append(force)
    return tuple(found)


def _saturated_crests(
    section: CrossSection,
    fault: ShortCircuit,
    fields: FaultFields,
    bare: Pair[_Solved],
    cables: tuple[PlacedCable, ...],
) -> list[_Crest]:
    """For each cable the greatest of its crests, the steel as the currents of that instant magnetise it."""
    states: list[tuple[Floats, Pair[_Solved]]] = []

    def state_of(currents: Floats) -> Pair[_Solved]:
        """Steel that is magnetised the other way round, or by nearly the same currents, is the same."""
        for known, solved in states:
            if min(np.abs(known - currents).max(), np.abs(known + currents).max()) < SAME_CURRENTS * fault.peak_current:
                return solved
        given = dict(zip(fields.given.now.alternating.part_names, currents.tolist(), strict=True))
        solved = fields.given.each(
            lambda field: _solved(section, fault, at_crest(section, field.alternating, given), cables)
        )
        states.append((currents, solved))
        return solved

    found = []
    for k, rivals in enumerate(bare.now.offset.crests(RIVALS)):
        tried: dict[int, _Crest] = {}
        for rival in rivals:
            solved = state_of(bare.now.currents_at(rival))
            if id(solved) not in tried:
                peak = solved.now.offset.climbed(k, rival.angle, rival.inception)
                tried[id(solved)] = _Crest(solved, peak, solved.now.alternating.peak_towards(k, peak.force))
        found.append(max(tried.values(), key=lambda one: one.peak.magnitude))
    return found


def _steel(section: CrossSection, crest: _Crest) -> tuple[float | None, bool]:
    """Mean flux density of the steel at a crest [T], and whether a constant permeability is exceeded there."""
    names, curved = magnetic_parts(section), section.steels()
    if not names:
        return None, False
    fields, nodal = crest.solved.now.field.alternating, crest.solved.now.potential_at(crest.peak)
    constant = tuple(name for name in names if name not in curved)
    exceeded = bool(constant) and flux_density(fields, nodal, constant)[1] > EDGES
    return flux_density(fields, nodal, names)[0], exceeded


def force_cautions(section: CrossSection, fault: ShortCircuit, exceeded: bool = False) -> tuple[str, ...]:
    """Cautions beside the forces of a fault."""
    found = [STRAIGHT]
    steel = [part for part in section.parts if complex(part.material.relative_permeability) != 1]
    if exceeded:
        found.append(
            "At the current of this fault the steel would carry more than steel can with the constant permeability of "
            "the study. The force lies between that with this permeability and that without steel; both are given, and "
            "cleats are designed for the larger. A material with a magnetisation curve gives one force."
        )
    if section.steels():
        found.append(
            "Steel with a magnetisation curve is taken as the currents at the crest of the force magnetise it; time "
            "steps from rest with the same curve gave forces within 1.5 %."
        )
    if any(part.cable is not None for part in steel):
        found.append("A magnetic armour bears a part of the force that is not counted here: only J x B is.")
    if any(part.cable is None for part in section.parts):
        found.append(
            "With the offset the transients of eddy currents in trays are left out; time steps in trays of "
            "aluminium and of steel gave forces up to 1.5 % larger for it."
        )
    others = sorted({cable.circuit for cable in section.cables} - {fault.circuit})
    if others:
        found.append(f"Currents of the other circuits during the fault are left out: {', '.join(others)}.")
    return tuple(found)


@dataclass(frozen=True)
class _Solved:
    """Forces on the cables from one mesh."""

    field: FaultField
    voltages: tuple[Complexes, Complexes]
    """Of the parts, alternating and direct, rms of an amplitude of ip. [V/m]"""
    state: tuple[Complexes, Complexes]
    """Currents of the parts, alternating and direct, rms of an amplitude of ip. [A]"""
    scale: float
    """Amplitude of the alternating part of currents with an offset over ip. [-]"""
    resistance_over_reactance: float
    alternating: AlternatingForces
    everything: AlternatingForces
    offset: OffsetForces
    carried: Floats
    """Amplitude of the alternating current in each cable. [A]"""

    def currents_at(self, peak: ForcePeak) -> Floats:
        """Current of each part at a crest with offset, shape (N,). [A]"""
        return self._at(peak, *self.state)

    def potential_at(self, peak: ForcePeak) -> Floats:
        """A at the mesh's nodes at a crest with offset, shape (p,). [Wb/m]"""
        swinging, steady = self.voltages
        return self._at(peak, self.field.alternating.potential(swinging), self.field.steady.potential(steady))

    def _at(self, peak: ForcePeak, swinging: Complexes, steady: Complexes) -> Floats:
        decay = np.exp(-self.resistance_over_reactance * peak.angle)
        start = np.exp(1j * peak.inception)
        now: Floats = np.sqrt(2) * self.scale * np.real(start * (swinging * np.exp(1j * peak.angle) - decay * steady))
        return now


def _solved(section: CrossSection, fault: ShortCircuit, field: FaultField, cables: tuple[PlacedCable, ...]) -> _Solved:
    fields, static = field.alternating, field.steady
    names = fields.part_names
    of_cable = {part.name: part.cable.label for part in section.parts if part.cable is not None}
    conductors = {part.name for part in section.parts if part.cable and part.kind == CONDUCTOR}
    rows = [[1.0 if of_cable.get(name) == cable.label else 0.0 for name in names] for cable in cables]
    bodies = np.array(rows, dtype=np.float64)
    given = fault.tie_currents(section)
    rms = fault.peak_current / np.sqrt(2)
    ties = tuple(replace(tie, current=rms * given.get(k, 0j)) for k, tie in enumerate(section.ties))
    state = drive(fields.admittance, names, ties_with_cross_bonds(replace(section, ties=ties), fields))
    # each conductor's offset cancels its own alternating current at the beginning; other metal carries none
    alone = [Tie((name,), complex(state.currents[k]) if name in conductors else 0j) for k, name in enumerate(names)]
    still = drive(static.admittance, names, alone)
    mixed = mixed_forces((fields, state.voltages), (static, still.voltages))
    ratio, scale = fault.resistance_over_reactance, 1 / fault.largest_factor()
    carried = np.array([abs(state.currents[names.index(part_name(c.circuit, c.position, CONDUCTOR))]) for c in cables])
    return _Solved(
        field=field,
        voltages=(state.voltages, still.voltages),
        state=(state.currents, still.currents),
        scale=scale,
        resistance_over_reactance=ratio,
        alternating=mixed.of_alternating(bodies),
        everything=mixed.of_alternating(np.eye(len(names))),
        offset=mixed.of_offset(bodies, ratio).times(scale**2),
        carried=np.sqrt(2) * carried,
    )


def _errors(
    solved: Sequence[Pair[_Solved]], peaks: Sequence[ForcePeak], waves: Callable[[_Solved, ForcePeak], Floats]
) -> Floats:
    """Estimate of the error of the crests of all bodies, shape (n,). [N/m]

    Of the force vectors at the crest, as a magnitude may stay while the vector turns. A change may cross zero by
    chance: none is taken to be better than a share of the worst relative one of the fault.
    """
    force = np.array([waves(one.now, peak)[k] for k, (one, peak) in enumerate(zip(solved, peaks, strict=True))])
    rough = np.array([waves(one.before, peak)[k] for k, (one, peak) in enumerate(zip(solved, peaks, strict=True))])
    return floored(SAFETY * np.linalg.norm(force - rough, axis=1), np.linalg.norm(force, axis=1))


def _with_offset(one: _Solved, peak: ForcePeak) -> Floats:
    """Forces on all bodies at a crest with offset, shape (n, 2). [N/m]"""
    forces: Floats = one.offset.at(np.array([peak.angle]), peak.inception)[0]
    return forces


def _of_sinusoids(one: _Solved, peak: ForcePeak) -> Floats:
    """Forces on all bodies at a crest without offset, shape (n, 2). [N/m]"""
    forces: Floats = one.alternating.at(np.array([peak.angle]))[0]
    return forces


def _balance(everything: AlternatingForces, peaks: tuple[ForcePeak, ...]) -> float:
    left = np.abs(everything.mean.sum(axis=0)) + np.abs(everything.double.sum(axis=0))
    return float(np.hypot(*left) / max(peak.magnitude for peak in peaks))


def _line_forces(section: CrossSection, fault: ShortCircuit, cables: tuple[PlacedCable, ...]) -> tuple[ForcePeak, ...]:
    """Line currents at the axes, parallel cables sharing equally."""
    phasors = fault.phasors()
    count = {key: sum((cable.circuit, cable.phase) == key for cable in cables) for key in phasors}
    keys = [(cable.circuit, cable.phase) for cable in cables]
    currents: Complexes = np.array([fault.peak_current / np.sqrt(2) * phasors[key] / count[key] for key in keys])
    axes = [cable.axis for cable in cables]
    return AlternatingForces(mean_line_force(axes, currents), alternating_line_force(axes, currents)).peaks()
