"""The tables of a comparison: each case with its numbers on the page, and with what it is judged by in a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from studies.compare.case_numbers import CaseNumber
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.criteria import (
    COST,
    ENERGY,
    FIELD,
    LEAST_SHARE,
    LIMIT,
    LOSS,
    NEGLIGIBLE,
    ROUNDED_AWAY,
    ROUNDING,
    Criterion,
    criteria_of,
    grid_note,
    parts_of_loss,
    shown_rows,
    units_of,
)
from studies.compare.quantities import Quantity, heading, quantity_of
from studies.text.grid import Tone
from studies.text.table import Column, Table, Value
from studies.text.units import NUMBER, PER_CENT, Units

MOST_COLUMNS = 9
"""Most columns of a table of the page beside the names of the cases."""
MOST_LISTED = 30
"""Most cases that the table of a terminal lists."""


def number_tables(caption: str, names: Sequence[str], rows: Sequence[CaseRow], units: Units) -> list[Table[CaseRow]]:
    """Some quantities of the cases as a table, or several if there are more columns than a page holds."""
    groups: list[list[Column[CaseRow]]] = []
    room = 0
    for name in names:
        own = _columns_of(name, rows)
        width = len(own) + (own[0].error is not None)
        if width > room:
            groups.append([])
            room = MOST_COLUMNS
        groups[-1] += own
        room -= width
    case: Column[CaseRow] = Column("Case", lambda row: row.label)
    return [
        Table(caption if k == 0 else f"{caption}, continued", (case, *group), rows, units=units)
        for k, group in enumerate(groups)
    ]


def _columns_of(name: str, rows: Sequence[CaseRow]) -> list[Column[CaseRow]]:
    """The column of a quantity, then the place that decides it and its closed form, if there are any."""
    quantity, entries = quantity_of(name), [row.entry(name) for row in rows]
    if quantity.unit is None:
        return [Column(heading(name), lambda row: row.entry(name).place or None)]
    largest = max((abs(float(entry.value)) for entry in entries if entry.value is not None), default=0.0)
    columns: list[Column[CaseRow]] = [
        Column(
            *(heading(name), lambda row: _value(quantity, row.entry(name), largest), quantity.unit),
            error=(lambda row: row.entry(name).error) if any(entry.error for entry in entries) else None,
            tone=lambda row: _tone(quantity, row.entry(name), entries),
        )
    ]
    if any(entry.place for entry in entries):
        columns.append(Column("Decided by", lambda row: row.entry(name).place or None))
    if any(entry.formula is not None for entry in entries):
        columns.append(Column("Formula", lambda row: _formula(row.entry(name)), quantity.unit))
    return columns


def _value(quantity: Quantity, entry: CaseNumber, largest: float) -> Value:
    """The value; words if rounding alone made it or it is too small for per cent with two decimals."""
    if entry.value is None:
        return None
    if 0 < abs(entry.value) < NEGLIGIBLE * largest:
        return ROUNDED_AWAY
    if quantity.unit == PER_CENT and not entry.error and 0 < entry.value < LEAST_SHARE / 2:
        return f"< {100 * LEAST_SHARE:g}"
    return entry.value


def _formula(entry: CaseNumber) -> Value:
    if entry.formula and entry.value is not None and abs(entry.formula) < NEGLIGIBLE * abs(float(entry.value)):
        return ROUNDED_AWAY
    return entry.formula


def _tone(quantity: Quantity, entry: CaseNumber, entries: Sequence[CaseNumber]) -> Tone:
    """Bad on the wrong side of 1; good for the best and those equal to it within the errors, unless all are."""
    if entry.value is None or not quantity.better:
        return ""
    sign = -1 if quantity.better == "higher" else 1

    def size(other: CaseNumber) -> float:
        return sign * float(other.value or 0.0)

    if quantity.key in OF_ONE and size(entry) + (entry.error or 0.0) > sign:
        return "bad"
    known = [other for other in entries if other.value is not None]
    if len(known) < 2:
        return ""
    best = min(known, key=size)

    def equal(other: CaseNumber) -> bool:
        reach = (other.error or 0.0) + (best.error or 0.0) + ROUNDING * abs(size(best))
        return size(other) - size(best) <= reach

    return "good" if equal(entry) and not all(map(equal, known)) else ""


OF_ONE = ("worst_field_over_limit", "current_over_permitted", "equal_heat_factor")
"""Quantities that 1 judges."""


def criteria_table(comparison: Comparison) -> Table[int]:
    """The cases with what they differ in, and always field, loss and its energy; rows are places in `solved`."""
    everything = comparison.solved
    rows = shown_rows(everything, MOST_LISTED)
    shown = [own for own in criteria_of(everything) if own.differs or own.noun in (FIELD, LOSS, ENERGY, COST)]
    loss = next((k for k, criterion in enumerate(shown) if criterion.noun == LOSS), len(shown))
    shown[loss:loss] = parts_of_loss(everything)
    columns: list[Column[int]] = [Column("Case", lambda k: everything[k].brief)]
    for criterion in shown:
        columns += _columns_of_criterion(criterion)
    columns.append(Column("Clear gaps kept", lambda k: everything[k].entry("spacing_rules_met").place))
    title = f"{comparison.base.title}: {len(everything)} cases"
    if len(rows) < len(everything):
        title += f", of which {len(rows)} are listed, the best among them; the files hold all"
    note = grid_note(comparison, rows)
    listed = [everything.index(row) for row in rows]
    return Table(f"{title} ({note})" if note else title, columns, listed, units=units_of(everything))


def _columns_of_criterion(criterion: Criterion) -> list[Column[int]]:
    columns: list[Column[int]] = [
        Column(
            *(criterion.title, criterion.value, NUMBER if criterion.unit is LIMIT else criterion.unit),
            error=lambda k: criterion.errors[k] or None,
        )
    ]
    if criterion.noun == FIELD and len(set(criterion.places)) > 1:
        columns.append(Column("At", lambda k: criterion.places[k]))
    return columns
