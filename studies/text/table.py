"""A table of typed columns over rows: every renderer uses the same cells, and files use the same values."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from numbers import Integral
from typing import Generic, TypeGuard, TypeVar

from studies.text.grid import MARK_NOTE, OUT_OF_TOLERANCE, Cell, Grid, Head, Tone, error_cell
from studies.text.numbers import (
    GAP,
    NONE,
    angle,
    brief,
    count,
    difference,
    pair_with_error,
    percent,
    significant,
    stated_number,
    with_error,
)
from studies.text.units import DEGREE, NUMBER, PER_CENT, Family, Unit, Units

Row = TypeVar("Row")
Value = str | float | complex | None
LEAST_PER_CENT = 5e-5
"""Below this a ratio in per cent is 0.00 in brief: it is mostly left over from rounding. [-]"""
ROUND_OFF = 1e-9
"""Numbers below this share of the largest of their column, or of 1 in per cent, are round-off and read 0. [-]

A double carries 1e-16, and solving for admittances and their differences costs up to six digits of it.
"""
Raw = str | float | None
"""A value in a file: a number in SI, words or nothing."""


@dataclass(frozen=True)
class Column(Generic[Row]):
    """A column: its heading and its value of each row, in SI."""

    heading: str | tuple[str, str]
    """Two for a complex value: of its real and imaginary part, or of its magnitude and angle."""
    value: Callable[[Row], Value]
    """A number in SI; words; None for a dash. A column of numbers may hold words, such as "not exceeded"."""
    unit: Unit | Family | None = None
    """None for words. All columns of a family have the same unit in a table, and in a result that chose one."""
    error: Callable[[Row], float | None] | None = None
    """Adds a column ±; the value has the decimals of its error."""
    digits: int = 4
    """Significant digits of a number without an error."""
    signed: bool = False
    """Whether a positive number in per cent has a plus sign, as for a difference."""
    stated: bool = False
    """Whether the number was stated, such as a limit: no trailing zeros."""
    unit_in_cells: bool = False
    """Whether each number has the unit behind it and the heading none: words among the numbers are in another unit."""
    polar: bool = False
    """Whether a complex value is shown as magnitude and angle."""
    missed: Callable[[Row], bool] | None = None
    """Whether the error is above the asked tolerance, and therefore marked."""
    tone: Callable[[Row], Tone] | None = None
    """Emphasis of the cell of a row."""
    target: Callable[[Row], str] | None = None
    """Anchor of the section that a cell of words refers to."""
    brief: bool = False
    """Whether the brief form, as in a terminal, shows it."""
    short: str = ""
    """Its heading in the brief form, if different."""
    optional: bool = False
    """Whether it is left out if no row has a value."""
    key: str = ""
    """Its name in files, without the unit; by default made from the heading."""

    @property
    def headings(self) -> tuple[str, ...]:
        """Its headings, two of a complex value, without that of the error."""
        return (self.heading,) if isinstance(self.heading, str) else self.heading


def difference_column(
    formula: Callable[[Row], float | None],
    computed: Callable[[Row], float | None],
    brief: bool = False,
    optional: bool = False,
    heading: str = "Difference",
) -> Column[Row]:
    """Column of a difference, formula / computed - 1, with its sign."""
    return Column(
        *(heading, lambda row: difference(formula(row), computed(row)), PER_CENT),
        signed=True,
        brief=brief,
        optional=optional,
    )


@dataclass(frozen=True)
class Table(Generic[Row]):
    """Rows and their columns; cells and values are made immediately, so that an error appears at its origin."""

    caption: str
    columns: Sequence[Column[Row]]
    rows: Sequence[Row]
    note: str = ""
    units: Units = field(default_factory=Units)
    """Units chosen for the whole result."""
    brief_rows: Callable[[Row], bool] | None = None
    """Which rows are shown in brief; all if None."""
    brief_note: str = ""
    full: Grid = field(init=False, repr=False, compare=False)
    """Every column, with errors."""
    brief: Grid = field(init=False, repr=False, compare=False)
    """Columns marked as brief (all, if none is), three significant digits, no errors, the same units."""
    numbers: tuple[tuple[Raw, ...], ...] = field(init=False, repr=False, compare=False)
    """The cells of `full` as numbers in the units of its headings, with all digits, and words."""
    names: tuple[str, ...] = field(init=False, repr=False, compare=False)
    """Names of the columns of a file, with their SI units."""
    values: tuple[tuple[Raw, ...], ...] = field(init=False, repr=False, compare=False)
    """The numbers of each row in SI, and its words."""

    def __post_init__(self) -> None:
        """Make cells and values."""
        made = [_Made(column, self.rows, self._unit(column)) for column in self.columns]
        shown = [own for own in made if not (own.column.optional and own.is_empty)]
        marked = any(own.marked for own in shown)
        few = [own for own in shown if own.column.brief] or shown
        kept = [k for k, row in enumerate(self.rows) if self.brief_rows is None or self.brief_rows(row)]
        few_marked = any(own.marks[k] for own in few for k in kept)
        columns = [column for own in made for column in own.raw]
        of = object.__setattr__
        of(self, "full", self._grid([own.full for own in shown], range(len(self.rows)), self.note, marked))
        of(self, "brief", self._grid([own.brief for own in few], kept, self.brief_note, few_marked))
        numbers = [column for own in shown for column in own.numbers]
        of(self, "numbers", tuple(tuple(values[k] for values in numbers) for k in range(len(self.rows))))
        of(self, "names", _apart(name for name, _ in columns))
        of(self, "values", tuple(tuple(values[k] for _, values in columns) for k in range(len(self.rows))))

    def _unit(self, column: Column[Row]) -> Unit | None:
        """The unit of a column, the same for all columns of its family."""
        if column.unit is None or isinstance(column.unit, Unit):
            return column.unit
        kin = [other for other in self.columns if other.unit == column.unit]
        values = [abs(value) for other in kin for value in map(other.value, self.rows) if _is_number(value)]
        least = ROUND_OFF * max((value for value in values if math.isfinite(value)), default=0.0)
        return self.units.of(column.unit, [value for value in values if value >= least])

    def _grid(self, groups: Sequence[_Cells], kept: Sequence[int], note: str, marked: bool) -> Grid:
        heads = tuple(head for group in groups for head, _ in group)
        rows = tuple(tuple(cells[k] for group in groups for _, cells in group) for k in kept)
        return Grid(self.caption, heads, rows, " ".join(part for part in (note, MARK_NOTE if marked else "") if part))


_Cells = Sequence[tuple[Head, Sequence[str | Cell]]]


class _Made(Generic[Row]):
    """The cells of a column, in full and in brief, and its values."""

    def __init__(self, column: Column[Row], rows: Sequence[Row], unit: Unit | None) -> None:
        self.column, self.unit = column, unit
        self.own = [column.value(row) for row in rows]
        self.errors = [None if column.error is None else column.error(row) for row in rows]
        self.raw = self._raw()
        least = self._least()
        self.own = [_without_round_off(value, least) for value in self.own]
        self.errors = [
            0.0 if error is not None and value == 0 and error < least else error
            for value, error in zip(self.own, self.errors, strict=True)
        ]
        self.tones: list[Tone] = ["" if column.tone is None else column.tone(row) for row in rows]
        self.targets = ["" if column.target is None else column.target(row) for row in rows]
        self.marks = [
            column.missed is not None and _is_number(value) and column.missed(row)
            for row, value in zip(rows, self.own, strict=True)
        ]
        self.is_empty = all(value is None for value in self.own)
        self.marked = any(self.marks)
        self.full = self._full()
        self.brief = self._brief()
        self.numbers = self._numbers()

    def _least(self) -> float:
        """Size below which a number of the column is round-off, in SI."""
        if self.unit is None or self.unit == PER_CENT:
            return ROUND_OFF
        sizes = [abs(value) for value in self.own if _is_number(value)]
        return ROUND_OFF * max((size for size in sizes if math.isfinite(size)), default=0.0)

    def _full(self) -> _Cells:
        lines = [self._texts(value, error) for value, error in zip(self.own, self.errors, strict=True)]
        heads = self._heads(self.column.headings)
        groups: list[tuple[Head, Sequence[str | Cell]]] = []
        for n, head in enumerate(heads):
            cells = zip(lines, self.tones, self.targets, strict=True)
            groups.append((head, [_emphasised(line[n], tone, target) for line, tone, target in cells]))
        if self.column.error is not None:
            spreads = [error_cell(line[-1], not mark) for line, mark in zip(lines, self.marks, strict=True)]
            at = 1 if self.column.polar else len(heads)
            groups.insert(at, (Head("±", heads[0].unit), spreads))
        elif self.marked:
            groups[0] = (groups[0][0], [_marked(c, m) for c, m in zip(groups[0][1], self.marks, strict=True)])
        return groups

    def _brief(self) -> _Cells:
        headings = self.column.headings
        heads = self._heads((self.column.short or headings[0], *headings[1:]))
        lines = [self._brief_texts(value, error) for value, error in zip(self.own, self.errors, strict=True)]
        groups = [
            (head, [_emphasised(line[n], tone) for line, tone in zip(lines, self.tones, strict=True)])
            for n, head in enumerate(heads)
        ]
        groups[0] = (groups[0][0], [_marked(c, m) for c, m in zip(groups[0][1], self.marks, strict=True)])
        return groups

    def _heads(self, headings: Sequence[str]) -> list[Head]:
        symbol = "" if self.unit is None else self.unit.symbol
        heads = [Head(heading, symbol, self.column.unit_in_cells) for heading in headings]
        if self.column.polar:
            heads[1] = Head(headings[1], DEGREE.symbol)
        return heads

    def _texts(self, value: Value, error: float | None) -> tuple[str, ...]:
        """Texts of the value's columns, then of its error."""
        unit, column = self.unit, self.column
        width = len(column.headings)
        if value is None or isinstance(value, str) or unit is None:
            return (*([NONE if value is None else str(value)] * width), NONE)
        if width == 2:
            return self._complex_texts(complex(value), error, unit)
        number = _real(value)
        if error is not None:
            return with_error(number, error, unit)
        return self._number(value, number, unit), NONE

    def _complex_texts(self, value: complex, error: float | None, unit: Unit) -> tuple[str, ...]:
        digits = self.column.digits
        if self.column.polar:
            magnitude, spread = significant(abs(value), unit, digits), NONE
            if error is not None:
                magnitude, spread = with_error(abs(value), error, unit)
            return magnitude, angle(value), spread
        if error is not None:
            return pair_with_error(value.real, value.imag, error, unit)
        return significant(value.real, unit, digits), significant(value.imag, unit, digits), NONE

    def _number(self, value: Value, number: float, unit: Unit) -> str:
        if isinstance(value, Integral) and unit.size == 1.0:
            return count(int(number))
        if self.column.stated:
            return stated_number(number, unit)
        is_percent = unit == PER_CENT
        text = percent(number, self.column.signed) if is_percent else significant(number, unit, self.column.digits)
        return f"{text}{GAP}{unit.symbol}" if self.column.unit_in_cells else text

    def _brief_texts(self, value: Value, error: float | None) -> tuple[str, ...]:
        unit, width = self.unit, len(self.column.headings)
        if value is None or isinstance(value, str) or unit is None:
            return self._texts(value, None)[:width]
        if width == 2:
            whole = complex(value)
            if self.column.polar:
                return brief(abs(whole), unit, error), angle(whole)
            return brief(whole.real, unit, error), brief(whole.imag, unit, error)
        number = _real(value)
        is_percent = unit == PER_CENT and (error is None or abs(number) < LEAST_PER_CENT)
        as_in_full = self.column.stated or isinstance(value, Integral) or is_percent
        return (self._number(value, number, unit) if as_in_full else brief(number, unit, error),)

    def _numbers(self) -> list[list[Raw]]:
        """The values in the unit of the headings, of the same columns as in full."""
        column, unit = self.column, self.unit
        of: Callable[[float], float] = NUMBER.of if unit is None else unit.of
        if len(column.headings) == 1:
            found: list[list[Raw]] = [[of(_real(v)) if _is_number(v) else _raw_of(v) for v in self.own]]
        else:
            wholes = [complex(v) if _is_number(v) else None for v in self.own]
            parts: list[Callable[[complex], float]] = [lambda v: of(v.real), lambda v: of(v.imag)]
            if column.polar:
                parts = [lambda v: of(abs(v)), lambda v: DEGREE.of(cmath.phase(v))]
            found = [[None if v is None else part(v) for v in wholes] for part in parts]
        if column.error is not None:
            errors: list[Raw] = [None if error is None else of(error) for error in self.errors]
            found.insert(1 if column.polar else len(found), errors)
        return found

    def _raw(self) -> list[tuple[str, list[Raw]]]:
        column = self.column
        suffix = f"_{self.unit.si_suffix}" if self.unit is not None and self.unit.si_suffix else ""
        stem = column.key or _slug(" ".join(column.headings))
        if len(column.headings) == 1:
            found: list[tuple[str, list[Raw]]] = [(stem + suffix, [_raw_of(value) for value in self.own])]
        else:
            wholes = [complex(v) if _is_number(v) else v for v in self.own]
            found = [
                (f"{stem}{suffix}_re", [v.real if isinstance(v, complex) else v for v in wholes]),
                (f"{stem}{suffix}_im", [v.imag if isinstance(v, complex) else v for v in wholes]),
            ]
        return [*found, (f"{stem}_error{suffix}", list(self.errors))] if column.error is not None else found


