"""Forces between the cables in a short circuit: finite elements beside the line-current formula and IEC 61914."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from fem.mesh import Complexes, Floats
from fem.solve import UnitFields, with_frequency
from fem.ties import Tie, drive
from studies.accuracy import SAFETY
from studies.bonding import ties_with_cross_bonds
from studies.cross_section import CrossSection, PlacedCable
from studies.fault_currents import Fault
from studies.force_waves import AlternatingForces, OffsetForces, Peak, mixed_forces
from studies.formulas.forces import (
    alternating_line_force,
    flat_middle_force,
    flat_outer_force,
    mean_line_force,
    trefoil_force,
    two_conductor_force,
)
from studies.parts import CONDUCTOR, part_name
from studies.two_meshes import Pair, solve_pair

STATIC_FREQUENCY = 1e-3
"""Frequency that stands for direct current: eddy currents of metal of any size here are below 1e-4 of their source.
[Hz]"""
STRAIGHT = (
    "Forces per metre of straight parallel cables; at bends, ends and between cleats they differ, and cleats and "
    "cables answer with their own dynamics."
)
SAME_SPACING = 0.02
"""Spacings that differ by less than this share are one formation of the standard. [-]"""

LARGE = 0.05
"""Difference to the standard from which on it is accounted for. [-]"""
CLOSE = 4.0
"""Axis distance in diameters of the conductors below which proximity moves the force by a per cent or more. [-]"""
MAGNETIC = 1.5
"""Relative permeability from which on metal counts as steel. [-]"""


@dataclass(frozen=True)
class CableForce:
    """Short-circuit force on one cable per metre."""

    cable: PlacedCable
    mean: tuple[float, float]
    """Mean over a cycle of sinusoids of amplitude ip. [N/m]"""
    double: tuple[complex, complex]
    """Its part at twice the frequency, amplitude. [N/m]"""
    alternating: Peak
    """Greatest force of sinusoids of amplitude ip, what IEC 61914 is about."""
    alternating_error: float
    """Estimate of the error of its magnitude. [N/m]"""
    offset: Peak
    """Greatest force with the decaying offset, whose largest current is ip, over all inception angles."""
    offset_error: float
    """Estimate of the numerical error of its magnitude. [N/m]"""
    offset_with_one_field: tuple[float, float]
    """The same with the field of alternating current for all, then with that of direct current for all: how much it
    matters that eddy currents answer to the two in different ways. [N/m]"""
    on_conductor: float
    """Greatest force of sinusoids on the conductor alone; the rest is on the cable's layers of metal. [N/m]"""
    line_force: float
    """Greatest force of sinusoids as line currents, no metal near. [N/m]"""
    standard_force: float | None
    """Value of IEC 61914, for its formations. [N/m]"""
    standard: str
    """Which formula of the standard, or why none."""
    current: float
    """Amplitude of the alternating current of this cable where that of its phase is ip: ip, or its share. [A]"""


@dataclass(frozen=True)
class FaultForces:
    """Forces of one fault."""

    fault: Fault
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


