"""Tables as a workbook: numbers as numbers in full digits, a row of headings, a row of units, errors in own columns."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from studies.text.grid import Grid, cell_text
from studies.text.printable import printable
from studies.text.table import Raw, Table, full_grid

BEGINNING = datetime(2000, 1, 1, tzinfo=UTC)
"""Date of every workbook, so that the bytes do not depend on the clock."""
NOT_IN_NAMES = re.compile(r"[\[\]:*?/\\']")
LONGEST_NAME = 31
"""Longest name of a sheet. [characters]"""
HEADINGS, UNITS, FIRST = 2, 3, 4
"""Rows of a sheet from 0: its headings, their units, the first row of the table."""
WIDTHS = 8, 42
"""Least and largest width of a column. [characters]"""


@dataclass(frozen=True)
class Numbered:
    """A table with its number in the document."""

    label: str
    table: Table[Any] | Grid


def as_xlsx(
    title: str, facts: Sequence[tuple[str, str]], tables: Sequence[Numbered], files: Mapping[str, str]
) -> bytes:
    """A workbook as the bytes of its file, the same for the same input.

    `title`: heading of the first sheet, which lists the others.
    `facts`: what stands below it.
    `tables`: a sheet each, in the units of their headings.
    `files`: CSV texts by name, a sheet each: names of columns with SI units, then the rows.
    """
    from xlsxwriter import Workbook

    buffer = io.BytesIO()
    with Workbook(buffer, {"in_memory": True}) as book:
        book.set_properties({"title": _plain(title), "created": BEGINNING})
        bold = book.add_format({"bold": True, "text_wrap": True, "valign": "bottom"})
        quiet = book.add_format({"font_color": "#4d5761"})
        contents = book.add_worksheet("Contents")
        contents.set_column(0, 0, 34)
        contents.write_string(0, 0, _plain(title), bold)
        for row, (name, words) in enumerate(facts, 1):
            contents.write_string(row, 0, _plain(name))
            contents.write_string(row, 1, _plain(words))
        names = _sheet_names([f"{one.label} {full_grid(one.table).caption}" for one in tables] + list(files))
        for row, name in enumerate(names, len(facts) + 2):
            contents.write_url(row, 0, f"internal:'{name}'!A1", string=name)
        for name, one in zip(names, tables, strict=False):
            _write_table(book.add_worksheet(name), one, bold, quiet)
        for name, text in zip(names[len(tables) :], files.values(), strict=True):
            _write_file(book.add_worksheet(name), text, bold)
    return buffer.getvalue()


def _write_table(sheet: Any, one: Numbered, bold: Any, quiet: Any) -> None:
    """Caption, headings, units, rows and note of a table."""
    grid = full_grid(one.table)
    rows: Iterable[Sequence[Raw]] = (
        one.table.numbers if isinstance(one.table, Table) else [list(map(cell_text, row)) for row in grid.rows]
    )
    sheet.write_string(0, 0, _plain(f"{one.label}. {grid.caption}"), bold)
    for column, head in enumerate(grid.columns):
        sheet.write_string(HEADINGS, column, _plain(head.heading), bold)
        sheet.write_string(UNITS, column, _plain(head.unit), quiet)
        longest = max((len(cell_text(row[column])) for row in grid.rows), default=0)
        sheet.set_column(column, column, min(max(longest + 2, WIDTHS[0]), WIDTHS[1]))
    sheet.freeze_panes(FIRST, 1)
    _write_rows(sheet, FIRST, rows)
    if grid.note:
        sheet.write_string(FIRST + len(grid.rows) + 1, 0, _plain(grid.note), quiet)


def _write_file(sheet: Any, text: str, bold: Any) -> None:
    names, *rows = list(csv.reader(io.StringIO(text)))
    for column, name in enumerate(names):
        sheet.write_string(0, column, name, bold)
        sheet.set_column(column, column, min(len(name) + 2, WIDTHS[1]))
    sheet.freeze_panes(1, 1)
    _write_rows(sheet, 1, [[_number_or_words(cell) for cell in row] for row in rows])


def _write_rows(sheet: Any, first: int, rows: Iterable[Sequence[Raw]]) -> None:
    for number, row in enumerate(rows, first):
        for column, value in enumerate(row):
            if isinstance(value, str):  # never as a formula or an address
                sheet.write_string(number, column, _plain(value))
            elif value is not None and math.isfinite(value):
                sheet.write_number(number, column, value)


def _number_or_words(cell: str) -> Raw:
    try:
        return float(cell) if cell else None
    except ValueError:
        return cell.removeprefix("'")


def _plain(text: str) -> str:
    return printable(text, "\n")


def _sheet_names(titles: Sequence[str]) -> list[str]:
    """A name for each sheet, short enough, each different from the others, capital letters or not."""
    names: list[str] = []
    for title in titles:
        whole = " ".join(NOT_IN_NAMES.sub(" ", _plain(title)).split())
        name, number = whole[:LONGEST_NAME].strip(), 1
        while name.casefold() in {"contents", *(one.casefold() for one in names)}:
            number += 1
            tail = f" {number}"
            name = whole[: LONGEST_NAME - len(tail)].strip() + tail
        names.append(name)
    return names
