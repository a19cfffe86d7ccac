"""Forces of the short circuits that a study states."""

from __future__ import annotations

from studies.accuracy import Progress
from studies.comparison.solution import Solution
from studies.decided import FaultForceResult
from studies.fault_currents import Fault, fault_of
from studies.forces import FaultForces, fault_forces
from studies.phases import LINES
from studies.study import Study
from studies.two_meshes import solve_pair

PEAK_RATIO = 0.3
"""R/X taken where a fault states its peak current alone; common practice, no source. [-]"""
TWO_PHASE = ("L1", "L3")
"""Phases of the two-phase fault: the outer ones of a flat formation in the order L1, L2, L3."""


def study_fault_forces(study: Study, solution: Solution, tell: Progress) -> tuple[FaultForces, ...]:
    """Forces of the three-phase and the two-phase fault of every stated fault."""
    found = []
    fields = None
    for entry in study.faults:
        name = entry.circuit or study.circuits[0].name
        tell(f"shaking {name} in a fault")
        fields = fields or solve_pair(solution.section)
        for phases in (LINES, TWO_PHASE):
            if entry.peak_current is not None:
                fault = Fault(name, phases, entry.peak_current, PEAK_RATIO)
            else:
                assert entry.initial_current is not None
                fault = fault_of(name, entry.initial_current, entry.resistance_over_reactance or PEAK_RATIO, phases)
            found.append(fault_forces(solution.section, fault, fields))
    return tuple(found)


def force_rows(forces: tuple[FaultForces, ...]) -> list[FaultForceResult]:
    """One row for each cable of each fault."""
    return [
        FaultForceResult(
            fault=f"{found.fault.circuit}, {'three' if found.fault.is_three_phase else 'two'}-phase",
            peak_current_a=found.fault.peak_current,
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
            standard_force_n_per_m=entry.standard_force,
            standard=entry.standard,
        )
        for found in forces
        for entry in found.cables
    ]
