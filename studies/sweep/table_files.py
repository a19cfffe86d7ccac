"""The comparison as files for other programs: CSV, Parquet and JSON, SI units in the names of the columns."""

from __future__ import annotations

import csv
import importlib
import io
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from studies.sweep.compared import QUANTITIES, Value, heading, quantity_of
from studies.sweep.table import Comparison, Row

SCHEMA = 1
PARQUET_MISSING = (
    "comparison.parquet is not written: it needs the package pyarrow (pip install 'trayfield[parquet]'); "
    "comparison.csv holds the same table"
)
"""What is told where there is no library for Parquet."""

WORDS = ("case", "origin", "state", "message", "changes")
"""Columns of every row beside its numbers and swept values."""


def columns(comparison: Comparison) -> dict[str, list[str | Value]]:
    """Every column of the table by its name, one entry for each case.

    Swept keys have a column each, named as in the study file, with the value as written there.
    """
    found: dict[str, list[str | Value]] = {name: [] for name in WORDS}
    for row in comparison.rows:
        for name, text in zip(WORDS, _words(row), strict=True):
            found[name].append(text)
    for k, path in enumerate(comparison.swept):
        found[path] = [row.settings[k] for row in comparison.rows]
    for name in comparison.columns:
        found[name] = [row.number(name) for row in comparison.rows]
    return found


def csv_text(comparison: Comparison) -> str:
    """The table as CSV: one line of column names, then one line a case; an empty cell is a number that is not there."""
    table = columns(comparison)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table)
    writer.writerows([_cell(value) for value in line] for line in zip(*table.values(), strict=True))
    return text.getvalue()


def write_parquet(comparison: Comparison, path: Path) -> bool:
    """Write the table as Parquet; False where the library for it is not installed.

    pyarrow writes columns as they are; other libraries for this format need a library of data frames on top.
    """
    try:
        arrow: Any = importlib.import_module("pyarrow")
        parquet: Any = importlib.import_module("pyarrow.parquet")
    except ImportError:
        return False
    arrays = {name: arrow.array(values, type=_arrow_type(arrow, name)) for name, values in columns(comparison).items()}
    parquet.write_table(arrow.table(arrays), path)
    return True


def json_text(comparison: Comparison, files: Sequence[str] = ()) -> str:
    """The comparison as JSON: quantities with their meaning, cases with their numbers, names of the written files."""
    document = {
        "schema": SCHEMA,
        "title": comparison.base.title,
        "frequency_hz": comparison.base.frequency,
        "software": dict(comparison.versions),
        "quantities": [
            {"key": quantity.key, "each": quantity.each or None, "better": quantity.better, "meaning": quantity.meaning}
            for quantity in QUANTITIES
        ],
        "columns": [{"column": name, "heading": heading(name)} for name in comparison.columns],
        "swept": list(comparison.swept),
        "cases": [
            {
                **dict(zip(WORDS[:-1], _words(row)[:-1], strict=True)),
                "changes": list(row.changes),
                "settings": dict(zip(comparison.swept, row.settings, strict=True)),
                "numbers": {name: row.number(name) for name in comparison.columns} if row.measured else None,
            }
            for row in comparison.rows
        ],
        "files": list(files),
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _words(row: Row) -> tuple[str, ...]:
    state = "failed" if row.measured is None else "done"
    return row.name, row.origin, state, row.message, "; ".join(row.changes)


def _cell(value: str | Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return repr(value) if isinstance(value, float) else str(value)


def _arrow_type(arrow: Any, name: str) -> Any:
    quantities = {quantity.key for quantity in QUANTITIES}
    if name.partition(".")[0] not in quantities:
        return arrow.string()
    quantity = quantity_of(name)
    if not quantity.units:
        return arrow.bool_()
    return arrow.int64() if quantity.key == "unknowns" else arrow.float64()
