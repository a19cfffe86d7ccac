"""Phase orders over all layings: ranked by the 95th percentile, which a cancellation that laying undoes cannot win."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.laying.lot import Lot, lot_of, scattered_currents
from studies.answers.laying.reciprocal import CHUNK, Reciprocal, reciprocal_of
from studies.answers.orders.objectives import Question, largest_share, largest_spread, penalised
from studies.answers.orders.rows import LaidOrder
from studies.answers.orders.search import SAME_VALUE, swaps
from studies.answers.orders.transfer import Labels, Transfer, squared_field
from studies.section.parts import CrossSection
from studies.section.turning import relabelled
from studies.solve.solution import Solution
from studies.study.file import Study

CANDIDATES = 200
"""Orders that the search as drawn hands on."""
JUDGED_LAYINGS = 100
"""Layings that every candidate is judged over, the same ones."""
FINAL, FINAL_LAYINGS = 8, 1000
"""The best of them, and the layings that these are judged over again."""
PERCENT = 95
MOST_ROUNDS = 8
"""Rounds of exchanges of two labels."""


@dataclass(frozen=True)
class LaidQuestion:
    """The question of a search at some layings."""

    drawn: Question
    layings: tuple[Question, ...]
    """With the maps and currents of each."""

    def quantities(self, labels: Labels) -> dict[str, Floats]:
        """The 95th percentiles of worst field, largest share and x_spread of orders (orders, n), (orders,) each."""
        fields, shares, spreads = [], [], []
        for question in self.layings:
            judged = question.judged(labels)
            worst = squared_field(question.maps.field, judged.currents).max(axis=0, initial=0.0)
            fields.append(np.sqrt(worst))
            shares.append(largest_share(self.drawn, labels, judged))
            spreads.append(largest_spread(question, judged))
        rows = {"field": fields, "sharing": shares, "inequality": spreads}
        return {name: np.asarray(np.percentile(values, PERCENT, axis=0)) for name, values in rows.items()}


def laid_model(study: Study, solution: Solution, question: Question) -> tuple[Reciprocal, Lot] | None:
    """What answers to layings of the study, with the points of the question; None if it spreads nothing."""
    asked = study.laying_tolerance
    if asked is None or not asked.spread():
        return None
    points = np.vstack([place.points for place in question.places]) if question.places else np.zeros((0, 2))
    return reciprocal_of(study, solution, points), lot_of(study, solution.section)


def laid_question(question: Question, model: Reciprocal, lot: Lot, points: Sequence[int], count: int) -> LaidQuestion:
    """The question at the first layings, with the field over its reference at some points that count.

    points: Numbers of the points among those of `question.scaled`.
    """
    layings = lot.layings(None, count)
    n = len(question.maps.names)
    ports = [model.names.index(name) for name in question.maps.names]
    of_phases = {phase.tie for phase in model.section.phases}
    shared = [
        k
        for k, tie in enumerate(model.ties)
        if k not in of_phases and (len(tie.parts) > 1 or tie.impedance is not None)
    ]
    counted, references = _counted(question)
    chosen, scale = counted[list(points)], references[list(points)]
    currents = scattered_currents(model.section, layings.phase_factors, model.residual)
    drawn: tuple[Complexes, Complexes] | None = None
    found = []
    whole = replace(
        layings,
        moves=np.vstack([np.zeros_like(layings.moves[:1]), layings.moves]),
        deviates={name: np.concatenate([[0.0], own]) for name, own in layings.deviates.items()},
    )
    for first in range(0, count + 1, CHUNK):
        some = slice(first, first + CHUNK)
        impedances, fields = model.impedances(whole, some), model.per_part(whole, some)
        given = np.zeros((len(impedances), len(model.names), n), dtype=np.complex128)
        given[:, ports, np.arange(n)] = 1.0
        if shared:
            totals = np.zeros((len(impedances), len(model.ties), n), dtype=np.complex128)
            model.share(given, totals, shared, impedances)
        of_ports = (impedances @ given)[:, ports]
        field = (fields.transpose(0, 2, 1) @ given).reshape(len(given), -1, 2, n)[:, chosen] / scale[:, None, None]
        if drawn is None:
            drawn = of_ports[0], field[0]
        found += list(zip(of_ports, field, strict=True))
    assert drawn is not None
    base_field = question.scaled[list(points)]
    questions = []
    for k, (impedance, field) in enumerate(found[1:]):
        z = question.maps.impedance + impedance - drawn[0]  # the drawn one knows cross-bonds
        maps = Transfer(question.maps.names, z, np.asarray(np.linalg.inv(z)), base_field + field - drawn[1])
        questions.append(replace(question, maps=maps, currents=currents[k]))
    return LaidQuestion(question, tuple(questions))


def _counted(question: Question) -> tuple[np.ndarray, Floats]:
    """Numbers of the points that count, and the reference of the field at each [T]."""
    pairs = zip(question.places, question.pieces, question.references, strict=True)
    kept = [(np.arange(piece.start, piece.stop), reference) for place, piece, reference in pairs if place.counts]
    if not kept:
        return np.zeros(0, dtype=np.int64), np.zeros(0)
    return np.concatenate([own for own, _ in kept]), np.concatenate([np.full(len(own), r) for own, r in kept])


def ranked_as_laid(
    candidates: Labels,
    question: Question,
    model: Reciprocal,
    lot: Lot,
    points: Sequence[int],
    weights: Mapping[str, float],
    bounds: Mapping[str, float],
    movable: Sequence[Sequence[int]] | None,
    keep: int,
) -> tuple[Labels, Floats, int]:
    """The best of some orders (orders, n) by the 95th percentile, their values, and how many were judged.

    movable: Conductors of each circuit whose labels may be exchanged, to improve the best until no exchange does; None
        if the candidates are all orders there are.
    """
    some = laid_question(question, model, lot, points, min(JUDGED_LAYINGS, lot.asked.samples))

    def value(labels: Labels, laid: LaidQuestion = some) -> Floats:
        return penalised(weights, bounds, laid.quantities(labels))

    values, tried = value(candidates), len(candidates)
    orders = candidates
    for _ in range(MOST_ROUNDS if movable is not None else 0):
        best = orders[int(np.argmin(values))]
        others = _exchanged(best, movable or ())
        if not len(others):
            break
        own = value(others)
        tried += len(others)
        better = own.min() < values.min() * (1 - SAME_VALUE)
        orders, values = np.vstack([orders, others]), np.concatenate([values, own])
        if not better:
            break
    orders, index = np.unique(orders, axis=0, return_index=True)
    values = values[index]
    first = np.argsort(values, kind="stable")[: max(FINAL, keep)]
    again = laid_question(question, model, lot, points, min(FINAL_LAYINGS, lot.asked.samples))
    final = value(orders[first], again)
    rank = np.argsort(final, kind="stable")[:keep]
    return orders[first][rank], final[rank], tried


def _exchanged(order: Labels, movable: Sequence[Sequence[int]]) -> Labels:
    """The orders that one exchange of two labels makes, shape (exchanges, n)."""
    found = []
    for places in movable:
        own = order[list(places)]
        for other in swaps([own.tolist()], own):
            changed = order.copy()
            changed[list(places)] = other
            found.append(changed)
    return np.array(found, dtype=np.int8).reshape(-1, len(order))


def laid_order(
    name: str,
    phases: dict[str, tuple[str, ...]],
    question: Question,
    section: CrossSection,
    model: Reciprocal,
    lot: Lot,
) -> LaidOrder:
    """An order over all layings: fields at all points, shares of all cables, as drawn and at the 95th percentile."""
    other = relabelled(section, phases)
    own = replace(model, section=other, ties=other.ties)
    drawn, laid = lot.layings((), 1), lot.layings()
    currents = own.currents(drawn), own.currents(laid)
    squared = own.squared_fields(drawn, currents[0]), own.squared_fields(laid, currents[1])
    fields = [[np.sqrt(one[:, piece].max(axis=1)) for piece in question.pieces] for one in squared]
    nominal = [float(own_field[0]) for own_field in fields[0]]
    p95 = [float(np.percentile(own_field, PERCENT)) for own_field in fields[1]]
    counted = [k for k, place in enumerate(question.places) if place.counts]
    ratios = [p95[k] / float(question.references[k]) for k in counted]
    worst = counted[int(np.argmax(ratios))] if counted else None
    equal = {
        part: abs(phase.current) / len(other.ties[phase.tie].parts)
        for phase in other.phases
        for part in other.ties[phase.tie].parts
        if phase.current != 0
    }
    shares = [np.abs(own_currents[:, [own.names.index(part) for part in equal]]) for own_currents in currents]
    over = np.array(list(equal.values()))
    return LaidOrder(
        order=name,
        b_rms_t=tuple(nominal),
        p95_b_rms_t=tuple(p95),
        worst_at=None if worst is None else question.places[worst].name,
        worst_over_limit=None if worst is None else nominal[worst] / float(question.references[worst]),
        p95_worst_over_limit=None if worst is None else ratios[counted.index(worst)],
        largest_share=float((shares[0] / over).max()),
        p95_largest_share=float(np.percentile((shares[1] / over).max(axis=1), PERCENT)),
        parts=tuple(equal),
        shares=tuple((shares[0][0] / over).tolist()),
        p95_shares=tuple(np.percentile(shares[1] / over, PERCENT, axis=0).tolist()),
    )
