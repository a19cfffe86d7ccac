"""Objectives of an order: field, sharing, x_spread (key `inequality`), or a weighted sum of them."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.orders.places import JudgedPlace
from studies.answers.orders.transfer import Judged, Labels, Transfer, judge_orders, squared_field
from studies.formulas.unbalance import x_spread
from studies.study.decisions import OrderSearch

QUANTITIES = ("field", "sharing", "inequality")
FIRST_POINTS = 12
"""Points that are looked at first; the others only where an order is not beaten at these already."""
SAMPLE = 512
"""Orders from which the points are chosen that are looked at first."""
CHUNK = 1024
LEAST_FIELD = 1e-15
"""Least reference of a field. [T]"""


@dataclass(frozen=True)
class Question:
    """The places, circuits and currents that the orders of a study are judged for."""

    maps: Transfer
    """With the field at all points of all places, one after the other."""
    places: tuple[JudgedPlace, ...]
    groups: tuple[tuple[int, ...], ...]
    """Index of the phase of each conductor as stated, circuit by circuit."""
    currents: Complexes
    """Of each phase. [A]"""

    @cached_property
    def today(self) -> Labels:
        """The order of the study, shape (1, n)."""
        return np.concatenate([np.array(group, dtype=np.int8) for group in self.groups])[None]

    @cached_property
    def pieces(self) -> tuple[slice, ...]:
        """Where the points of each place are among all."""
        ends = np.cumsum([0] + [len(place.points) for place in self.places]).tolist()
        return tuple(slice(first, last) for first, last in itertools.pairwise(ends))

    @cached_property
    def references(self) -> Floats:
        """Reference of the field at each place: its limit, or its value in the stated order, shape (places,). [T]"""
        fields = self.fields(self.judged(self.today))[:, 0]
        stated = [place.limit for place in self.places]
        return np.array(
            [
                max(float(own), LEAST_FIELD) if limit is None else limit
                for own, limit in zip(fields, stated, strict=True)
            ]
        )

    @cached_property
    def scaled(self) -> Complexes:
        """Field at the points that count, over what it is compared with, per ampere, shape (q, 2, n). [1/A]"""
        counted = [
            self.maps.field[piece] / reference
            for place, piece, reference in zip(self.places, self.pieces, self.references, strict=True)
            if place.counts
        ]
        return np.concatenate(counted) if counted else self.maps.field[:0]

    def judged(self, labels: Labels) -> Judged:
        """State of the conductors in orders (orders, n)."""
        return judge_orders(self.maps, labels, self.currents)

    def fields(self, judged: Judged) -> Floats:
        """Highest resultant rms of each place, shape (places, orders). [T]"""
        squared = squared_field(self.maps.field, judged.currents)
        highest = [squared[piece].max(axis=0) for piece in self.pieces]
        fields: Floats = np.sqrt(np.array(highest).reshape(len(self.places), judged.currents.shape[1]))
        return fields


def worst_field(question: Question, judged: Judged) -> Floats:
    """Highest field that counts over what it is compared with, shape (orders,). [-]"""
    every = question.scaled
    chunks = range(0, judged.currents.shape[1], CHUNK)
    found = [squared_field(every, judged.currents[:, k : k + CHUNK]).max(axis=0, initial=0.0) for k in chunks]
    return np.sqrt(np.concatenate(found)) if found else np.zeros(0)


def largest_share(question: Question, labels: Labels, judged: Judged) -> Floats:
    """Largest current of a conductor over an equal share of its phase's, shape (orders,). [-]"""
    counts = np.bincount(question.today[0], minlength=len(question.currents))
    equal = np.abs(question.currents) / np.maximum(counts, 1)
    inverse = np.divide(1.0, equal, out=np.zeros_like(equal), where=equal > 0)
    largest: Floats = (np.abs(judged.currents) * inverse[labels.T]).max(axis=0)
    return largest


def largest_spread(question: Question, judged: Judged) -> Floats:
    """Largest `x_spread` of the circuits, shape (orders,). [-]"""
    return reactance_spread(question.groups, question.currents, judged.voltages)


def reactance_spread(groups: Sequence[Sequence[int]], currents: Complexes, voltages: Complexes) -> Floats:
    """Largest `x_spread` of the circuits, shape (orders,). [-]

    groups: Indices of the phases of each circuit.
    currents: Net current of each phase, shape (phases,). [A]
    voltages: Voltage of each, shape (phases, orders). [V/m]
    """
    driven = currents != 0
    reactance = np.zeros(voltages.shape)
    reactance[driven] = (voltages[driven] / currents[driven, None]).imag
    worst = np.zeros(voltages.shape[1])
    for group in groups:
        own = [phase for phase in dict.fromkeys(group) if driven[phase]]
        if len(own) > 1:
            worst = np.maximum(worst, x_spread(reactance[own]))
    return worst


