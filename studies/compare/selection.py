"""Which cases are shown where there is no room for all, and which pairs of aspects are set against each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from studies.compare.criteria import FIELD, LOSS, WIDTH, Aspect, aspects
from studies.compare.grid import labels_of
from studies.compare.pareto import non_dominated
from studies.compare.table import Comparison, Row

PAIRS = {"field_against_loss": (FIELD, LOSS), "field_against_width": (FIELD, WIDTH)}
"""Aspects that pull against each other, by the stem of their figure."""


def trade_offs(rows: Sequence[Row]) -> dict[str, tuple[Aspect, Aspect]]:
    """The pairs of aspects that are drawn against each other, by the stem of their figure."""
    by_noun = {aspect.noun: aspect for aspect in aspects(rows)}
    return {
        stem: (by_noun[first], by_noun[second])
        for stem, (first, second) in PAIRS.items()
        if first in by_noun and second in by_noun
    }


def shown_rows(rows: Sequence[Row], most: int) -> tuple[Row, ...]:
    """As many of some solved cases as there is room for, in their order.

    Where there are too many: base study, the best in each aspect, variants, those that no other beats in a pair of
    aspects, and then the others that are best in the first aspect.
    """
    if len(rows) <= most:
        return tuple(rows)
    wanted = [k for k, row in enumerate(rows) if row.origin == "base"]
    wanted += [leader for aspect in aspects(rows) for leader in aspect.leaders()[:1]]
    wanted += [k for k, row in enumerate(rows) if row.origin in ("variant", "transposed")]
    for first, second in trade_offs(rows).values():
        wanted += [int(k) for k in np.flatnonzero(non_dominated(first.rounded, second.rounded))]
    rest = np.argsort(aspects(rows)[0].values, kind="stable").tolist() if aspects(rows) else range(len(rows))
    chosen = list(dict.fromkeys([*wanted, *rest]))[:most]
    return tuple(rows[k] for k in sorted(chosen))


def grid_note(comparison: Comparison, rows: Sequence[Row]) -> str:
    """What the values stand for by which cases of a grid are named where there is little room; empty where none is."""
    if not any(row.brief != row.label for row in rows):
        return ""
    return f"cases of the grid by their {', '.join(labels_of(list(comparison.swept)))}"
