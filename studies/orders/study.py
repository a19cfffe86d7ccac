"""The phase-order search of a study: what is judged, the best orders beside today's, the winner solved in full."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fem.mesh import Complexes, Floats
from fem.polarisation import resultant
from studies.accuracy import Progress, solve_once
from studies.comparison.limits import judge as judge_limit
from studies.comparison.solution import Solution
from studies.cross_section import cross_section
from studies.decided import OrderResult, OrderSearchResult
from studies.orders.search import Found, search
from studies.orders.transfer import Judged, Labels, Transfer, judge, transfer
from studies.phases import LINES
from studies.spectrum import at_component, components
from studies.study import OrderSearch, OrderWeights, Study

BALANCED = 1e-9
"""Currents of a circuit this close to a balanced positive sequence may be turned. [-]"""
KEPT = 3
"""Orders that are reported."""


@dataclass(frozen=True)
class _Question:
    """What the search needs to know of the study."""

    maps: Transfer
    groups: tuple[tuple[int, ...], ...]
    """Index of the phase of each conductor, circuit by circuit."""
    fixed: tuple[bool, ...]
    """Circuits whose order may not change."""
    currents: Complexes
    """Of each phase. [A]"""
    counted: tuple[int, ...]
    """Receptors that count."""
    limits: Floats
    """What the field at each receptor is held against. [T]"""


def order_search(study: Study, solution: Solution, tell: Progress) -> OrderSearchResult | None:
    """The best phase orders of a study at its own frequency, None where it asks for none.

    Steel keeps the permeability that the study's own order gives it; the winner's full solve has its own.
    """
    asked = study.order_search
    if asked is None:
        return None
    question = _question(study, solution, asked)
    today = np.concatenate([np.array(group, dtype=np.int8) for group in question.groups])[None]
    objective = _objective(asked, question, today)
    turn = _may_turn(study, solution)
    tell("judging phase orders")
    free = [k for k, fixed in enumerate(question.fixed) if not fixed]
    found = _search(question, objective, free, turn and len(free) == len(question.groups))
    pairs = zip(found.orders, found.values, strict=True)
    rows = [_row(study, question, order, float(value)) for order, value in pairs]
    own = _row(study, question, today[0], float(objective(today)[0]))
    confirmed = _confirmed(study, solution, rows[0])
    return OrderSearchResult(
        objective=_words(asked),
        tried=found.tried,
        possible=found.possible,
        proved=found.proved,
        today=own,
        best=tuple(rows),
        confirmed_b_rms_t=confirmed,
        confirmed_difference=_difference(rows[0].receptor_b_rms_t, confirmed),
    )


def _question(study: Study, solution: Solution, asked: OrderSearch) -> _Question:
    section = solution.section
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    maps = transfer(section, solution.solved.fields, receptors)
    circuits = list(dict.fromkeys(phase.circuit for phase in section.phases))
    conductors = section.conductors()
    groups = tuple(
        tuple(
            next(
                k
                for k, phase in enumerate(section.phases)
                if part.cable is not None and (phase.circuit, phase.phase) == (name, part.cable.phase)
            )
            for part in conductors
            if part.cable is not None and part.cable.circuit == name
        )
        for name in circuits
    )
    today = resultant(solution.solved.requested.receptors)
    names = [receptor.name for receptor in study.receptors]
    counted = tuple(names.index(name) for name in asked.receptors) if asked.receptors else tuple(range(len(names)))
    limits = np.array(
        [
            judge_limit(receptor.limit, [section.frequency], [0.0], [0.0]).limit_t or max(float(today[k]), 1e-15)
            for k, receptor in enumerate(study.receptors)
        ]
    )
    fixed = tuple(asked.circuits is not None and name not in asked.circuits for name in circuits)
    currents = np.array([phase.current for phase in section.phases], dtype=np.complex128)
    return _Question(maps, groups, fixed, currents, counted, limits)


def _search(question: _Question, objective: Callable[[Labels], Floats], free: list[int], turn: bool) -> Found:
    """Search over the circuits that may change, the others as they are."""
    starts = np.cumsum([0] + [len(group) for group in question.groups])
    own = np.concatenate([np.array(group, dtype=np.int8) for group in question.groups])
    places = np.concatenate([np.arange(starts[k], starts[k + 1]) for k in free])

    def whole(labels: Labels) -> Labels:
        full = np.repeat(own[None], len(labels), axis=0)
        full[:, places] = labels
        return full

    found = search([question.groups[k] for k in free], lambda labels: objective(whole(labels)), turn=turn, keep=KEPT)
    return Found(whole(found.orders), found.values, found.tried, found.possible, found.proved)


def _objective(asked: OrderSearch, question: _Question, today: Labels) -> Callable[[Labels], Floats]:
    """Value of orders: one quantity as it is, or a weighted sum of quantities over their values today."""
    if asked.weights is None:
        quantity = _QUANTITIES[asked.objective]
        return lambda labels: quantity(question, labels, _judged(question, labels))
    weights: OrderWeights = asked.weights
    wanted = {name: weight for name in _QUANTITIES if (weight := getattr(weights, name)) > 0}
    judged = _judged(question, today)
    own = {name: max(float(_QUANTITIES[name](question, today, judged)[0]), 1e-12) for name in wanted}

    def value(labels: Labels) -> Floats:
        state = _judged(question, labels)
        parts = [weight * _QUANTITIES[name](question, labels, state) / own[name] for name, weight in wanted.items()]
        return np.asarray(sum(parts), dtype=np.float64)

    return value


def _judged(question: _Question, labels: Labels) -> Judged:
    return judge(question.maps, labels, question.currents)


def _field(question: _Question, labels: Labels, judged: Judged) -> Floats:
    """Worst field over its limit. [-]"""
    counted = list(question.counted)
    worst: Floats = (judged.field[:, counted] / question.limits[counted]).max(axis=1)
    return worst


def _sharing(question: _Question, labels: Labels, judged: Judged) -> Floats:
    """Largest current of a conductor over an equal share of its phase's. [-]"""
    every = np.concatenate([np.array(group) for group in question.groups])
    counts = np.bincount(every, minlength=len(question.currents))
    equal = np.abs(question.currents) / np.maximum(counts, 1)
    shares = np.abs(judged.currents) / np.where(equal > 0, equal, np.inf)[labels]
    largest: Floats = shares.max(axis=1)
    return largest