def fault_forces(
    section: CrossSection,
    fault: Fault,
    fields: Pair[UnitFields] | None = None,
    static: Pair[UnitFields] | None = None,
) -> FaultForces:
    """Forces of a fault on the cables that carry it.

    Parameters
    ----------
    section : CrossSection
        The cross-section; currents of its own are replaced by those of the fault.
    fault : Fault
        Which phases, ip and R/X.
    fields : Pair of UnitFields, optional
        The cross-section solved on two meshes; it is solved where not given. The reluctivity of these fields is kept
        for direct current.
    static : Pair of UnitFields, optional
        The same for direct currents, `static_fields` of these; for several faults of one cross-section.

    Notes
    -----
    Exact but for the mesh: the forces of sinusoids, with skin and proximity effect, parallel cables, screens, bonds and
    the eddy currents of linear metal. With the offset the currents are sqrt2 Re[I e^{j psi} (e^{jwt} - e^{-t/tau})],
    and J x B is taken of the sum of two fields: the alternating one, and that of direct currents, which each conductor
    carries to the amount that cancels its alternating current at t = 0. Approximate in that: the transients of eddy
    currents, screens and parallel cables, which begin at zero too, are left out, and the eddy currents of the decay
    itself (time steps from rest gave 0.1 % to 1.5 % more); steel keeps its permeability at kA.
    """
    pair = solve_pair(section) if fields is None else fields
    cables = tuple(cable for cable in section.cables if (cable.circuit, cable.phase) in fault.phasors())
    still = static_fields(pair) if static is None else static
    now = _solved(section, fault, pair.now, still.now, cables)
    before = _solved(section, fault, pair.before, still.before, cables)
    alternating, previous = now.alternating.peaks(), before.alternating.peaks()
    offset, previous_offset = now.offset.peaks(), before.offset.peaks()
    one_field = [[peak.magnitude for peak in one.peaks()] for one in now.one_field]
    inner = now.conductors.peaks()
    line = _line_forces(section, fault, cables)
    results = []
    for k, cable in enumerate(cables):
        value, name = standard_force(cables, k, fault)
        results.append(
            CableForce(
                cable,
                (float(now.alternating.mean[k, 0]), float(now.alternating.mean[k, 1])),
                (complex(now.alternating.double[k, 0]), complex(now.alternating.double[k, 1])),
                alternating[k],
                _error(alternating[k], previous[k]),
                offset[k],
                _error(offset[k], previous_offset[k]),
                (one_field[0][k], one_field[1][k]),
                inner[k].magnitude,
                line[k].magnitude,
                value,
                name,
                float(now.carried[k]),
            )
        )
    magnetic = any(complex(part.material.relative_permeability) != 1 for part in section.parts)
    balance = None if magnetic else _balance(now.everything, alternating)
    return FaultForces(fault, tuple(results), now.alternating, now.offset, balance, force_cautions(section, fault))


def static_fields(fields: Pair[UnitFields]) -> Pair[UnitFields]:
    """Fields of direct currents on the same two meshes, with the same reluctivity."""
    return Pair(
        now=with_frequency(fields.now, STATIC_FREQUENCY), before=with_frequency(fields.before, STATIC_FREQUENCY)
    )


def standard_force(cables: tuple[PlacedCable, ...], which: int, fault: Fault) -> tuple[float | None, str]:
    """Value of IEC 61914 for one of the cables of a fault [N/m], and which of its formulas; None where it has none."""
    axes = np.array([cable.axis for cable in cables])
    if len(cables) == 2:
        return float(
            two_conductor_force(fault.peak_current, float(np.linalg.norm(axes[0] - axes[1])))
        ), "two conductors"
    if len(cables) != 3 or not fault.is_three_phase:
        return None, "parallel cables: the standard has no value"
    gaps = {pair: float(np.linalg.norm(axes[pair[0]] - axes[pair[1]])) for pair in itertools.combinations(range(3), 2)}
    short, medium, long = sorted(gaps.values())
    if long < short * (1 + SAME_SPACING):
        return float(trefoil_force(fault.peak_current, sum(gaps.values()) / 3)), "trefoil"
    if abs(long / (short + medium) - 1) < SAME_SPACING / 10 and medium < short * (1 + SAME_SPACING):
        spacing = (short + medium) / 2
        far = max(gaps, key=lambda pair: gaps[pair])
        if which in far:
            return float(flat_outer_force(fault.peak_current, spacing)), "flat, outer"
        return float(flat_middle_force(fault.peak_current, spacing)), "flat, middle"
    return None, "neither a trefoil nor evenly flat: the standard has no value"


def standard_reasons(section: CrossSection, found: FaultForces, entry: CableForce) -> tuple[str, ...]:
    """Why IEC 61914 differs from the force of the same sinusoids on a cable; nothing where it differs by little."""
    if entry.standard_force is None or abs(entry.standard_force / entry.alternating.magnitude - 1) < LARGE:
        return ()
    reasons = []
    fault = found.fault
    metal = [part for part in section.parts if part.cable is None]
    steel = [part.name for part in metal if complex(part.material.relative_permeability).real > MAGNETIC]
    other = [part.name for part in metal if part.name not in steel]
    if steel:
        reasons.append(f"steel beside the cables ({', '.join(steel)}) draws them and carries their field")
    if other:
        reasons.append(f"eddy currents in metal beside the cables ({', '.join(other)}) push them off")
    layers = sorted({part.kind for part in section.parts if part.cable is not None and part.kind != CONDUCTOR})
    if layers:
        reasons.append(f"currents in {' and '.join(layers)} of the cables take a part of the field")
    axes = np.array([one.cable.axis for one in found.cables])
    away = np.linalg.norm(axes - np.array(entry.cable.axis), axis=1)
    nearest = float(away[away > 0].min()) / (2 * entry.cable.layers.conductor_radius)
    if nearest < CLOSE:
        reasons.append(
            f"conductors {nearest:.2g} diameters apart: the currents move within them (proximity), which line currents "
            "do not"
        )
    if fault.is_three_phase:
        reasons.append("the standard's factors are rounded down by 1 % to 2 %")
    return tuple(reasons)


