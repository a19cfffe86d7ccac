"""Search for the best phase order: all of them where that is feasible, else annealing that does not claim a proof."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fem.mesh import Floats
from studies.orders.transfer import Labels

MOST_EXHAUSTIVE = 3_000_000
"""Orders up to which all are tried."""
BATCH = 8192
ANNEALING_STEPS = 400
ANNEALING_CHAINS = 256

Objective = Callable[[Labels], Floats]
"""Value of each order of a batch (orders, n) -> (orders,); smaller is better."""


@dataclass(frozen=True)
class Found:
    """Outcome of a search."""

    orders: Labels
    """The best orders, best first, shape (kept, n)."""
    values: Floats
    """Their values, shape (kept,)."""
    tried: int
    """Orders that were judged."""
    possible: int
    """Orders there are, those that differ by a symmetry counted once."""
    proved: bool
    """Whether every order was tried, so that none is better."""


def count_orders(groups: Sequence[Sequence[int]], turn: bool) -> int:
    """Number of orders of groups of labels; divided by three where a common turn of L1, L2, L3 changes nothing."""
    total = 1
    for group in groups:
        total *= math.factorial(len(group))
        for label in set(group):
            total //= math.factorial(list(group).count(label))
    return total // 3 if turn else total


def search(groups: Sequence[Sequence[int]], objective: Objective, *, turn: bool, keep: int = 3, seed: int = 1) -> Found:
    """The best orders of the labels within each group.

    Parameters
    ----------
    groups : sequence of sequence of int
        Labels of the conductors, circuit by circuit; labels move within their circuit only.
    objective : callable
        Judges a batch of orders.
    turn : bool
        Whether turning all labels of every circuit by one phase leaves the objective as it is (balanced currents);
        then the first conductor keeps its label.
    keep : int
        How many of the best are returned.
    seed : int
        Seed of the annealing, where all orders are too many.
    """
    possible = count_orders(groups, turn)
    if possible <= MOST_EXHAUSTIVE:
        orders, values, tried = _exhaust(groups, objective, turn, keep)
        return Found(orders, values, tried, possible, proved=True)
    orders, values, tried = _anneal(groups, objective, keep, seed)
    return Found(orders, values, tried, possible, proved=False)


def _exhaust(
    groups: Sequence[Sequence[int]], objective: Objective, turn: bool, keep: int
) -> tuple[Labels, Floats, int]:
    best: Labels = np.zeros((0, sum(map(len, groups))), dtype=np.int8)
    values: Floats = np.zeros(0)
    tried = 0
    stream = _all_orders(groups, turn)
    while batch := list(itertools.islice(stream, BATCH)):
        labels = np.array(batch, dtype=np.int8)
        best, values = _best(np.vstack([best, labels]), np.concatenate([values, objective(labels)]), keep)
        tried += len(labels)
    return best, values, tried


def _all_orders(groups: Sequence[Sequence[int]], turn: bool) -> Iterator[tuple[int, ...]]:
    """Every order once; with a turn only those in which the first conductor has its present label."""
    first, *others = groups
    heads = _arrangements(sorted(first))
    if turn:
        heads = (head for head in heads if head[0] == first[0])
    rests = [list(_arrangements(sorted(group))) for group in others]
    for head in heads:
        for rest in itertools.product(*rests):
            yield tuple(itertools.chain(head, *rest))


def _arrangements(labels: list[int]) -> Iterator[tuple[int, ...]]:
    """Distinct arrangements of labels with repeats, in lexical order (Narayana's next permutation)."""
    current = list(labels)
    while True:
        yield tuple(current)
        k = len(current) - 2
        while k >= 0 and current[k] >= current[k + 1]:
            k -= 1
        if k < 0:
            return
        m = len(current) - 1
        while current[k] >= current[m]:
            m -= 1
        current[k], current[m] = current[m], current[k]
        current[k + 1 :] = reversed(current[k + 1 :])


def _anneal(groups: Sequence[Sequence[int]], objective: Objective, keep: int, seed: int) -> tuple[Labels, Floats, int]:
    """Many chains side by side, each swapping two labels of one circuit; cooled geometrically."""
    rng = np.random.default_rng(seed)
    starts = np.cumsum([0] + [len(group) for group in groups])
    chains = np.empty((ANNEALING_CHAINS, starts[-1]), dtype=np.int8)
    for group, start in zip(groups, starts[:-1], strict=True):
        for chain in chains:
            chain[start : start + len(group)] = rng.permutation(group)
    chains[0] = np.concatenate([np.asarray(group) for group in groups])  # today's order takes part
    values = objective(chains)
    best, best_values = _best(chains.copy(), values.copy(), keep)
    movable = [k for k, group in enumerate(groups) if len(set(group)) > 1]
    temperature = max(float(np.std(values)), 1e-12 * float(np.abs(values).max()))
    cooling = 1e-4 ** (1 / ANNEALING_STEPS)
    tried = len(chains)
    rows = np.arange(ANNEALING_CHAINS)
    for _ in range(ANNEALING_STEPS):
        chosen = rng.choice(movable, size=ANNEALING_CHAINS)
        sizes = np.array([len(groups[g]) for g in chosen])
        a = starts[chosen] + (rng.random(ANNEALING_CHAINS) * sizes).astype(int)
        b = starts[chosen] + (rng.random(ANNEALING_CHAINS) * sizes).astype(int)
        moved = chains.copy()
        moved[rows, a], moved[rows, b] = chains[rows, b], chains[rows, a]
        new = objective(moved)
        tried += len(moved)
        with np.errstate(over="ignore"):
            accept = rng.random(ANNEALING_CHAINS) < np.exp(-np.maximum(new - values, 0) / temperature)
        chains[accept], values[accept] = moved[accept], new[accept]
        best, best_values = _best(np.vstack([best, moved]), np.concatenate([best_values, new]), keep)
        temperature *= cooling
    return best, best_values, tried


def _best(labels: Labels, values: Floats, keep: int) -> tuple[Labels, Floats]:
    """The best distinct orders, ties settled by the order itself."""
    unique, first = np.unique(labels, axis=0, return_index=True)
    rank = np.argsort(values[first], kind="stable")[:keep]
    return unique[rank], values[first][rank]