def _inequality(question: _Question, labels: Labels, judged: Judged) -> Floats:
    """Largest spread of reactance u/i among the phases of a circuit, over their mean. [-]"""
    driven = question.currents != 0
    reactance = np.zeros(judged.voltages.shape)
    reactance[:, driven] = (judged.voltages[:, driven] / question.currents[driven]).imag
    worst = np.zeros(len(labels))
    for group in question.groups:
        own = [phase for phase in dict.fromkeys(group) if driven[phase]]
        if len(own) > 1:
            worst = np.maximum(worst, np.ptp(reactance[:, own], axis=1) / np.abs(reactance[:, own].mean(axis=1)))
    return worst


_QUANTITIES: dict[str, Callable[[_Question, Labels, Judged], Floats]] = {
    "field": _field,
    "sharing": _sharing,
    "inequality": _inequality,
}


def _may_turn(study: Study, solution: Solution) -> bool:
    """Whether every circuit is a balanced positive sequence of L1, L2 and L3 alone."""
    a = np.exp(2j * np.pi / 3)
    for circuit in study.circuits:
        own = {phase.phase: phase.current for phase in solution.section.phases if phase.circuit == circuit.name}
        if set(own) != set(LINES):
            return False
        first = own["L1"]
        if max(abs(own["L2"] - a**2 * first), abs(own["L3"] - a * first)) > BALANCED * abs(first):
            return False
    return True


def _row(study: Study, question: _Question, order: Labels, value: float) -> OrderResult:
    labels = order[None]
    judged = _judged(question, labels)
    names = [phase for circuit in study.circuits for phase in dict.fromkeys(circuit.phases)]
    pieces = np.split(order, np.cumsum([len(group) for group in question.groups])[:-1])
    return OrderResult(
        phases={c.name: tuple(names[k] for k in piece) for c, piece in zip(study.circuits, pieces, strict=True)},
        value=value,
        receptor_b_rms_t=tuple(judged.field[0].tolist()),
        worst_over_limit=float(_field(question, labels, judged)[0]) if question.counted else None,
        largest_share=float(_sharing(question, labels, judged)[0]),
        inequality=float(_inequality(question, labels, judged)[0]),
    )


def reordered(study: Study, phases: dict[str, tuple[str, ...]]) -> Study:
    """The study with other phase orders of its circuits."""
    circuits = tuple(circuit.model_copy(update={"phases": phases[circuit.name]}) for circuit in study.circuits)
    return study.model_copy(update={"circuits": circuits, "order_search": None})


def _confirmed(study: Study, solution: Solution, best: OrderResult) -> tuple[float, ...]:
    """Field at the receptors by a full solve of the winner, on a mesh as fine as the study's. [T]"""
    from geometry.meshing import mesh_section
    from geometry.sizing import MeshSizes

    other = reordered(study, best.phases)
    section = at_component(cross_section(other), components(other)[0])
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    mesh = mesh_section(section.section(), MeshSizes(fineness=solution.accuracy.levels[-1].fineness))
    return tuple(resultant(solve_once(section, mesh, receptors, ()).requested.receptors).tolist())


def _difference(judged: tuple[float, ...], confirmed: tuple[float, ...]) -> float:
    """Largest relative difference of the judged fields from the full solve's. [-]"""
    pairs = [(a, b) for a, b in zip(judged, confirmed, strict=True) if b > 0]
    return max((abs(a / b - 1) for a, b in pairs), default=0.0)


def _words(asked: OrderSearch) -> str:
    if asked.weights is None:
        return asked.objective
    weights = asked.weights
    return " + ".join(f"{getattr(weights, name):g} {name}" for name in _QUANTITIES if getattr(weights, name) > 0)
