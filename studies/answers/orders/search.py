"""Search for the best phase order: all of them where that is feasible, else annealing that does not claim a proof."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Floats
from studies.answers.orders.arrangements import batches, count_orders
from studies.answers.orders.symmetry import Symmetry
from studies.answers.orders.transfer import Labels

MOST_EXHAUSTIVE = 6_000_000
"""Orders up to which all are tried: 18 cables of three phases, within half a minute on one core."""
MOST_ALONE = 24_000_000
"""The same where no cable has a parallel one and the currents are known beforehand: ten circuits of three cables."""
BATCH = 8192
ANNEALING_STEPS = 2000
ANNEALING_CHAINS = 256
COLDEST = 1e-4
"""Last temperature of the annealing over the first. [-]"""
SAME_VALUE = 1e-12
"""Values this close are one: rounding. [-]"""
MOST_HOPEFUL = 24
"""Orders of a batch that are looked at for each that is kept: the best are among them, each in all its turns."""
MOST_EXCHANGES = 600
"""Exchanges of two labels up to which pairs of them are tried as well: 24 cables of one circuit have 192."""

Objective = Callable[[Labels, Floats | float], Floats]
"""Value of each order of a batch (orders, n) -> (orders,); smaller is better.

The second argument is what an order must not exceed to be of interest, one number or one each (orders,): above it the
objective may return any lower bound of the value that is above it too.
"""


@dataclass(frozen=True)
class Found:
    """Outcome of a search."""

    orders: Labels
    """The best orders, best first, shape (kept, n)."""
    values: Floats
    """Their values, shape (kept,)."""
    tried: int
    """Orders that were judged; a walk may meet an order twice."""
    possible: int
    """Orders there are, those that are the same by symmetry counted once."""
    proved: bool
    """Whether every order was tried, so that none is better."""
    exchanges: int = 0
    """Exchanges of two labels, one after the other, that do not improve the best order of a walk."""


class _Leading:
    """The best distinct orders so far, best first; ties are settled by the order itself."""

    def __init__(self, groups: Sequence[Sequence[int]], same: Symmetry, keep: int) -> None:
        self._starts = np.cumsum([len(group) for group in groups])[:-1]
        self._same, self._keep = same, keep
        self.orders: Labels = np.zeros((0, sum(map(len, groups))), dtype=np.int8)
        self.values: Floats = np.zeros(0)

    @property
    def beaten(self) -> float:
        """Value above which an order is of no interest."""
        return float(self.values[-1]) if len(self.values) == self._keep else np.inf

    def take(self, labels: Labels, values: Floats) -> None:
        """Look at some more orders (orders, n) of values (orders,)."""
        hopeful = np.flatnonzero(values <= self.beaten)
        hopeful = hopeful[np.argsort(values[hopeful], kind="stable")][: MOST_HOPEFUL * self._keep]
        if not len(hopeful):
            return
        first = [np.concatenate(self._same.first(np.split(order, self._starts))) for order in labels[hopeful]]
        unique, index = np.unique(np.vstack([self.orders, *first]), axis=0, return_index=True)
        every = np.concatenate([self.values, values[hopeful]])[index]
        rank = np.argsort(every, kind="stable")[: self._keep]
        self.orders, self.values = unique[rank], every[rank]


def search(
    groups: Sequence[Sequence[int]],
    objective: Objective,
    same: Symmetry,
    *,
    keep: int = 3,
    seed: int = 1,
    report_progress: Callable[[str], None] | None = None,
) -> Found:
    """The best orders of the labels within each group.

    groups: Labels of the conductors, circuit by circuit; labels move within their circuit only.
    same: Exchanges of labels of these groups that leave the objective as it is.
    keep: How many of the best are returned.
    seed: Seed of the annealing, where all orders are too many.
    report_progress: Told in words how far the search is.
    """
    say = report_progress or (lambda message: None)
    possible = count_orders(groups, same)
    alone = all(len(set(group)) == len(group) for group in groups)
    if possible <= (MOST_ALONE if alone else MOST_EXHAUSTIVE):
        return _exhaust(groups, objective, same, possible, keep, say)
    return _walk(groups, objective, same, possible, keep, seed, say)


def _exhaust(
    groups: Sequence[Sequence[int]],
    objective: Objective,
    same: Symmetry,
    possible: int,
    keep: int,
    say: Callable[[str], None],
) -> Found:
    leading = _Leading(groups, same, keep)
    tried = tenth = 0
    for labels in batches(groups, same, BATCH):
        leading.take(labels, objective(labels, leading.beaten))
        tried += len(labels)
        if 10 * tried // possible > tenth and possible > 10 * BATCH:
            tenth = 10 * tried // possible
            say(f"judged {tried:,} of {possible:,} phase orders")
    return Found(leading.orders, leading.values, tried, possible, proved=tried == possible)


def _walk(
    groups: Sequence[Sequence[int]],
    objective: Objective,
    same: Symmetry,
    possible: int,
    keep: int,
    seed: int,
    say: Callable[[str], None],
) -> Found:
    """Many chains side by side, each swapping two labels of one circuit, cooled geometrically; then exchanges."""
    rng = np.random.default_rng(seed)
    starts = np.cumsum([0] + [len(group) for group in groups])
    chains = _random_orders(groups, starts, rng)
    values = objective(chains, np.inf)
    leading = _Leading(groups, same, keep)
    leading.take(chains, values)
    movable = [k for k, group in enumerate(groups) if len(set(group)) > 1]
    temperature = max(float(np.std(values)), 1e-12 * float(np.abs(values).max()))
    cooling = COLDEST ** (1 / ANNEALING_STEPS)
    tried = len(chains)
    rows = np.arange(ANNEALING_CHAINS)
    for step in range(1, ANNEALING_STEPS + 1):
        chosen = rng.choice(movable, size=ANNEALING_CHAINS)
        sizes = np.array([len(groups[g]) for g in chosen])
        a = starts[chosen] + (rng.random(ANNEALING_CHAINS) * sizes).astype(int)
        b = starts[chosen] + (rng.random(ANNEALING_CHAINS) * sizes).astype(int)
        moved = chains.copy()
        moved[rows, a], moved[rows, b] = chains[rows, b], chains[rows, a]
        # a worse order is taken with the probability exp(-worse/temperature), drawn before it is judged
        bearable = values - temperature * np.log(1 - rng.random(ANNEALING_CHAINS))
        new = objective(moved, bearable)
        tried += len(moved)
        accept = new <= bearable
        chains[accept], values[accept] = moved[accept], new[accept]
        leading.take(moved[accept], new[accept])
        temperature *= cooling
        if 10 * step % ANNEALING_STEPS == 0:
            say(f"judged {tried:,} of {possible:,} phase orders, not all of them can be")
    say("exchanging labels of the best phase order")
    more, exchanges = _exchange(groups, objective, leading)
    return Found(leading.orders, leading.values, tried + more, possible, proved=False, exchanges=exchanges)


def _random_orders(groups: Sequence[Sequence[int]], starts: NDArray[np.intp], rng: np.random.Generator) -> Labels:
    """An order for each chain to begin with; the first is the stated one."""
    chains = np.empty((ANNEALING_CHAINS, starts[-1]), dtype=np.int8)
    for group, start in zip(groups, starts[:-1], strict=True):
        for chain in chains:
            chain[start : start + len(group)] = rng.permutation(group)
    chains[0] = np.concatenate([np.asarray(group) for group in groups])
    return chains


def _exchange(groups: Sequence[Sequence[int]], objective: Objective, leading: _Leading) -> tuple[int, int]:
    """Improve the best order by exchanges of two labels, one or two after another, until none improves it."""
    tried = 0
    while True:
        start, value = leading.orders[0], float(leading.values[0])
        singles = swaps(groups, start)
        depth = 2 if len(singles) <= MOST_EXCHANGES else 1
        for labels in itertools.chain([singles], (swaps(groups, one) for one in singles) if depth > 1 else ()):
            leading.take(labels, objective(labels, float(leading.values[-1])))
            tried += len(labels)
        if float(leading.values[0]) >= value * (1 - SAME_VALUE):
            return tried, depth


def swaps(groups: Sequence[Sequence[int]], order: Labels) -> Labels:
    """The orders that one exchange of two different labels of a circuit makes, shape (exchanges, n)."""
    starts = np.cumsum([0] + [len(group) for group in groups])
    pairs = [
        (a, b)
        for first, last in itertools.pairwise(starts.tolist())
        for a, b in itertools.combinations(range(first, last), 2)
        if order[a] != order[b]
    ]
    swapped: Labels = np.repeat(order[None], len(pairs), axis=0)
    a, b = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    rows: NDArray[np.intp] = np.arange(len(pairs))
    swapped[rows, a], swapped[rows, b] = order[b], order[a]
    return swapped