def weights_of(asked: OrderSearch, question: Question) -> dict[str, float]:
    """Factor of each quantity that is asked for in the value of an order."""
    if asked.weights is None:
        return {asked.objective: 1.0}
    judged = question.judged(question.today)
    today = _evaluated(question, QUANTITIES, question.today, judged)
    wanted = {name: weight for name in QUANTITIES if (weight := getattr(asked.weights, name)) > 0}
    return {name: weight / max(float(today[name][0]), 1e-12) for name, weight in wanted.items()}


def value_of(weights: Mapping[str, float], quantities: Mapping[str, float]) -> float:
    """Value of one order from its quantities."""
    return sum(weight * quantities[name] for name, weight in weights.items())


PENALTY = 1e3
"""Added to the value of an order for a bound that it misses by its own size; no order within its bounds is near it."""


def objective(
    question: Question, weights: Mapping[str, float], bounds: Mapping[str, float] | None = None
) -> Callable[[Labels, Floats | float], Floats]:
    """Value of orders, or a lower bound that is above what they must not exceed.

    bounds: What the quantities of an order must not exceed; one that misses them has `PENALTY` times the excess more.
    """
    if bounds:
        names = tuple(dict.fromkeys((*weights, *bounds)))

        def bounded(labels: Labels, beaten: Floats | float) -> Floats:
            found = _evaluated(question, names, labels, question.judged(labels))
            return penalised(weights, bounds, found)

        return bounded
    exact = [name for name in weights if name != "field"]
    weight = weights.get("field", 0.0)
    if not weight:
        return lambda labels, beaten: _weighted(question, weights, exact, labels, question.judged(labels))
    first = question.scaled[first_points(question)]

    def value(labels: Labels, beaten: Floats | float) -> Floats:
        judged = question.judged(labels)
        rest = _weighted(question, weights, exact, labels, judged)
        found: Floats = rest + weight * np.sqrt(squared_field(first, judged.currents).max(axis=0, initial=0.0))
        if len(first) < len(question.scaled):
            open_yet = np.flatnonzero(found <= beaten)
            some = Judged(judged.currents[:, open_yet], judged.voltages[:, open_yet])
            found[open_yet] = rest[open_yet] + weight * worst_field(question, some)
        return found

    return value


def penalised(weights: Mapping[str, float], bounds: Mapping[str, float], found: Mapping[str, Floats]) -> Floats:
    """Values of orders from their quantities (orders,), with what the bounds that they miss add."""
    value = sum((weight * found[name] for name, weight in weights.items()), np.zeros_like(next(iter(found.values()))))
    for name, most in bounds.items():
        value = value + PENALTY * np.maximum(found[name] / most - 1, 0.0)
    return np.asarray(value, dtype=np.float64)


def bounds_of(asked: OrderSearch) -> dict[str, float]:
    """What an order must keep, by quantity; empty if nothing is asked."""
    stated = {"field": asked.field_at_most, "sharing": asked.share_at_most}
    return {name: most for name, most in stated.items() if most is not None}


def least_value(question: Question, weights: Mapping[str, float]) -> float:
    """A value that no order is below.

    The largest share is one at least, the triangle's inequality; of field and x_spread nothing above zero is
    known before all orders are tried.
    """
    shared = any(np.abs(question.currents[group[0]]) > 0 for group in question.groups if group)
    return weights.get("sharing", 0.0) if shared else 0.0


def _weighted(
    question: Question, weights: Mapping[str, float], names: Sequence[str], labels: Labels, judged: Judged
) -> Floats:
    found = _evaluated(question, names, labels, judged)
    return np.asarray(sum((weights[name] * found[name] for name in names), np.zeros(len(labels))), dtype=np.float64)


def _evaluated(question: Question, names: Sequence[str], labels: Labels, judged: Judged) -> dict[str, Floats]:
    quantities: dict[str, Callable[[], Floats]] = {
        "field": lambda: worst_field(question, judged),
        "sharing": lambda: largest_share(question, labels, judged),
        "inequality": lambda: largest_spread(question, judged),
    }
    return {name: quantities[name]() for name in names}


def first_points(question: Question) -> list[int]:
    """Points that decide most often in orders drawn at random, all of them where they are few."""
    every = question.scaled
    if len(every) <= FIRST_POINTS:
        return list(range(len(every)))
    rng = np.random.default_rng(1)
    drawn = np.array([np.concatenate([rng.permutation(group) for group in question.groups]) for _ in range(SAMPLE)])
    worst = squared_field(every, question.judged(drawn.astype(np.int8)).currents).argmax(axis=0)
    often = np.bincount(worst, minlength=len(every))
    return [int(k) for k in np.argsort(-often, kind="stable")[:FIRST_POINTS]]
