"""The comparison as files for other programs: CSV, Parquet and JSON, SI units in the names of the columns."""

from __future__ import annotations

import importlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from studies.compare.case_numbers import CaseValue
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.quantities import QUANTITIES, heading, quantity_of
from studies.text.csv import csv_text
from studies.text.failures import Failure

SCHEMA = 1
PARQUET_MISSING = (
    "comparison.parquet is not written: it needs the package pyarrow (pip install 'trayfield[parquet]'); "
    "comparison.csv holds the same table"
)
"""What is told where there is no library for Parquet."""

ERROR, FORMULA, PLACE = "error_", "formula_", "place_"
"""Before the name of a column: the estimate of its numerical error, its closed form, and what decides it."""
WORDS = ("case", "origin", "state", "message", "changes")
"""Columns of every row beside its numbers and swept values."""


def columns(comparison: Comparison) -> dict[str, list[str | CaseValue]]:
    """Every column of the table by its name, one entry for each case.

    Swept keys have a column each, named as in the study file, with the value as written there. Behind a number stand,
    where they are, its numerical error, the value of the closed form, and the place that decides it.
    """
    found: dict[str, list[str | CaseValue]] = {name: [] for name in WORDS}
    for row in comparison.rows:
        for name, text in zip(WORDS, _words(row), strict=True):
            found[name].append(text)
    for k, path in enumerate(comparison.swept):
        found[path] = [row.settings[k] for row in comparison.rows]
    for name in comparison.columns:
        entries = [row.entry(name) for row in comparison.rows]
        beside: dict[str, list[str | CaseValue]] = {
            ERROR: [entry.error for entry in entries],
            FORMULA: [entry.formula for entry in entries],
            PLACE: [entry.place or None for entry in entries],
        }
        found[name] = [entry.value for entry in entries]
        found |= {head + name: values for head, values in beside.items() if any(value is not None for value in values)}
    return found


def comparison_csv(comparison: Comparison) -> str:
    """The table as CSV: one line of column names, then one line a case; an empty cell is a number that is not there."""
    table = columns(comparison)
    lines = zip(*table.values(), strict=True)
    return csv_text(table, ([str(v).lower() if isinstance(v, bool) else v for v in line] for line in lines))


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


def comparison_json(comparison: Comparison, files: Sequence[str] = (), failures: Sequence[Failure] = ()) -> str:
    """The comparison as JSON: quantities with their meaning, cases with their numbers, names of the written files."""
    document = {
        "schema": SCHEMA,
        "title": comparison.base.title,
        "frequency_hz": comparison.base.frequency,
        "software": dict(comparison.versions),
        "quantities": [
            {
                "key": quantity.key,
                "each": quantity.each or None,
                "better": quantity.better,
                "meaning": quantity.meaning,
                "formula": quantity.formula or None,
            }
            for quantity in QUANTITIES
        ],
        "columns": [{"column": name, "heading": heading(name)} for name in comparison.columns],
        "swept": list(comparison.swept),
        "cases": [
            {
                **dict(zip(WORDS[:-1], _words(row)[:-1], strict=True)),
                "changes": list(row.changes),
                "settings": dict(zip(comparison.swept, row.settings, strict=True)),
                "sections": row.sections,
                "joining": row.joining or None,
                "numbers": {name: row.number(name) for name in comparison.columns} if row.measured else None,
                "errors": _known({name: row.entry(name).error for name in comparison.columns}),
                "formulas": _known({name: row.entry(name).formula for name in comparison.columns}),
                "places": _known({name: row.entry(name).place or None for name in comparison.columns}),
            }
            for row in comparison.rows
        ],
        "failures": [{"what": failure.what, "why": failure.why} for failure in failures],
        "files": list(files),
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _known(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _words(row: CaseRow) -> tuple[str, ...]:
    state = "failed" if row.measured is None else "incomplete" if row.message else "done"
    return row.name, row.origin, state, row.message, "; ".join(row.changes)


def _arrow_type(arrow: Any, name: str) -> Any:
    if name.startswith((ERROR, FORMULA)):
        return arrow.float64()
    quantities = {quantity.key for quantity in QUANTITIES}
    if name.partition(".")[0] not in quantities:
        return arrow.string()
    quantity = quantity_of(name)
    if quantity.unit is None:
        return arrow.bool_()
    return arrow.int64() if quantity.key == "unknowns" else arrow.float64()
