"""Labels that may be exchanged without changing any magnitude, so that orders that differ by them count once."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes
from studies.answers.orders.transfer import Labels

SAME_CURRENT = 1e-9
"""Currents of a circuit that agree to this share of the largest are the same. [-]"""

Exchange = dict[int, int]
"""New label of each label of a circuit."""


@dataclass(frozen=True)
class Symmetry:
    """Exchanges of labels, circuit by circuit, that turn all currents by one common angle.

    With them every current, voltage and field is turned by that angle as well, and every magnitude and ratio stays.
    """

    turns: tuple[tuple[tuple[Exchange, ...], ...], ...]
    """For each common angle the exchanges of each circuit; the first angle is zero, the first of its exchanges none."""
    lead: int
    """The circuit whose exchanges settle the common angle."""

    def filters(self, circuit: int) -> tuple[Exchange, ...]:
        """Exchanges of which one arrangement of this circuit each is enough, the exchange of nothing among them."""
        if circuit != self.lead:
            return self.turns[0][circuit]
        return tuple(exchange for turn in self.turns for exchange in turn[circuit])

    def first(self, groups: Sequence[Labels]) -> list[Labels]:
        """Of all orders that are the same as this one, that which stands first."""
        choices = [
            [
                min(([exchange[int(k)] for k in group] for exchange in exchanges), default=[])
                for exchanges, group in zip(turn, groups, strict=True)
            ]
            for turn in self.turns
        ]
        return [np.array(own, dtype=np.int8) for own in min(choices)]

    def nearest(self, groups: Sequence[Labels], today: Sequence[Labels]) -> list[Labels]:
        """Of all orders that are the same as this one, that in which the fewest cables have another label."""
        choices = []
        for turn in self.turns:
            own = []
            for exchanges, group, now in zip(turn, groups, today, strict=True):
                changed = [np.array([exchange[int(k)] for k in group], dtype=np.int8) for exchange in exchanges]
                own.append(min(changed, key=lambda labels: int(np.sum(labels != now))))
            choices.append(own)
        return min(choices, key=lambda own: sum(int(np.sum(a != b)) for a, b in zip(own, today, strict=True)))


def symmetry(groups: Sequence[Sequence[int]], currents: Complexes, free: Sequence[bool] | None = None) -> Symmetry:
    """The exchanges of labels that change nothing.

    groups: Label of each conductor, circuit by circuit.
    free: Which circuits may change; without it, all.

    An exchange keeps the number of cables of each label: L1 with two cables cannot become L2 with one. A balanced
    circuit of L1, L2 and L3 with as many cables each has three, go and return have two, and N and PE without current
    may be exchanged between them.
    """
    may = [True] * len(groups) if free is None else list(free)
    lead = next((k for k, group in enumerate(groups) if may[k] and np.any(currents[list(group)] != 0)), 0)
    angles = [1.0 + 0j]
    driven = next((label for label in groups[lead] if currents[label] != 0), None) if may[lead] else None
    for label in dict.fromkeys(groups[lead]) if driven is not None else ():
        angle = complex(currents[label] / currents[driven])
        if abs(abs(angle) - 1) < SAME_CURRENT and min(abs(angle - other) for other in angles) > SAME_CURRENT:
            angles.append(angle)
    turns = []
    for angle in angles:
        exchanges = [_exchanges(group, currents, angle, move) for group, move in zip(groups, may, strict=True)]
        if all(exchanges):
            turns.append(tuple(exchanges))
    return Symmetry(tuple(turns), lead)


def _exchanges(group: Sequence[int], currents: Complexes, angle: complex, may_move: bool) -> tuple[Exchange, ...]:
    """Exchanges of a circuit's labels that keep their numbers of cables and turn its currents by an angle."""
    counts = Counter(group)
    labels = sorted(counts)
    own = currents[labels]
    close = SAME_CURRENT * float(np.abs(own).max(initial=0.0))
    found = []
    for changed in itertools.permutations(labels) if may_move else [tuple(labels)]:
        same_counts = all(counts[a] == counts[b] for a, b in zip(labels, changed, strict=True))
        if same_counts and np.all(np.abs(currents[list(changed)] - angle * own) <= close):
            found.append(dict(zip(labels, changed, strict=True)))
    return tuple(found)
