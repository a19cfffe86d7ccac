"""Expected cells, written as heading, unit and result field, and the comparison of a table that was read with them.

A table that is unknown, a heading that is unknown and a cell that shows anything but its field are told in a sentence
that names table, column, row, text and number. To add a column, add its line to the table's list in `cells_of_page` or
`cells_of_terminal`, in the order of the columns.
"""

import cmath
import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tests.studies.reading_cells import MARKS, ReadNumber, ReadTable, read_number, read_quantity

SIZES = {
    "nT": 1e-9,
    "µT": 1e-6,
    "mT": 1e-3,
    "T": 1.0,
    "mW/m": 1e-3,
    "W/m": 1.0,
    "kWh/m": 3.6e6,
    "kWh": 3.6e6,
    "mW/m²": 1e-3,
    "W/m²": 1.0,
    "kW/m²": 1e3,
    "W": 1.0,
    "mm": 1e-3,
    "m": 1.0,
    "mm²": 1e-6,
    "A": 1.0,
    "mA": 1e-3,
    "kA": 1e3,
    "mA/km": 1e-6,
    "µV": 1e-6,
    "mV": 1e-3,
    "V": 1.0,
    "kV": 1e3,
    "µV/m": 1e-6,
    "mV/m": 1e-3,
    "V/m": 1.0,
    "V/km": 1e-3,
    "Ω/km": 1e-3,
    "mΩ": 1e-3,
    "mH/km": 1e-6,
    "pF/m": 1e-12,
    "kg/m": 1.0,
    "N": 1.0,
    "N/m": 1.0,
    "Hz": 1.0,
    "MS/m": 1e6,
    "%": 0.01,
    "°": math.pi / 180,
    "°C": 1.0,
    "–": 1.0,
    "": 1.0,
}
"""What one of each unit is in SI; an angle of one degree in radians, a temperature in degrees Celsius."""
FLUX, LOSS = ("nT", "µT", "mT", "T"), ("mW/m", "W/m")
"""Units of which a table takes the one that suits its numbers."""
NOTHING = ("", "–")
TO_CHANGE = "If the table was changed on purpose, change the list of its columns in tests/studies/cells_of_*.py."
TONES = {"within the limit": "good", "above the limit": "bad", "limit within the error": "bad"}
"""How a verdict stands out."""
NEGLIGIBLE = 1e-6
"""What is so small beside the largest of its column, or beside its error, may be written as a zero. [-]"""


@dataclass(frozen=True)
class Expected:
    """A column: its heading, the units it may have, and what each row has in it, in SI."""

    heading: str
    units: tuple[str, ...]
    of: Callable[[Any], Any]
    kind: str = "number"
    """number, error, words, list (of numbers), quantity (with its unit in the cell) or percents (with its sign)."""
    error: Callable[[Any], Any] | None = None
    """Of a quantity that shows its error as well; of a number, that to whose first digit it is rounded."""
    within: Callable[[Any], bool] | None = None
    """Of an error that is marked unless it is as small as was asked."""
    otherwise: Callable[[Any], Any] | None = None
    mark: Callable[[Any], str] | None = None
    per: Callable[[Any], str] | None = None


def num(
    heading: str,
    units: str | tuple[str, ...],
    of: Callable[[Any], Any],
    within: Callable[[Any], bool] | None = None,
    error: Callable[[Any], Any] | None = None,
) -> Expected:
    """A column of numbers; marked where not within what was asked, if it has no column of its error.

    error: Of a table that does not show it; numbers have no more digits than it allows.
    """
    return Expected(heading, (units,) if isinstance(units, str) else units, of, within=within, error=error)


def err(
    units: str | tuple[str, ...], of: Callable[[Any], Any], within: Callable[[Any], bool] | None = None
) -> Expected:
    """A column of errors, rounded up, of the number before it; marked where not within what was asked."""
    return Expected("±", (units,) if isinstance(units, str) else units, of, "error", within=within)


def words(heading: str, of: Callable[[Any], Any]) -> Expected:
    """A column of words, or of numbers as they were stated; a regular expression says what they begin with."""
    return Expected(heading, ("",), of, "words")


def lists(heading: str, unit: str, of: Callable[[Any], Any]) -> Expected:
    """A column of a few numbers with commas between them."""
    return Expected(heading, (unit,), of, "list")


def quantity(
    heading: str,
    unit: str,
    of: Callable[[Any], Any],
    error: Callable[[Any], Any] | None = None,
    otherwise: Callable[[Any], Any] | None = None,
    per: Callable[[Any], str] | None = None,
    mark: Callable[[Any], str] | None = None,
) -> Expected:
    """A column of numbers that have their unit, and perhaps their error, in the cell.

    `otherwise`: the word where there is no number; `per`: the unit of a row, where rows differ in it; `mark`: what
    stands behind the unit of a row.
    """
    return Expected(heading, (unit,), of, "quantity", error, otherwise=otherwise, per=per, mark=mark)


