"""The route of a study: voltages, currents, losses and fields along the run, each beside its closed form."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from fem.arrays import Complexes, Floats
from fem.ties import Tie
from studies.answers.limits.compute import judged
from studies.answers.phases.compute import sequence_matrix
from studies.answers.route.delivery import Arrived, delivered_result
from studies.answers.route.maps import phase_currents_of
from studies.answers.route.rows import (
    LOAD,
    STUDY,
    RouteCircuitResult,
    RouteFieldResult,
    RouteLineResult,
    RouteResult,
    RouteSectionResult,
    RouteWorstResult,
    TranspositionResult,
)
from studies.answers.route.run import Flow, Run, run_of
from studies.answers.route.solved import SolvedRoute, solve_route
from studies.answers.route.transposition import Transposed
from studies.section.lines import Line, RunSection, SectionMaps
from studies.section.route_sections import changes_of
from studies.section.spectrum import fundamental
from studies.solve.error_floors import NEIGHBOURS, floored, level_floored
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.study.phases import LINES
from studies.text.failures import rescued
from studies.text.missing import without_numbers
from studies.text.progress import Progress

SAME_FIELD = 1e-9
"""Fields of two sections that differ by less than this share are equal: rounding. [-]"""


@dataclass(frozen=True)
class RouteSolution:
    """The run by finite elements and by closed forms, for results and figures."""

    solved: SolvedRoute
    runs: Pair[Run]
    formula: Run


def route_solution(
    study: Study, solution: Solution, own: Pair[SectionMaps], report_progress: Progress
) -> RouteSolution:
    """Solve and follow the route of a study that has one; `own` are the maps of its own cross-section."""
    report_progress("computing the run")
    solved = solve_route(study, solution, own, report_progress)
    circuits = [
        circuit.name
        for circuit in study.circuits
        if set(LINES) <= set(circuit.phases) and fundamental(study, circuit) == solution.frequency
    ]
    currents = phase_currents_of(solution.section)

    def run(run_sections: tuple[RunSection, ...], bonds: tuple[Tie, ...], maps: SectionMaps) -> Run:
        return run_of(study, circuits, currents, run_sections, bonds, maps)

    now = run(solved.run_sections.now, solved.bonds, solved.own.now)
    formula = rescued(
        "closed forms of the route",
        lambda: run(solved.formula_run_sections, solved.formula_bonds, solved.own_formula),
        lambda failure: _without_numbers(now),
    )
    return RouteSolution(
        solved, Pair(now=now, before=run(solved.run_sections.before, solved.bonds, solved.own.before)), formula
    )


def route_result(study: Study, found: RouteSolution) -> RouteResult:
    """The numbers of a route as plain data."""
    now = found.runs.now
    ends, lengths = now.route.ends(), np.array([section.length for section in now.route.sections])
    flows = [_flows(found, of) for of in (_study_flow, _load_flow)]
    at_study, at_load = (None if flow is None else _losses(flow, lengths) for flow in flows)
    assert at_study is not None
    fields = tuple(_fields(found, ends, flows))
    return RouteResult(
        length_m=float(now.route.length),
        sections=tuple(_section(study, found, k, ends, at_study, at_load) for k in range(len(lengths))),
        circuits=tuple(_circuit(found, name) for name in now.impedances),
        lines=tuple(_line(found, k) for k in range(len(now.lines))),
        fields=fields,
        worst_sections=worst_sections(fields),
        loss_w=at_study.total,
        loss_error_w=at_study.total_error,
        formula_loss_w=at_study.formula_total,
        load_loss_w=None if at_load is None else at_load.total,
        load_loss_error_w=None if at_load is None else at_load.total_error,
        load_formula_loss_w=None if at_load is None else at_load.formula_total,
        load_words="" if at_load is None else "; ".join(f"{name} {here.words}" for name, here in _stated(study, now)),
    )


def _without_numbers(run: Run) -> Run:
    """A run without numbers, in place of closed forms that failed."""
    kept = ("run_sections", "route", "lines")
    return replace(
        run,
        **{entry.name: without_numbers(getattr(run, entry.name)) for entry in fields(run) if entry.name not in kept},
    )


def _stated(study: Study, run: Run) -> list[tuple[str, Arrived]]:
    """Circuits with a stated load, and the state there."""
    stated = {load.circuit or study.circuits[0].name for load in study.loads}
    return [(name, here) for name, here in run.arrived.items() if name in stated]


@dataclass(frozen=True)
class _Flows:
    """One set of currents on two meshes and by closed forms."""

    runs: Pair[Flow]
    formula: Flow


def _study_flow(run: Run) -> Flow | None:
    return run.flow


def _load_flow(run: Run) -> Flow | None:
    return run.loaded


def _flows(found: RouteSolution, of: Callable[[Run], Flow | None]) -> _Flows | None:
    now, before, formula = of(found.runs.now), of(found.runs.before), of(found.formula)
    if now is None or before is None or formula is None:
        return None
    return _Flows(Pair(now=now, before=before), formula)


@dataclass(frozen=True)
class _Losses:
    """Losses of the sections [W/m] and of the run [W], shape (sections,) where not of the run."""

    each: Floats
    errors: Floats
    formula: Floats
    total: float
    total_error: float
    formula_total: float


def _losses(flows: _Flows, lengths: Floats) -> _Losses:
    """Changes of two meshes may cross zero by chance: none is better than a share of the worst, or of its lines."""
    now, formula = flows.runs.now.losses, flows.formula.losses
    of_lines = NEIGHBOURS * flows.runs.of(lambda flow: flow.powers).sum(axis=1)
    errors = np.maximum(floored(flows.runs.of(lambda flow: flow.losses), now), of_lines)
    return _Losses(now, errors, formula, float(lengths @ now), float(lengths @ errors), float(lengths @ formula))


def _section(
    study: Study, found: RouteSolution, number: int, ends: Floats, at_study: _Losses, at_load: _Losses | None
) -> RouteSectionResult:
    run_section = found.runs.now.run_sections[number]
    return RouteSectionResult(
        section=run_section.name,
        start_m=float(ends[number]),
        end_m=float(ends[number + 1]),
        phases={
            name: tuple(run_section.orders.get(name, run_section.maps.labels(name)))
            for name in run_section.maps.circuits()
        },
        changes=changes_of(study.route[number]),
        loss_w_per_m=float(at_study.each[number]),
        loss_error_w_per_m=float(at_study.errors[number]),
        formula_loss_w_per_m=float(at_study.formula[number]),
        load_loss_w_per_m=None if at_load is None else float(at_load.each[number]),
        load_loss_error_w_per_m=None if at_load is None else float(at_load.errors[number]),
        load_formula_loss_w_per_m=None if at_load is None else float(at_load.formula[number]),
    )


@dataclass(frozen=True)
class _Along:
    """Fields of one set of currents, their errors and those of line currents, shape (sections, r). [T]"""

    field: Floats
    error: Floats
    formula: Floats


def _along(flows: _Flows) -> _Along:
    """Errors are of the vectors, as a magnitude may stay while the vector turns."""
    field = flows.runs.now.magnitudes
    change = np.linalg.norm(flows.runs.of(lambda flow: flow.fields), axis=-1)
    return _Along(field, floored(change, field), flows.formula.magnitudes)


def _fields(found: RouteSolution, ends: Floats, flows: Sequence[_Flows | None]) -> Iterator[RouteFieldResult]:
    now = found.runs.now
    along = {name: _along(flow) for name, flow in zip((STUDY, LOAD), flows, strict=True) if flow is not None}
    for r, name in enumerate(found.solved.receptors):
        for k, (study, section) in enumerate(zip(found.solved.studies, found.solved.sections, strict=True)):
            receptor = next((one for one in study.receptors if one.name == name), None)
            if receptor is None:
                continue
            own, load = along[STUDY], along.get(LOAD)
            at = LOAD if load is not None and load.field[k, r] > own.field[k, r] else STUDY
            larger = along[at]
            verdict = judged(receptor, [section.frequency], [float(larger.field[k, r])], [float(larger.error[k, r])])
            yield RouteFieldResult(
                receptor=name,
                section=now.run_sections[k].name,
                start_m=float(ends[k]),
                end_m=float(ends[k + 1]),
                x_m=receptor.at[0],
                y_m=receptor.at[1],
                b_rms_t=float(own.field[k, r]),
                b_rms_error_t=float(own.error[k, r]),
                line_formula_b_rms_t=float(own.formula[k, r]),
                load_b_rms_t=None if load is None else float(load.field[k, r]),
                load_b_rms_error_t=None if load is None else float(load.error[k, r]),
                load_line_formula_b_rms_t=None if load is None else float(load.formula[k, r]),
                limit_t=verdict.limit_t,
                within_limit=verdict.within,
                judged_at=at,
            )


def worst_sections(fields: Sequence[RouteFieldResult]) -> tuple[RouteWorstResult, ...]:
    """For each receptor the section of some length with the largest field, the first if several are equal."""
    found = []
    for name in dict.fromkeys(row.receptor for row in fields):
        own = [row for row in fields if row.receptor == name and row.end_m > row.start_m]
        highest = max((row.b_rms_t for row in own), default=0.0)
        worst = next((row for row in own if row.b_rms_t >= highest * (1 - SAME_FIELD)), None)
        if worst is not None:
            found.append(
                RouteWorstResult(*(name, worst.section, worst.start_m, worst.end_m, worst.b_rms_t), worst.b_rms_error_t)
            )
    return tuple(found)


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
    runs = now.transposed.get(name, ()), found.runs.before.transposed.get(name, ())
    pairs = zip(*runs, formula.transposed.get(name, ()), strict=True)
    coupling = abs(_coupling(now.impedances[name]))
    matrix = level_floored(found.runs.of(lambda run: sequence_matrix(run.impedances[name])))
    return RouteCircuitResult(
        circuit=name,
        drop_v=tuple(complex(drop) for drop in drops),
        drop_error_v=tuple(level_floored(found.runs.of(lambda run: run.drops[first])).tolist()),
        formula_drop_v=tuple(complex(formula.drops[_index(formula, now.lines[k])]) for k in first),
        mean_drop_v=float(np.abs(drops).mean()),
        phase_impedance_ohm=tuple(tuple(complex(z) for z in row) for row in now.impedances[name]),
        phase_impedance_error_ohm=float(np.linalg.norm(found.runs.of(lambda run: run.impedances[name]))),
        z1_ohm=complex(sequence[1, 1]),
        z1_error_ohm=float(matrix[1, 1]),
        formula_z1_ohm=complex(by_formula[1, 1]),
        z21_over_z11=coupling,
        z21_over_z11_error=float((matrix[2, 1] + matrix[1, 1] * coupling) / abs(sequence[1, 1])),
        formula_z21_over_z11=abs(_coupling(formula.impedances[name])),
        v2_over_v1=None if delivered is None else delivered.v2_over_v1,
        v0_over_v1=None if delivered is None else delivered.v0_over_v1,
        nema_unbalance=None if delivered is None else delivered.nema_unbalance,
        delivered=delivered,
        transpositions=tuple(_transposed(name, Pair(row, before), other) for row, before, other in pairs),
    )


def _coupling(impedance: Complexes) -> complex:
    """Z21/Z11 of an impedance matrix of L1, L2, L3. [-]"""
    sequence = sequence_matrix(impedance)
    return complex(sequence[2, 1] / sequence[1, 1])


def _transposed(circuit: str, pair: Pair[Transposed], formula: Transposed) -> TranspositionResult:
    row = pair.now
    matrix = pair.of(lambda one: one.sequence_impedance)
    least = NEIGHBOURS * float(matrix.max()) / abs(row.sequence_impedance[1, 1])
    ratios = pair.of(lambda one: one.delivered.sequence_ratios)
    fall = pair.of(lambda one: one.delivered.load_voltages).max() / np.abs(row.delivered.load_voltages).mean()
    return TranspositionResult(
        circuit=circuit,
        transpositions=row.transpositions,
        at_m=tuple(float(x) for x in row.at),
        inequality=row.z_deviation,
        inequality_error=max(float(pair.of(lambda one: one.deviations).max()), least),
        coupling=float(row.coupling),
        coupling_error=max(float(pair.of(lambda one: one.coupling_ratio)), least),
        v2_over_v1=float(row.delivered.negative_sequence),
        v2_over_v1_error=max(float(ratios[1]), NEIGHBOURS * float(fall)),
        formula_inequality=formula.z_deviation,
        formula_v2_over_v1=float(formula.delivered.negative_sequence),
    )


def _line(found: RouteSolution, number: int) -> RouteLineResult:
    now, formula = found.runs.now, found.formula
    line = now.lines[number]
    other = _index(formula, line) if line.circuit else None
    is_open = _is_open(now, line)
    current_error = 0.0 if is_open else float(_current_errors(found)[number])
    share = _of_equal_share(now, line, number)
    is_joined = any(line.name in tie.parts for tie in now.route.joint_ties)
    at_section = int(np.abs(now.flow.currents[:, number]).argmax()) if is_joined else 0
    by_formula = None if other is None else complex(formula.flow.currents[at_section, other])
    result = RouteLineResult(
        line=line.name,
        circuit=line.circuit,
        phase=line.phase,
        layer=line.layer,
        current_a=0j if is_open else complex(now.flow.currents[at_section, number]),
        current_error_a=current_error,
        formula_current_a=0j if is_open and other is not None else by_formula,
        current_section=now.run_sections[at_section].name if is_joined else "",
        of_equal_share=share,
        of_equal_share_error=None if share is None else share * current_error / abs(now.flow.currents[0, number]),
        largest_voltage_v=None,
        largest_voltage_error_v=None,
        formula_largest_voltage_v=None,
        at_m=None,
    )
    return result if (line.circuit, line.layer) not in now.profiles else _with_voltage(result, line, found)


def _with_voltage(result: RouteLineResult, line: Line, found: RouteSolution) -> RouteLineResult:
    """The largest voltage to earth along the line as well, and the distance at which it stands."""
    now = found.runs.now

    def voltages(run: Run) -> Complexes:
        profile = run.profiles[line.circuit, line.layer]
        own: Complexes = profile.potentials[:, profile.lines.index(line.name)]
        return own

    profile = np.abs(voltages(now))
    at = int(profile.argmax())
    return replace(
        result,
        largest_voltage_v=float(profile[at]),
        largest_voltage_error_v=float(found.runs.of(lambda run: voltages(run)[at])),
        formula_largest_voltage_v=float(np.abs(voltages(found.formula)).max()),
        at_m=float(now.route.ends()[at]),
    )


def _current_errors(found: RouteSolution) -> Floats:
    """Of the phasors of lines that carry a current, the largest of all sections, shape (lines,). [A]"""
    now = found.runs.now
    carries = [not _is_open(now, line) for line in now.lines]
    changes = found.runs.of(lambda run: run.flow.currents).max(axis=0)
    return floored(changes, np.where(carries, np.abs(now.flow.currents).max(axis=0), 0.0))


def _is_open(run: Run, line: Line) -> bool:
    """Whether a line is in no bond and has no stated current; its computed current is rounding."""
    tie = next(tie for tie in (*run.route.ties, *run.route.joint_ties) if line.name in tie.parts)
    return len(tie.parts) == 1 and tie.impedance is None and tie.current == 0


def _of_equal_share(run: Run, line: Line, number: int) -> float | None:
    own = [
        k
        for k, one in enumerate(run.lines)
        if (one.circuit, one.phase, one.layer) == (line.circuit, line.phase, CONDUCTOR)
    ]
    total = abs(run.flow.currents[0, own].sum())
    if line.layer != CONDUCTOR or len(own) < 2 or total == 0:
        return None
    return float(abs(run.flow.currents[0, number]) * len(own) / total)


def _index(run: Run, line: Line) -> int:
    return run.lines.index(line)
