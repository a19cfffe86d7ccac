"""Every distinct order of the labels of circuits, in batches; orders that are the same by symmetry once."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from fem.arrays import Flags
from studies.answers.orders.symmetry import Exchange, Symmetry
from studies.answers.orders.transfer import Labels

CHUNK = 200_000
"""Arrangements of one circuit that are made at a time."""


def count_arrangements(group: Sequence[int]) -> int:
    """Number of distinct orders of labels with repeats."""
    total = math.factorial(len(group))
    for count in Counter(group).values():
        total //= math.factorial(count)
    return total


def count_orders(groups: Sequence[Sequence[int]], same: Symmetry) -> int:
    """Number of orders of all circuits; those that are the same by symmetry count once."""
    # all labels are present, so that no exchange but that of nothing leaves an order as it is
    return math.prod(count_arrangements(group) // len(same.filters(k)) for k, group in enumerate(groups))


def batches(groups: Sequence[Sequence[int]], same: Symmetry, size: int) -> Iterator[Labels]:
    """Every order once, shape (up to size, n) each."""
    own = [_distinct(group, same.filters(k)) for k, group in enumerate(groups)]
    shape = tuple(len(arrangements) for arrangements in own)
    total = math.prod(shape)
    for first in range(0, total, size):
        index = np.unravel_index(np.arange(first, min(first + size, total)), shape)
        yield np.hstack([arrangements[k] for arrangements, k in zip(own, index, strict=True)])


def _distinct(group: Sequence[int], exchanges: Sequence[Exchange]) -> Labels:
    """The orders of one circuit, of those that exchanges make of each other the first, shape (orders, n)."""
    kept = []
    for labels in _arrangements(sorted(group)):
        for exchange in exchanges:
            labels = labels[_comes_first(labels, exchange)]
        kept.append(labels)
    return np.vstack(kept)


def _comes_first(labels: Labels, exchange: Exchange) -> Flags:
    """Whether orders stand before what an exchange makes of them, told by the first label that it moves, (orders,)."""
    change = np.zeros(max(exchange) + 1, dtype=np.int8)
    change[list(exchange)] = np.sign([new - old for old, new in exchange.items()])
    found = change[labels[:, 0]]
    for place in range(1, labels.shape[1]):
        if np.all(found) or not change.any():
            break
        found = np.where(found == 0, change[labels[:, place]], found)
    earlier: Flags = found >= 0
    return earlier


def _arrangements(labels: list[int]) -> Iterator[Labels]:
    """Distinct orders of sorted labels with repeats, in chunks."""
    first, places = labels[0], len(labels)
    count = labels.count(first)
    others = labels[count:]
    if not others:
        yield np.full((1, places), first, dtype=np.int8)
        return
    rest = np.vstack(list(_arrangements(others)))
    chosen = itertools.combinations(range(places), count)
    step = max(CHUNK // len(rest), 1)
    while some := list(itertools.islice(chosen, step)):
        taken = np.zeros((len(some), places), dtype=bool)
        np.put_along_axis(taken, np.array(some), values=True, axis=1)
        chunk = np.full((len(some), len(rest), places), first, dtype=np.int8)
        free = np.nonzero(~taken)[1].reshape(len(some), 1, places - count)
        np.put_along_axis(chunk, np.broadcast_to(free, (len(some), *rest.shape)), rest[None], axis=2)
        yield chunk.reshape(-1, places)
