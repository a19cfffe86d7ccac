"""Tables as CSV text in which no spreadsheet finds a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from typing import Any

from studies.text.printable import printable
from studies.text.table import Table

FORMULA = re.compile(r"(^|[;\t\r\n])(\s*[=+\-@\uff1d\uff0b\uff0d\uff20])")
"""Where a spreadsheet takes text for a formula: at the start of a cell, which ends at a semicolon in many countries."""


def csv_text(columns: Iterable[str], lines: Iterable[Iterable[object]]) -> str:
    """One line of column names, then the lines: numbers in full, an empty cell for None, inert words."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(map(inert, columns))
    writer.writerows([_cell(value) for value in line] for line in lines)
    return text.getvalue()


def as_csv(table: Table[Any]) -> str:
    """The values of a table, in SI, under names that say quantity and unit; every row, in full digits."""
    return csv_text(table.names, table.values)


def inert(text: str) -> str:
    """Text as a spreadsheet shows it and does not reckon it: an apostrophe before what looks like a formula."""
    return printable(FORMULA.sub(r"\1'\2", text), "\n")


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, str):
        return inert(value)
    return repr(float(value)) if isinstance(value, float) else value