def percents(heading: str, of: Callable[[Any], Any], unit: str = "%") -> Expected:
    """A column of ratios that have their sign for per cent in the cell."""
    return Expected(heading, (unit,), of, "percents")


@dataclass(frozen=True)
class Told:
    """Words that hold numbers, by what reads them."""

    read: Callable[[str], bool]
    words: str = ""

    def __repr__(self) -> str:
        """As a mistake names it."""
        return self.words

    def match(self, text: str) -> bool | None:
        """Whether a text says this; None if not, as of a regular expression."""
        return self.read(text) or None


@dataclass(frozen=True)
class Known:
    """A table that is known: its caption or first heading, the objects of its rows, and its columns in order."""

    caption: str
    rows: Sequence[Any]
    columns: Sequence[Expected]


def mistakes(table: ReadTable, known: Known, where: str) -> list[str]:
    """What a table shows that it should not, in sentences."""
    name = f"{where}, table “{table.caption or table.head[0][0]}”"
    headings = [column.heading for column in known.columns]
    found = [heading for heading, _ in table.head]
    if headings[-1] == "" and found == headings[:-1]:  # a column without a heading and a word has no width
        table = replace(table, head=(*table.head, ("", "")), rows=tuple((*row, "") for row in table.rows))
        found = headings
    if found != headings:
        stray = next(
            (pair for pair in zip([*found, "(none)"], [*headings, "(none)"], strict=False) if pair[0] != pair[1]),
            ("", ""),
        )
        sentence = f"{name}: heading “{stray[0]}” stands where the tests know “{stray[1]}”. {TO_CHANGE}"
        return [sentence]
    if len(table.rows) != len(known.rows):
        return [f"{name}: {len(table.rows)} rows, {len(known.rows)} expected"]
    units = [
        f"{name}, “{column.heading}”: unit “{unit}” is none of {column.units}"
        for (_, unit), column in zip(table.head, known.columns, strict=True)
        if column.kind not in ("quantity", "percents") and unit not in column.units
    ]
    if units:
        return units
    return [sentence for k in range(len(table.rows)) for sentence in _row_mistakes(table, known, k, name)]


def _row_mistakes(table: ReadTable, known: Known, k: int, name: str) -> list[str]:
    cells, row = table.rows[k], known.rows[k]
    found = []
    for n, (text, column) in enumerate(zip(cells, known.columns, strict=True)):
        size = SIZES[table.head[n][1]]
        step = _step_of_error(cells, known.columns, n)
        if column.kind == "number" and column.error is not None:
            step = 10.0 ** math.floor(math.log10(column.error(row) / size))
        expected = column.of(row)
        tone = TONES.get(text.partition(",")[0])
        if table.tones and tone is not None and column.heading == "Verdict" and table.tones[k][n] != tone:
            found.append(f"{name}, row {k + 1} ({cells[0]}): “{text}” stands out as “{table.tones[k][n]}”")
        if not (_is_round_off(text, table.head[n][1], expected) or _agrees(text, column, expected, size, step, row)):
            where = f"{name}, row {k + 1} ({cells[0]}), “{column.heading}”"
            shown = expected / size if isinstance(expected, float) and column.kind in ("number", "error") else expected
            found.append(f"{where}: “{text}” where {shown!r} {table.head[n][1]} is expected")
    return found


def _step_of_error(cells: Sequence[str], columns: Sequence[Expected], n: int) -> float:
    """A step of the error that stands behind a number, to which the number is rounded."""
    for k in (n + 1, n + 2):
        if k < len(columns) and columns[k].kind == "error":
            error = read_number(cells[k])
            return 10.0 ** math.floor(math.log10(error.value)) if error is not None and error.value > 0 else 0.0
        if k < len(columns) and columns[k].kind != "number":
            return 0.0
    return 0.0