def _is_number(value: Value) -> TypeGuard[float | complex]:
    return value is not None and not isinstance(value, str)


def _real(value: float | complex) -> float:
    if isinstance(value, complex):
        raise TypeError(f"a complex value {value!r} in a column with one heading")
    return float(value)


def _without_round_off(value: Value, least: float) -> Value:
    """A value, or 0 if it or its part of a complex number is smaller than what rounding leaves."""
    if isinstance(value, complex):
        return complex(*(0.0 if abs(part) < least else part for part in (value.real, value.imag)))
    return 0.0 if isinstance(value, float) and abs(value) < least else value


def _raw_of(value: Value) -> Raw:
    return _real(value) if isinstance(value, complex) else value


def _emphasised(text: str, tone: Tone, target: str = "") -> str | Cell:
    return Cell(text, tone, target) if tone or target else text


def _marked(cell: str | Cell, marked: bool) -> str | Cell:
    text = cell if isinstance(cell, str) else cell.text
    return Cell(text + OUT_OF_TOLERANCE, "bad") if marked else cell


def _slug(heading: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", heading.lower()).strip("_") or "value"


def _apart(names: Iterable[str]) -> tuple[str, ...]:
    """The names, with a number after each repeated one."""
    found: dict[str, int] = {}
    told = []
    for name in names:
        found[name] = found.get(name, 0) + 1
        told.append(name if found[name] == 1 else f"{name}_{found[name]}")
    return tuple(told)


def full_grid(table: Table[Row] | Grid) -> Grid:
    """The full form of a table, for a page."""
    return table if isinstance(table, Grid) else table.full


def brief_grid(table: Table[Row] | Grid) -> Grid:
    """The brief form of a table, for a terminal."""
    return table if isinstance(table, Grid) else table.brief
