"""Which cases keep every limit, and the order in which a report lists the cases."""

from __future__ import annotations

from collections.abc import Sequence

from studies.compare.comparison import CaseRow

WORST = "worst_field_over_limit"


def keeps_limits(row: CaseRow) -> bool | None:
    """Whether the worst field of a case, with its error, stays at or under its limit; None where none is judged."""
    entry = row.entry(WORST)
    return None if entry.value is None else float(entry.value) + (entry.error or 0.0) <= 1


def limits_first(rows: Sequence[CaseRow]) -> tuple[CaseRow, ...]:
    """The cases that keep every limit before all others, else in their order."""
    return tuple(sorted(rows, key=lambda row: keeps_limits(row) is not True))
