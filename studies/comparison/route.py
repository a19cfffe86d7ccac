"""The route of a study: voltages, currents, losses and fields along the run, each beside its closed form."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fem.mesh import Complexes, Floats
from fem.ties import Tie
from studies.accuracy import Progress
from studies.comparison.delivery import delivered_result
from studies.comparison.electrical import sequence_matrix
from studies.comparison.limits import judge
from studies.comparison.run import Run, run_of
from studies.comparison.solution import Solution
from studies.parts import CONDUCTOR
from studies.phases import LINES
from studies.route.cross_sections import changes_of
from studies.route.lines import Line, SectionMaps, Stage
from studies.route.maps import phase_currents_of
from studies.route.profile import worst_sections
from studies.route.result import (
    RouteCircuitResult,
    RouteFieldResult,
    RouteLineResult,
    RouteResult,
    RouteSectionResult,
    RouteWorstResult,
    TranspositionResult,
)
from studies.route.solved import SolvedRoute, solve_route
from studies.route.transposition import Transposed
from studies.spectrum import fundamental
from studies.study import Study
from studies.two_meshes import Pair


@dataclass(frozen=True)
class RouteSolution:
    """The run by finite elements and by closed forms, for results and figures."""

    solved: SolvedRoute
    runs: Pair[Run]
    formula: Run


def route_solution(study: Study, solution: Solution, own: Pair[SectionMaps], tell: Progress) -> RouteSolution:
    """Solve and follow the route of a study that has one; `own` are the maps of its own cross-section."""
    tell("following the route")
    solved = solve_route(study, solution, own, tell)
    circuits = [
        circuit.name
        for circuit in study.circuits
        if set(LINES) <= set(circuit.phases) and fundamental(study, circuit) == solution.frequency
    ]
    currents = phase_currents_of(solution.section)

    def run(stages: tuple[Stage, ...], bonds: tuple[Tie, ...], maps: SectionMaps) -> Run:
        return run_of(study, circuits, currents, stages, bonds, maps)

    return RouteSolution(
        solved,
        Pair(
            now=run(solved.stages.now, solved.bonds, solved.own.now),
            before=run(solved.stages.before, solved.bonds, solved.own.before),
        ),
        run(solved.formula_stages, solved.formula_bonds, solved.own_formula),
    )


def route_result(study: Study, found: RouteSolution) -> RouteResult:
    """The numbers of a route as plain data."""
    now, formula = found.runs.now, found.formula
    ends, lengths = now.route.ends(), np.array([section.length for section in now.route.sections])
    worst = [
        RouteWorstResult(found.solved.receptors[k], entry.name, entry.start, entry.end, entry.field)
        for k, entry in enumerate(worst_sections(now.route))
        if np.isfinite(entry.field)
    ]
    return RouteResult(
        length_m=float(now.route.length),
        sections=tuple(_section(study, found, k, ends) for k in range(len(lengths))),
        circuits=tuple(_circuit(found, name) for name in now.impedances),
        lines=tuple(_line(found, k) for k in range(len(now.lines))),
        fields=tuple(_fields(found, ends)),
        worst_sections=tuple(worst),
        loss_w=float(lengths @ now.losses),
        loss_error_w=float(found.runs.of(lambda run: lengths @ run.losses)),
        formula_loss_w=float(lengths @ formula.losses),
    )


def _section(study: Study, found: RouteSolution, number: int, ends: Floats) -> RouteSectionResult:
    stage = found.runs.now.stages[number]
    return RouteSectionResult(
        section=stage.name,
        start_m=float(ends[number]),
        end_m=float(ends[number + 1]),
        phases={name: tuple(stage.orders.get(name, stage.maps.labels(name))) for name in stage.maps.circuits()},
        changes=changes_of(study.route[number]),
        loss_w_per_m=float(found.runs.now.losses[number]),
        loss_error_w_per_m=float(found.runs.of(lambda run: run.losses[number])),
        formula_loss_w_per_m=float(found.formula.losses[number]),
    )


def _fields(found: RouteSolution, ends: Floats) -> list[RouteFieldResult]:
    now = found.runs.now
    errors = found.runs.of(lambda run: run.fields)
    rows = []
    for r, name in enumerate(found.solved.receptors):
        for k, (study, section) in enumerate(zip(found.solved.studies, found.solved.sections, strict=True)):
            receptor = next((one for one in study.receptors if one.name == name), None)
            if receptor is None:
                continue
            field, error = float(now.fields[k, r]), float(errors[k, r])
            verdict = judge(receptor.limit, [section.frequency], [field], [error])
            rows.append(
                RouteFieldResult(
                    receptor=name,
                    section=now.stages[k].name,
                    start_m=float(ends[k]),
                    end_m=float(ends[k + 1]),
                    x_m=receptor.at[0],
                    y_m=receptor.at[1],
                    b_rms_t=field,
                    b_rms_error_t=error,
                    line_formula_b_rms_t=float(found.formula.fields[k, r]),
                    limit_t=verdict.limit_t,
                    within_limit=verdict.within,
                )
            )
    return rows


def _circuit(found: RouteSolution, name: str) -> RouteCircuitResult:
    now, formula = found.runs.now, found.formula
    first = [now.lines.index(Line(name, phase, 1, CONDUCTOR)) for phase in LINES]
    drops = now.drops[first]
    sequence, by_formula = sequence_matrix(now.impedances[name]), sequence_matrix(formula.impedances[name])
    delivered = None
    if name in now.arrived:
        delivered = delivered_result(
            name, Pair(now=now.arrived[name], before=found.runs.before.arrived[name]), formula.arrived[name]
        )
    pairs = zip(now.transposed.get(name, ()), formula.transposed.get(name, ()), strict=True)
    return RouteCircuitResult(
        circuit=name,
        drop_v=tuple(complex(drop) for drop in drops),
        drop_error_v=tuple(found.runs.of(lambda run: run.drops[first]).tolist()),
        formula_drop_v=tuple(complex(formula.drops[_index(formula, now.lines[k])]) for k in first),
        mean_drop_v=float(np.abs(drops).mean()),
        phase_impedance_ohm=tuple(tuple(complex(z) for z in row) for row in now.impedances[name]),
        z1_ohm=complex(sequence[1, 1]),
        z1_error_ohm=float(found.runs.of(lambda run: sequence_matrix(run.impedances[name])[1, 1])),
        formula_z1_ohm=complex(by_formula[1, 1]),
        z21_over_z11=_coupling(now.impedances[name]),
        z21_over_z11_error=float(found.runs.of(lambda run: _coupling(run.impedances[name]))),
        formula_z21_over_z11=_coupling(formula.impedances[name]),
        v2_over_v1=None if delivered is None else delivered.v2_over_v1,
        v0_over_v1=None if delivered is None else delivered.v0_over_v1,
        nema_unbalance=None if delivered is None else delivered.nema_unbalance,
        delivered=delivered,
        transpositions=tuple(_transposed(name, row, other) for row, other in pairs),
    )


def _coupling(impedance: Complexes) -> float:
    """|Z21|/|Z11| of an impedance matrix of L1, L2, L3. [-]"""
    sequence = sequence_matrix(impedance)
    return float(abs(sequence[2, 1] / sequence[1, 1]))


def _transposed(circuit: str, row: Transposed, formula: Transposed) -> TranspositionResult:
    return TranspositionResult(
        circuit=circuit,
        transpositions=row.transpositions,
        at_m=tuple(float(x) for x in row.at),
        inequality=float(row.inequality),
        coupling=float(row.coupling),
        v2_over_v1=float(row.delivered.negative_sequence),
        formula_inequality=float(formula.inequality),
        formula_v2_over_v1=float(formula.delivered.negative_sequence),
    )


def _line(found: RouteSolution, number: int) -> RouteLineResult:
    now, formula = found.runs.now, found.formula
    line = now.lines[number]
    other = _index(formula, line) if line.circuit else None
    is_open = _is_open(now, line)
    result = RouteLineResult(
        line=line.name,
        circuit=line.circuit,
        phase=line.phase,
        layer=line.layer,
        current_a=0j if is_open else complex(now.currents[number]),
        current_error_a=0.0 if is_open else float(found.runs.of(lambda run: run.currents[number])),
        formula_current_a=None if other is None else 0j if is_open else complex(formula.currents[other]),
        of_equal_share=_of_equal_share(now, line, number),
        largest_voltage_v=None,
        largest_voltage_error_v=None,
        formula_largest_voltage_v=None,
        at_m=None,
    )
    if (line.circuit, line.layer) not in now.profiles:
        return result

    def voltages(run: Run) -> Floats:
        profile = run.profiles[line.circuit, line.layer]
        return np.abs(profile.potentials[:, profile.lines.index(line.name)])

    profile = voltages(now)
    at = int(profile.argmax())
    return replace(
        result,
        largest_voltage_v=float(profile[at]),
        largest_voltage_error_v=float(found.runs.of(lambda run: voltages(run)[at])),
        formula_largest_voltage_v=float(voltages(formula).max()),
        at_m=float(now.route.ends()[at]),
    )


def _is_open(run: Run, line: Line) -> bool:
    """Whether a line is joined to nothing and given no current: what a solve leaves in it is rounding."""
    tie = next(tie for tie in run.route.ties if line.name in tie.parts)
    return len(tie.parts) == 1 and tie.impedance is None and tie.current == 0


def _of_equal_share(run: Run, line: Line, number: int) -> float | None:
    own = [
        k
        for k, one in enumerate(run.lines)
        if (one.circuit, one.phase, one.layer) == (line.circuit, line.phase, CONDUCTOR)
    ]
    total = abs(run.currents[own].sum())
    if line.layer != CONDUCTOR or len(own) < 2 or total == 0:
        return None
    return float(abs(run.currents[number]) * len(own) / total)


def _index(run: Run, line: Line) -> int:
    return run.lines.index(line)
