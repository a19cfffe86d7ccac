"""Tables as CSV text without anything that a spreadsheet would read as a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from typing import Any

from studies.text.printable import printable
from studies.text.table import Table

FORMULA = re.compile(r"(^|[;\t\r\n])(\s*[=+\-@\uff1d\uff0b\uff0d\uff20])")
"""Start of a cell that a spreadsheet reads as a formula; a semicolon separates cells in many countries."""


def csv_text(columns: Iterable[str], lines: Iterable[Iterable[object]]) -> str:
    """A line of column names, then the rows: numbers in full, an empty cell for None, inert words."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(map(inert, columns))
    writer.writerows([_cell(value) for value in line] for line in lines)
    return text.getvalue()


def as_csv(table: Table[Any]) -> str:
    """All rows of a table in SI and in full digits, under names of quantity and unit."""
    return csv_text(table.names, table.values)


def inert(text: str) -> str:
    """Text with an apostrophe before it if a spreadsheet would evaluate it as a formula."""
    return printable(FORMULA.sub(r"\1'\2", text), "\n")


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, str):
        return inert(value)
    return repr(float(value)) if isinstance(value, float) else value
