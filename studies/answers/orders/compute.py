"""The phase-order search of a study: the best orders beside the stated one, and the best one solved in full."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fem.arrays import Floats
from studies.answers.laying.lot import Lot
from studies.answers.laying.reciprocal import Reciprocal
from studies.answers.orders.arrangements import count_arrangements, count_orders
from studies.answers.orders.laid import CANDIDATES, laid_model, laid_order, ranked_as_laid
from studies.answers.orders.objectives import (
    QUANTITIES,
    Question,
    bounds_of,
    first_points,
    largest_share,
    largest_spread,
    least_value,
    objective,
    weights_of,
)
from studies.answers.orders.places import order_places
from studies.answers.orders.rows import LaidOrder, OrderResult, OrderSearchResult, SolvedOrder
from studies.answers.orders.search import Found, Objective, search
from studies.answers.orders.solved import solve_order, solved_order
from studies.answers.orders.symmetry import Symmetry, symmetry
from studies.answers.orders.transfer import Labels, transfer
from studies.section.parts import CrossSection
from studies.section.turning import relabelled
from studies.solve.solution import Solution
from studies.study.decisions import OrderSearch
from studies.study.file import Study
from studies.text.progress import Progress

KEPT = 3
"""Orders that are reported."""


def order_search(study: Study, solution: Solution, report_progress: Progress) -> OrderSearchResult | None:
    """The best phase orders of a study at its own frequency, None where it asks for none.

    Steel keeps the permeability that the study's own order gives it; the winner's full solve has its own. The order of
    circuits without current at this frequency is left as it is.
    """
    asked = study.order_search
    if asked is None:
        return None
    report_progress("judging phase orders")
    question, circuits = _question(study, solution)
    weights = weights_of(asked, question)
    bounds = bounds_of(asked)
    judge = objective(question, weights, bounds)
    may = [
        bool(np.any(question.currents[list(group)] != 0)) and (asked.circuits is None or name in asked.circuits)
        for name, group in zip(circuits, question.groups, strict=True)
    ]
    laid = laid_model(study, solution, question)
    found, same, possible = _search(question, judge, may, report_progress, KEPT if laid is None else CANDIDATES)
    if laid is not None:
        report_progress("judging the best phase orders over their layings")
        found = _as_laid(found, question, laid, weights, bounds, may)
    unbound = objective(question, weights)
    rows = [_row(solution.section, question, order, float(unbound(order[None], np.inf)[0])) for order in found.orders]
    own = _row(solution.section, question, question.today[0], float(unbound(question.today, np.inf)[0]))
    today = solved_order(study, question, weights, solution)
    best = _solved(study, question, weights, solution, rows[0], today, own, report_progress)
    return OrderSearchResult(
        objective=_words(asked),
        receptors=tuple(place.name for place in question.places if not place.is_zone),
        zones=tuple(place.name for place in question.places if place.is_zone),
        counted=tuple(place.name for place in question.places if place.counts),
        samples=len(question.scaled),
        fixed=tuple(name for name, free in zip(circuits, may, strict=True) if not free),
        tried=found.tried,
        possible=possible,
        symmetric=same,
        proved=found.proved,
        exchanges=found.exchanges,
        least_value=rows[0].value if found.proved else least_value(question, weights),
        saturating=bool(solution.section.steels()),
        today=own,
        best=tuple(rows),
        today_solved=today,
        best_solved=best,
        largest_difference=_difference(rows[0], best),
        field_at_most=asked.field_at_most,
        share_at_most=asked.share_at_most,
        laid=() if laid is None else _laid_orders(solution.section, question, laid, (own, *rows)),
    )


def _as_laid(
    found: Found,
    question: Question,
    laid: tuple[Reciprocal, Lot],
    weights: Mapping[str, float],
    bounds: Mapping[str, float],
    may: list[bool],
) -> Found:
    """The best orders by the 95th percentile among those that the search as drawn kept, and exchanges of the best."""
    ends = np.cumsum([0] + [len(group) for group in question.groups])
    movable = [range(ends[k], ends[k + 1]) for k, move in enumerate(may) if move]
    complete = found.possible <= len(found.orders)
    candidates = np.vstack([question.today, found.orders])
    points = first_points(question)
    ranked = ranked_as_laid(candidates, question, *laid, points, weights, bounds, None if complete else movable, KEPT)
    orders, values, judged = ranked
    return replace(found, orders=orders, values=values, tried=found.tried + judged, proved=False)


def _laid_orders(
    section: CrossSection, question: Question, laid: tuple[Reciprocal, Lot], rows: Sequence[OrderResult]
) -> tuple[LaidOrder, ...]:
    names = ("as stated", *(f"no. {k}" for k in range(1, len(rows))))
    return tuple(laid_order(name, row.phases, question, section, *laid) for name, row in zip(names, rows, strict=True))


def _question(study: Study, solution: Solution) -> tuple[Question, list[str]]:
    """The question that the search answers, and the circuits with given currents."""
    section = solution.section
    places = order_places(study, section, solution.solved.probe)
    points = np.vstack([place.points for place in places]) if places else np.zeros((0, 2))
    maps = transfer(section, solution.solved.fields, points)
    index = {part: k for k, phase in enumerate(section.phases) for part in section.ties[phase.tie].parts}
    circuits = list(dict.fromkeys(phase.circuit for phase in section.phases))
    groups = tuple(
        tuple(index[name] for name in maps.names if section.phases[index[name]].circuit == circuit)
        for circuit in circuits
    )
    currents = np.array([phase.current for phase in section.phases], dtype=np.complex128)
    return Question(maps, places, groups, currents), circuits


def _search(
    question: Question, judge: Objective, may: list[bool], report_progress: Progress, keep: int
) -> tuple[Found, int, int]:
    """Search over the circuits that may change, the others as they are; orders that count as one, and those left."""
    groups = [np.array(group, dtype=np.int8) for group in question.groups]
    whole_symmetry = symmetry(question.groups, question.currents, may)
    free = [k for k, move in enumerate(may) if move]
    starts = np.cumsum([0] + [len(group) for group in groups])
    places = np.concatenate([np.arange(starts[k], starts[k + 1]) for k in free] or [np.zeros(0, dtype=int)])

    def whole(labels: Labels) -> Labels:
        full: Labels = np.repeat(question.today, len(labels), axis=0)
        full[:, places] = labels
        return full

    if not free:
        value: Floats = judge(question.today, np.inf)
        return Found(question.today, value, 1, 1, proved=True), 1, 1
    of_free = Symmetry(
        tuple(tuple(turn[k] for k in free) for turn in whole_symmetry.turns), _lead(whole_symmetry, free)
    )
    own = [question.groups[k] for k in free]
    found = search(
        own, lambda labels, beaten: judge(whole(labels), beaten), of_free, keep=keep, report_progress=report_progress
    )
    cuts = np.cumsum([len(group) for group in own])[:-1]
    today = [groups[k] for k in free]
    nearest = [np.concatenate(of_free.nearest(np.split(order, cuts), today)) for order in found.orders]
    every = math.prod(count_arrangements(group) for group in own)
    left = count_orders(own, of_free)
    orders = whole(np.array(nearest, dtype=np.int8))
    return Found(orders, found.values, found.tried, left, found.proved, found.exchanges), every // left, left


def _lead(same: Symmetry, free: list[int]) -> int:
    return free.index(same.lead) if same.lead in free else 0


def _row(section: CrossSection, question: Question, order: Labels, value: float) -> OrderResult:
    judged = question.judged(order[None])
    fields = question.fields(judged)[:, 0]
    counted = [k for k, place in enumerate(question.places) if place.counts]
    worst = max(counted, key=lambda k: fields[k] / question.references[k], default=None)
    label = {name: section.phases[int(k)].phase for name, k in zip(question.maps.names, order, strict=True)}
    phases: dict[str, tuple[str, ...]] = {}
    for part in section.conductors():
        if part.cable is not None:
            own = phases.get(part.cable.circuit, ())
            phases[part.cable.circuit] = (*own, label.get(part.name, part.cable.phase))
    zones = [place.is_zone for place in question.places]
    return OrderResult(
        phases=phases,
        value=value,
        receptor_b_rms_t=tuple(float(field) for field, zone in zip(fields, zones, strict=True) if not zone),
        zone_b_max_rms_t=tuple(float(field) for field, zone in zip(fields, zones, strict=True) if zone),
        worst_over_limit=None if worst is None else float(fields[worst] / question.references[worst]),
        worst_at=None if worst is None else question.places[worst].name,
        largest_share=float(largest_share(question, order[None], judged)[0]),
        inequality=float(largest_spread(question, judged)[0]),
    )


def _solved(
    study: Study,
    question: Question,
    weights: Mapping[str, float],
    solution: Solution,
    best: OrderResult,
    today: SolvedOrder,
    own: OrderResult,
    report_progress: Progress,
) -> SolvedOrder:
    """The best order solved in full; the stated one is solved already."""
    if best.phases == own.phases:
        return today
    section = relabelled(solution.section, best.phases)
    return solved_order(study, question, weights, solve_order(study, section, report_progress))


def _difference(judged: OrderResult, solved: SolvedOrder) -> float:
    """Largest relative difference of the judged fields from the full solve's. [-]"""
    one = (*judged.receptor_b_rms_t, *judged.zone_b_max_rms_t)
    other = (*solved.receptor_b_rms_t, *solved.zone_b_max_rms_t)
    return max((abs(a / b - 1) for a, b in zip(one, other, strict=True) if b > 0), default=0.0)


def _words(asked: OrderSearch) -> str:
    weights = asked.weights
    if weights is None:
        return asked.objective
    return " + ".join(f"{getattr(weights, name):g} {name}" for name in QUANTITIES if getattr(weights, name) > 0)
