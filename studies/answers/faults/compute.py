"""Forces of the short circuits that a study states."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from fem.solve import UnitFields
from studies.answers.faults.currents import ShortCircuit, fault_of
from studies.answers.faults.forces import CableForce, FaultForces, fault_forces
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
from studies.answers.faults.steel import MAGNETIC, FaultFields, fault_fields
from studies.formulas.forces import two_phase_current
from studies.section.parts import CrossSection
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair, solve_pair
from studies.study.circuits import Circuit
from studies.study.decisions import Fault
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.study.phases import LINES
from studies.text.failures import guarded
from studies.text.progress import Progress

PEAK_RATIO = 0.3
"""R/X taken where a fault states its peak current alone; common practice, no source. [-]"""
LARGE = 0.05
"""Difference to the standard from which on it is accounted for. [-]"""
CLOSE = 4.0
"""Axis distance in diameters of the conductors below which proximity moves the force by a per cent or more. [-]"""


@dataclass(frozen=True)
class PairForce:
    """Greatest force of a two-phase fault, to find the worst pair of phases by."""

    forces: FaultForces
    worst: CableForce
    """The cable with the greatest force to design for."""


@dataclass(frozen=True)
class StatedFault:
    """One fault of the study: the three-phase one where there are three phases, and every two-phase one."""

    statement: Fault
    three_phase: FaultForces | None
    pairs: tuple[PairForce, ...]
    """Worst first."""

    def faults(self) -> tuple[FaultForces, ...]:
        """All of them, the three-phase one first."""
        first = () if self.three_phase is None else (self.three_phase,)
        return (*first, *(pair.forces for pair in self.pairs))

    def reported(self) -> tuple[FaultForces, ...]:
        """The three-phase fault and the worst pair."""
        return self.faults()[: len(self.faults()) - len(self.pairs) + 1]


def stated_faults(study: Study, solution: Solution, report_progress: Progress) -> tuple[StatedFault, ...]:
    """Forces of every stated fault."""
    found = []
    fields = None
    for entry in study.faults:
        circuit = next(c for c in study.circuits if entry.circuit in (None, c.name))
        report_progress(f"computing the forces of the fault on {circuit.name}")
        if fields is None:
            fields = fault_fields(solution.section, _fields(solution))
        lines = tuple(line for line in LINES if line in circuit.phases)
        of = partial(_forces, entry, circuit, solution, fields)
        stated = guarded(f"forces of a fault in {circuit.name}", partial(_stated, entry, lines, of), None)
        found += [] if stated is None else [stated]
    return tuple(found)


def _stated(entry: Fault, lines: tuple[str, ...], of: Callable[[tuple[str, ...]], FaultForces]) -> StatedFault:
    pairs = sorted(
        (_pair(of(two)) for two in itertools.combinations(lines, 2)), key=lambda pair: -pair.worst.design_force[0]
    )
    return StatedFault(entry, of(LINES) if lines == LINES else None, tuple(pairs))


def _fields(solution: Solution) -> Pair[UnitFields]:
    """Fields of the study's own two last meshes, saturating steel with its permeability at low field to begin with."""
    if solution.section.steels():
        return solve_pair(solution.section)
    return Pair(now=solution.solved.fields, before=solution.estimate.coarser)


def _forces(
    entry: Fault, circuit: Circuit, solution: Solution, fields: FaultFields, phases: tuple[str, ...]
) -> FaultForces:
    if entry.peak_current is not None:
        fault = ShortCircuit(circuit.name, phases, entry.peak_current, PEAK_RATIO)
    else:
        assert entry.initial_current is not None
        assert entry.resistance_over_reactance is not None
        fault = fault_of(circuit.name, entry.initial_current, entry.resistance_over_reactance, phases)
    if not fault.is_three_phase and set(LINES) <= set(circuit.phases):  # what is stated is of the three-phase fault
        fault = replace(fault, peak_current=float(two_phase_current(fault.peak_current)))
    return fault_forces(solution.section, fault, fields)


def _pair(forces: FaultForces) -> PairForce:
    return PairForce(forces, max(forces.cables, key=lambda one: one.design_force[0]))


def force_rows(section: CrossSection, faults: tuple[StatedFault, ...]) -> tuple[FaultForceResult, ...]:
    """One row for each cable of the three-phase fault and of the worst two-phase one."""
    return tuple(
        _row(section, found, entry, stated.statement.cleat_spacing)
        for stated in faults
        for found in stated.reported()
        for entry in found.cables
    )