def force_cautions(section: CrossSection, fault: Fault) -> tuple[str, ...]:
    """What must be said beside the forces of a fault."""
    found = [STRAIGHT]
    steel = [part for part in section.parts if complex(part.material.relative_permeability) != 1]
    if any(part.cable is None for part in steel):
        found.append(
            "Steel near the cables draws them towards itself as an image would. It is taken with the permeability of "
            "the study; at the current of a fault it saturates, and the pull is between this and that without steel."
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

    alternating: AlternatingForces
    conductors: AlternatingForces
    everything: AlternatingForces
    offset: OffsetForces
    one_field: tuple[OffsetForces, OffsetForces]
    carried: Floats
    """Amplitude of the alternating current in each cable. [A]"""


def _solved(
    section: CrossSection, fault: Fault, fields: UnitFields, static: UnitFields, cables: tuple[PlacedCable, ...]
) -> _Solved:
    names = fields.part_names
    of_cable = {part.name: part.cable.label for part in section.parts if part.cable is not None}
    conductors = {part.name: part.cable.label for part in section.parts if part.cable and part.kind == CONDUCTOR}
    whole, inner = _bodies(names, of_cable, cables), _bodies(names, conductors, cables)
    given = fault.tie_currents(section)
    rms = fault.peak_current / np.sqrt(2)
    ties = tuple(replace(tie, current=rms * given.get(k, 0j)) for k, tie in enumerate(section.ties))
    state = drive(fields.admittance, names, ties_with_cross_bonds(replace(section, ties=ties), fields))
    # each conductor's offset cancels its own alternating current at the beginning; other metal carries none
    alone = [Tie((name,), complex(state.currents[k]) if name in conductors else 0j) for k, name in enumerate(names)]
    mixed = mixed_forces((fields, state.voltages), (static, drive(static.admittance, names, alone).voltages))
    ratio, scale = fault.resistance_over_reactance, 1 / fault.largest_factor() ** 2
    one, other = (_scaled(alike.of_offset(whole, ratio), scale) for alike in mixed.with_one_field())
    carried = np.array([abs(state.currents[names.index(part_name(c.circuit, c.position, CONDUCTOR))]) for c in cables])
    return _Solved(
        mixed.of_alternating(whole),
        mixed.of_alternating(inner),
        mixed.of_alternating(np.eye(len(names))),
        _scaled(mixed.of_offset(whole, ratio), scale),
        (one, other),
        np.sqrt(2) * carried,
    )


def _bodies(names: tuple[str, ...], label_of: dict[str, str], cables: tuple[PlacedCable, ...]) -> Floats:
    rows = [[1.0 if label_of.get(name) == cable.label else 0.0 for name in names] for cable in cables]
    return np.array(rows, dtype=np.float64)


def _scaled(forces: OffsetForces, factor: float) -> OffsetForces:
    return OffsetForces(
        factor * forces.mean_ac,
        factor * forces.double_ac,
        factor * forces.plain,
        factor * forces.turned,
        factor * forces.mean_dc,
        factor * forces.double_dc,
        forces.resistance_over_reactance,
    )


def _error(now: Peak, before: Peak) -> float:
    return SAFETY * abs(now.magnitude - before.magnitude)


def _balance(everything: AlternatingForces, peaks: tuple[Peak, ...]) -> float:
    left = np.abs(everything.mean.sum(axis=0)) + np.abs(everything.double.sum(axis=0))
    return float(np.hypot(*left) / max(peak.magnitude for peak in peaks))


def _line_forces(section: CrossSection, fault: Fault, cables: tuple[PlacedCable, ...]) -> tuple[Peak, ...]:
    """Line currents at the axes, parallel cables sharing equally."""
    phasors = fault.phasors()
    count = {key: sum((cable.circuit, cable.phase) == key for cable in cables) for key in phasors}
    keys = [(cable.circuit, cable.phase) for cable in cables]
    currents: Complexes = np.array([fault.peak_current / np.sqrt(2) * phasors[key] / count[key] for key in keys])
    axes = [cable.axis for cable in cables]
    return AlternatingForces(mean_line_force(axes, currents), alternating_line_force(axes, currents)).peaks()
