"""Forces of the short circuits that a study states."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import partial

from fem.solve import UnitFields
from studies.accuracy import Progress
from studies.comparison.solution import Solution
from studies.cross_section import CrossSection
from studies.decided import FaultForceResult, FaultPairResult
from studies.fault_currents import Fault, fault_of
from studies.forces import CableForce, FaultForces, fault_forces, standard_reasons, static_fields
from studies.model.decisions import Fault as FaultStatement
from studies.phases import LINES
from studies.study import Study
from studies.two_meshes import Pair, solve_pair

PEAK_RATIO = 0.3
"""R/X taken where a fault states its peak current alone; common practice, no source. [-]"""


@dataclass(frozen=True)
class PairForce:
    """Greatest force of a two-phase fault, to find the worst pair of phases by."""

    forces: FaultForces
    worst: CableForce
    """The cable with the greatest force, with the offset."""


@dataclass(frozen=True)
class StatedFault:
    """One fault of the study: the three-phase one where there are three phases, and every two-phase one."""

    statement: FaultStatement
    three_phase: FaultForces | None
    pairs: tuple[PairForce, ...]
    """Worst first."""

    def reported(self) -> tuple[FaultForces, ...]:
        """The three-phase fault and the worst pair."""
        first = () if self.three_phase is None else (self.three_phase,)
        return (*first, self.pairs[0].forces)


def stated_faults(study: Study, solution: Solution, tell: Progress) -> tuple[StatedFault, ...]:
    """Forces of every stated fault."""
    found = []
    fields = static = None
    for entry in study.faults:
        circuit = next(c for c in study.circuits if entry.circuit in (None, c.name))
        tell(f"shaking {circuit.name} in a fault")
        if fields is None or static is None:
            fields = _fields(solution)
            static = static_fields(fields)
        lines = tuple(line for line in LINES if line in circuit.phases)
        of = partial(_forces, entry, circuit.name, solution, fields, static)
        pairs = sorted(
            (_pair(of(two)) for two in itertools.combinations(lines, 2)), key=lambda pair: -pair.worst.offset.magnitude
        )
        found.append(StatedFault(entry, of(LINES) if lines == LINES else None, tuple(pairs)))
    return tuple(found)


def _fields(solution: Solution) -> Pair[UnitFields]:
    """Fields of the study's own two last meshes; saturating steel is taken with its permeability at low field."""
    if solution.section.steels():
        return solve_pair(solution.section)
    return Pair(now=solution.solved.fields, before=solution.estimate.coarser)


def _forces(
    entry: FaultStatement,
    circuit: str,
    solution: Solution,
    fields: Pair[UnitFields],
    static: Pair[UnitFields],
    phases: tuple[str, ...],
) -> FaultForces:
    if entry.peak_current is not None:
        fault = Fault(circuit, phases, entry.peak_current, PEAK_RATIO)
    else:
        assert entry.initial_current is not None
        assert entry.resistance_over_reactance is not None
        fault = fault_of(circuit, entry.initial_current, entry.resistance_over_reactance, phases)
    return fault_forces(solution.section, fault, fields, static)


def _pair(forces: FaultForces) -> PairForce:
    return PairForce(forces, max(forces.cables, key=lambda one: one.offset.magnitude))


def force_rows(section: CrossSection, faults: tuple[StatedFault, ...]) -> tuple[FaultForceResult, ...]:
    """One row for each cable of the three-phase fault and of the worst two-phase one."""
    return tuple(
        _row(section, found, entry, stated.statement.cleat_spacing)
        for stated in faults
        for found in stated.reported()
        for entry in found.cables
    )


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
        fault=f"{fault.circuit}, {'three' if fault.is_three_phase else 'two'}-phase",
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
        standard_difference_reason="; ".join(standard_reasons(section, found, entry)),
        cleat_spacing_m=spacing,
        force_per_cleat_n=None if spacing is None else entry.offset.magnitude * spacing,
    )