def design_rows(faults: tuple[StatedFault, ...]) -> tuple[FaultDesignResult, ...]:
    """One row for each stated fault: the force that its cleats must hold."""
    return tuple(_design(stated) for stated in faults)


def _design(stated: StatedFault) -> FaultDesignResult:
    forces, worst = max(
        ((found, entry) for found in stated.faults() for entry in found.cables),
        key=lambda pair: pair[1].design_force[0],
    )
    fault, spacing = forces.fault, stated.statement.cleat_spacing
    force, error = worst.design_force
    return FaultDesignResult(
        circuit=fault.circuit,
        fault=_name(fault),
        faulted_phases="-".join(fault.phases),
        peak_current_a=fault.peak_current,
        cable=worst.cable.label,
        phase=worst.cable.phase,
        force_n_per_m=force,
        force_error_n_per_m=error,
        standard_force_n_per_m=worst.standard_force,
        cleat_spacing_m=spacing,
        force_per_cleat_n=None if spacing is None else force * spacing,
        force_per_cleat_error_n=None if spacing is None else error * spacing,
        why=_why(stated, forces, worst),
    )


def _why(stated: StatedFault, forces: FaultForces, worst: CableForce) -> str:
    """The fault and the bound that give the design force, in words."""
    words = "the only fault of two phases"
    if stated.three_phase is not None and forces is stated.three_phase:
        words = "the three-phase fault exceeds the worst two-phase one"
    elif stated.three_phase is not None:
        words = "the worst two-phase fault exceeds the three-phase one"
    if worst.steel_exceeded:
        bound = "with" if worst.design_force[0] == worst.offset.magnitude else "without"
        words += f"; steel would saturate, and the force {bound} it is the larger bound"
    return words


def _name(fault: ShortCircuit) -> str:
    return f"{fault.circuit}, {'three' if fault.is_three_phase else 'two'}-phase"


def pair_rows(faults: tuple[StatedFault, ...]) -> tuple[FaultPairResult, ...]:
    """One row for each two-phase fault, worst first."""
    return tuple(
        FaultPairResult(
            circuit=pair.forces.fault.circuit,
            peak_current_a=pair.forces.fault.peak_current,
            faulted_phases="-".join(pair.forces.fault.phases),
            greatest_force_n_per_m=pair.worst.offset.magnitude,
            greatest_force_error_n_per_m=float(pair.worst.offset_error),
            cable=pair.worst.cable.label,
            worst=number == 0,
        )
        for stated in faults
        for number, pair in enumerate(stated.pairs)
    )


def _row(section: CrossSection, found: FaultForces, entry: CableForce, spacing: float | None) -> FaultForceResult:
    fault = found.fault
    standard = entry.standard_force
    return FaultForceResult(
        fault=_name(fault),
        peak_current_a=fault.peak_current,
        cable=entry.cable.label,
        phase=entry.cable.phase,
        peak_force_n_per_m=entry.offset.magnitude,
        peak_force_error_n_per_m=float(entry.offset_error),
        fx_n_per_m=float(entry.offset.force[0]),
        fy_n_per_m=float(entry.offset.force[1]),
        alternating_peak_force_n_per_m=entry.alternating.magnitude,
        mean_fx_n_per_m=float(entry.mean[0]),
        mean_fy_n_per_m=float(entry.mean[1]),
        line_force_n_per_m=float(entry.line_force),
        standard_force_n_per_m=standard,
        standard=entry.standard,
        circuit=fault.circuit,
        faulted_phases="-".join(fault.phases),
        cable_peak_current_a=entry.current,
        direction_deg=math.degrees(math.atan2(entry.offset.force[1], entry.offset.force[0])),
        alternating_peak_force_error_n_per_m=float(entry.alternating_error),
        standard_difference=None if standard is None else standard / entry.alternating.magnitude - 1,
        standard_difference_reason="; ".join(_standard_reasons(section, found, entry)),
        cleat_spacing_m=spacing,
        force_per_cleat_n=None if spacing is None else entry.offset.magnitude * spacing,
        force_without_steel_n_per_m=entry.without_steel,
        force_without_steel_error_n_per_m=entry.without_steel_error,
        steel_mean_b_t=entry.steel_flux_density,
        steel_exceeded=entry.steel_exceeded,
    )


def _standard_reasons(section: CrossSection, found: FaultForces, entry: CableForce) -> tuple[str, ...]:
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
