"""Forces of the short circuits that a study states."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import partial

from fem.solve import UnitFields
from studies.accuracy import Progress
from studies.comparison.solution import Solution
from studies.decided import FaultForceResult
from studies.fault_currents import Fault, fault_of
from studies.forces import FaultForces, fault_forces, static_fields
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
    greatest: float
    """With the offset, of all cables. [N/m]"""
    cable: str
    """Label of the cable on which it acts."""


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
        pairs = sorted((_pair(of(two)) for two in itertools.combinations(lines, 2)), key=lambda p: -p.greatest)
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
    worst = max(forces.cables, key=lambda one: one.offset.magnitude)
    return PairForce(forces, worst.offset.magnitude, worst.cable.label)


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
