"""What a study asks beyond its own cross-section: the route, charging currents, forces of a fault."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from studies.accuracy import Progress
from studies.comparison.charging import charging_results
from studies.comparison.electrical import sequence_matrix
from studies.comparison.faults import force_rows, study_fault_forces
from studies.comparison.solution import Solution
from studies.decided import (
    ChargingResult,
    FaultForceResult,
    RouteCircuitResult,
    RouteResult,
    RouteSectionResult,
    TranspositionResult,
)
from studies.forces import FaultForces
from studies.phases import LINES
from studies.route.lines import Stage, ports_of, route_of
from studies.route.maps import phase_currents_of, section_maps
from studies.route.profile import worst_sections
from studies.route.sections import Route, line_state, tied_impedance
from studies.route.supply import CurrentLoad, balanced_voltages, deliver
from studies.route.transposition import compare_transpositions
from studies.spectrum import fundamental
from studies.study import Study


@dataclass(frozen=True)
class Decisions:
    """Everything asked beyond the cross-section, with what the figures need."""

    route: RouteResult | None
    stages: tuple[Stage, ...]
    charging: tuple[ChargingResult, ...]
    faults: tuple[FaultForceResult, ...]
    fault_forces: tuple[FaultForces, ...]


def decisions(study: Study, solution: Solution, tell: Progress) -> Decisions:
    """Route, charging currents and fault forces of a study, as far as it asks for them."""
    route, stages = _route(study, solution, tell)
    forces = study_fault_forces(study, solution, tell)
    return Decisions(route, stages, charging_results(study, solution, tell), tuple(force_rows(forces)), forces)


def _route(study: Study, solution: Solution, tell: Progress) -> tuple[RouteResult | None, tuple[Stage, ...]]:
    if not study.route:
        return None, ()
    tell("following the route")
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    maps = section_maps(solution.section, solution.solved.fields, receptors if len(receptors) else None)
    stages = tuple(
        Stage(section.length, maps, dict(section.phases), 0, f"section {k}") for k, section in enumerate(study.route, 1)
    )
    currents = phase_currents_of(solution.section)
    route = route_of(stages, currents)
    circuits = [
        _route_circuit(study, route, circuit.name, solution)
        for circuit in study.circuits
        if set(LINES) <= set(circuit.phases) and fundamental(study, circuit) == solution.frequency
    ]
    worst = [
        RouteSectionResult(study.receptors[k].name, entry.name, entry.start, entry.end, entry.field)
        for k, entry in enumerate(worst_sections(route))
    ]
    return RouteResult(float(route.length), tuple(circuits), tuple(worst)), stages


def _route_circuit(study: Study, route: Route, name: str, solution: Solution) -> RouteCircuitResult:
    """Voltage drop, unbalance and what transposition would buy for one circuit of the route."""
    ports = ports_of(route, name)
    impedance = tied_impedance(route, ports)
    sequence = sequence_matrix(impedance)
    state = line_state(route)
    drops = np.array([state.voltages[k] for k in ports])
    mean = float(np.abs(drops).mean())
    delivered = None
    transposed: tuple[TranspositionResult, ...] = ()
    if study.supply is not None:
        supply = balanced_voltages(study.supply.voltage)
        own = phase_currents_of(solution.section)
        load = CurrentLoad((own[name, "L1"], own[name, "L2"], own[name, "L3"]))
        delivered = deliver(route, name, supply, load)
        maps = section_maps(solution.section, solution.solved.fields)
        transposed = tuple(
            TranspositionResult(
                transpositions=entry.transpositions,
                at_m=tuple(float(x) for x in entry.at),
                inequality=float(entry.inequality),
                coupling=float(entry.coupling),
                v2_over_v1=float(entry.delivered.negative_sequence),
            )
            for entry in compare_transpositions(maps, name, float(route.length), supply, load, currents=own)
        )
    return RouteCircuitResult(
        circuit=name,
        drop_v=tuple(complex(drop) for drop in drops),
        mean_drop_v=mean,
        phase_impedance_ohm=tuple(tuple(complex(z) for z in row) for row in impedance),
        z1_ohm=complex(sequence[1, 1]),
        z21_over_z11=float(abs(sequence[2, 1] / sequence[1, 1])),
        v2_over_v1=None if delivered is None else float(delivered.negative_sequence),
        v0_over_v1=None if delivered is None else float(delivered.zero_sequence),
        nema_unbalance=None if delivered is None else float(delivered.largest_deviation),
        transpositions=transposed,
    )