def _agrees(text: str, column: Expected, expected: Any, size: float, step: float, row: Any) -> bool:
    if column.kind == "words":
        return _same_words(text, expected)
    if expected is None:
        return text == column.otherwise(row) if column.otherwise is not None else text in NOTHING
    if column.kind == "percents":
        return _agrees_with_sign(text, column.units[0], float(expected))
    if column.kind == "list":
        reads = [read_number(own) for own in text.split(", ")] if expected else []
        pairs = zip(reads, expected, strict=False)
        return (len(reads) == len(expected) or text in NOTHING) and all(
            read is not None and shows(read, value / size) for read, value in pairs
        )
    if column.kind == "quantity":
        return _agrees_with_unit(text, column, float(expected), row)
    if is_marked(text) is not (column.within is not None and not column.within(row)):
        return False
    value = float(expected) / size
    if not math.isfinite(value):
        return read_number(text) is None
    read = read_number(text)
    if read is None:
        return _is_tiny(text, value)
    return covers(read, value) if column.kind == "error" else shows(read, value, step)


def _is_round_off(text: str, unit: str, expected: Any) -> bool:
    """Whether a ratio that rounding leaves of zero reads 0."""
    return text == "0" and unit == "%" and isinstance(expected, float) and abs(expected) < 1e-9


def _is_tiny(text: str, value: float) -> bool:
    """Whether a text says of a tiny number that it is one."""
    bound = re.fullmatch(r"< (.*)", text)
    if bound is not None and (read := read_number(bound[1])) is not None:
        return 0 <= value < read.value
    return text == "≈ 0" and abs(value) < NEGLIGIBLE


def _same_words(text: str, expected: Any) -> bool:
    if isinstance(expected, re.Pattern | Told):
        return expected.match(text) is not None
    if "…" in text:  # cut to the width of a terminal
        start, _, end = text.partition("…")
        return str(expected).startswith(start) and str(expected).endswith(end)
    return text == ("" if expected is None else str(expected)) or (expected is None and text in NOTHING)


def _agrees_with_unit(text: str, column: Expected, value: float, row: Any) -> bool:
    if not math.isfinite(value):
        return text in NOTHING
    if column.mark is not None and (mark := column.mark(row)):
        if not text.endswith(mark):
            return False
        text = text.removesuffix(mark)
    read = read_quantity(text, column.units[0] if column.per is None else column.per(row))
    if read is None:
        return False
    number, spread = read
    error = None if column.error is None else column.error(row)
    if spread is not None:
        if error is None or not covers(spread, float(error)):
            return False
        step = 10.0 ** math.floor(math.log10(spread.value)) if spread.value > 0 else 0.0
        return shows(number, value, step)
    if error is not None and abs(float(error)) > 1.01e-3 * abs(value):  # left out where it is below 0.1 %
        return False
    return shows(number, value, 0.0)


def _agrees_with_sign(text: str, sign: str, ratio: float) -> bool:
    if not text.endswith(sign):
        return _is_tiny(text, ratio)
    read = read_number(text.removesuffix(sign))
    value = ratio / SIZES[sign]
    if read is None:
        return not math.isfinite(value) or _is_tiny(text.removesuffix(sign).strip(), value)
    return shows(read, value)


def shows(read: ReadNumber, value: float, step: float = 0.0) -> bool:
    """Whether a number as written is a value rounded to its digits, or to a step of its error."""
    return abs(read.value - value) <= max(read.half, step / 2) * (1 + 1e-6) + 1e-12 * abs(value)


def covers(read: ReadNumber, error: float) -> bool:
    """Whether an error as written is an error estimate rounded up to its digits."""
    step = max(2 * read.half, 10.0 ** math.floor(math.log10(error)) if error > 0 else 0.0)
    return error * (1 - 1e-9) <= read.value * (1 + 1e-9) and read.value - error <= step * (1 + 1e-6)


def is_marked(text: str) -> bool:
    """Whether an error is marked as above what was asked."""
    return text.endswith(MARKS)


def off(formula: float | None, computed: float | None) -> float | None:
    """A formula over a computed number less one. [-]"""
    if formula is None or computed is None or computed == 0:
        return None
    return formula / computed - 1


def inductance_off(result: Any, row: Any, formula: float | None) -> float | None:
    """The same of the inductance of a phase; None beside a circuit with more than five times the current."""
    most = max(abs(phase.current_a) for phase in result.phases)
    own = max(abs(phase.current_a) for phase in result.phases if phase.circuit == row.circuit)
    return None if own < most / 5 else off(formula, row.inductance_h_per_m)


def angle(value: complex) -> float | None:
    """Angle of a phasor, from -180 (not included) to 180 degrees; None of nothing. [rad]"""
    if value == 0:
        return None
    degrees = math.degrees(cmath.phase(value))
    return math.radians(degrees + 360 if degrees <= -179.95 else degrees)


def first_of_most(entries: Iterable[Any], value: Callable[[Any], float]) -> Any:
    """The first entry with the largest value; what differs by rounding alone is as large."""
    known = list(entries)
    return next(entry for entry in known if value(entry) >= (1 - 1e-6) * max(map(value, known)))
