"""The tables of a comparison: every case with its numbers, their errors, the closed forms and what decides them."""

from __future__ import annotations

from collections.abc import Sequence

from studies.compare.compared import PER_CENT, Quantity, heading, quantity_of
from studies.compare.number import Number
from studies.compare.table import Row
from studies.text.grid import Cell, Grid, Head
from studies.text.numbers import NONE, percent, plain, with_error
from studies.text.units import Unit, common_unit

MOST_COLUMNS = 7
"""Most columns of a table beside the names of the cases."""
SHARE_FLOOR = 5e-5
"""Shares below this are written as less than a hundredth of a per cent. [-]"""
NEGLIGIBLE = 1e-8
"""Numbers below this share of the largest of their column are left over from rounding. [-]"""
ROUNDING = 1e-9
"""Share by which equal numbers may differ where lengths were rounded. [-]"""
ROUNDED_AWAY = "≈ 0"

Columns = list[tuple[Head, tuple[str | Cell, ...]]]


def number_table(caption: str, names: Sequence[str], rows: Sequence[Row]) -> list[Grid]:
    """Some quantities of the cases as a table, or several where there are more columns than a page holds."""
    tables: list[Columns] = []
    for name in names:
        own = _columns_of(name, rows)
        if not tables or len(tables[-1]) + len(own) > MOST_COLUMNS:
            tables.append([])
        tables[-1] += own
    return [
        Grid(
            caption if number == 0 else f"{caption}, continued",
            (Head("Case"), *(column for column, _ in columns)),
            tuple((row.label, *(cells[k] for _, cells in columns)) for k, row in enumerate(rows)),
        )
        for number, columns in enumerate(tables)
    ]


def _columns_of(name: str, rows: Sequence[Row]) -> Columns:
    """The column of a quantity, then what decides it, then its closed form, where there are."""
    unit = _unit(name, rows)
    entries = [row.entry(name) for row in rows]
    symbol = unit.symbol if unit else ""
    columns: Columns = [(Head(heading(name), symbol), tuple(_cell(name, entry, entries, unit) for entry in entries))]
    if unit is not None and any(entry.place for entry in entries):
        columns.append((Head("decided by"), tuple(entry.place or NONE for entry in entries)))
    if unit is not None and any(entry.formula is not None for entry in entries):
        columns.append((Head("by formula", symbol), tuple(_formula(entry, unit) for entry in entries)))
    return columns


def _unit(name: str, rows: Sequence[Row]) -> Unit | None:
    quantity = quantity_of(name)
    known = [float(value) for row in rows if (value := row.number(name)) is not None]
    return common_unit(known, quantity.units) if quantity.units else None


def _cell(name: str, entry: Number, entries: Sequence[Number], unit: Unit | None) -> str | Cell:
    quantity, value = quantity_of(name), entry.value
    if value is None:
        return NONE
    if unit is None:
        return entry.place or NONE
    largest = max(abs(float(other.value)) for other in entries if other.value is not None)
    text = ROUNDED_AWAY if 0 < abs(value) < NEGLIGIBLE * largest else _number(quantity, entry, unit)
    if name == "worst_field_over_limit" and float(value) + (entry.error or 0.0) > 1:
        return Cell(text, "bad")
    return Cell(text, "good") if _is_best(quantity, entry, entries) else text


def _number(quantity: Quantity, entry: Number, unit: Unit) -> str:
    value = float(entry.value or 0.0)
    if quantity.key == "unknowns":
        return f"{value:,.0f}".replace(",", "\u2009")
    if entry.error:
        number, spread = with_error(value, entry.error, unit)
        return f"{number} ± {spread}"
    if quantity.units == PER_CENT:
        return percent(value, signed=False) if value >= SHARE_FLOOR else "< 0.01"
    return plain(unit.of(value), 4)


def _formula(entry: Number, unit: Unit) -> str:
    if entry.formula is None:
        return NONE
    if entry.value is not None and abs(entry.formula) < NEGLIGIBLE * max(abs(float(entry.value)), unit.size):
        return "0" if entry.formula == 0 else ROUNDED_AWAY
    return plain(unit.of(entry.formula), 4)


def _is_best(quantity: Quantity, entry: Number, entries: Sequence[Number]) -> bool:
    """Whether a number is the lowest of its column or equals it within the errors, and not all do."""
    known = [other for other in entries if other.value is not None]
    if quantity.better != "lower" or len(known) < 2:
        return False
    least = min(known, key=lambda other: float(other.value or 0.0))

    def equal(other: Number) -> bool:
        reach = (other.error or 0.0) + (least.error or 0.0) + ROUNDING * abs(float(least.value or 0.0))
        return float(other.value or 0.0) - float(least.value or 0.0) <= reach

    return equal(entry) and not all(equal(other) for other in known)
