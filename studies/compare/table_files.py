"""The comparison as files for other programs: CSV, Parquet and JSON, SI units in the names of the columns."""

from __future__ import annotations

import importlib
import json
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from studies.compare.case_numbers import CaseNumber, CaseValue
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.quantities import QUANTITIES, heading, quantity_of
from studies.text.csv import csv_text
from studies.text.failures import Failure
from studies.text.table import Column, Table

SCHEMA = 1
PARQUET_MISSING = (
    "comparison.parquet is not written: it needs the package pyarrow (pip install 'trayfield[parquet]'); "
    "comparison.csv holds the same table"
)
"""What is told where there is no library for Parquet."""

ERROR, FORMULA, PLACE = "error_", "formula_", "place_"
"""Before the name of a column: the estimate of its numerical error, its closed form, and what decides it."""
PARTS: Mapping[str, Callable[[CaseNumber], CaseValue | str]] = {
    "": lambda number: number.value,
    ERROR: lambda number: number.error,
    FORMULA: lambda number: number.formula,
    PLACE: lambda number: number.place or None,
}
"""Columns of a number."""
WORDS: Mapping[str, Callable[[CaseRow], str]] = {
    "case": lambda row: row.name,
    "origin": lambda row: row.origin,
    "state": lambda row: "failed" if row.measured is None else "incomplete" if row.message else "done",
    "message": lambda row: row.message,
    "changes": lambda row: "; ".join(row.changes),
}
"""Columns of every row beside its numbers and swept values."""


def comparison_table(comparison: Comparison) -> Table[CaseRow]:
    """The cases with every number, in SI and in full digits, under the names of the files.

    Swept keys have a column each, named as in the study file, with the value as written there. Behind a number stand,
    where they are, its numerical error, the value of the closed form, and the place that decides it.
    """
    makers: dict[str, Callable[[CaseRow], CaseValue | str]] = {**WORDS}
    makers |= {path: partial(_setting, k=k) for k, path in enumerate(comparison.swept)}
    for name in comparison.columns:
        for head, part in PARTS.items():
            if not head or any(part(row.entry(name)) is not None for row in comparison.rows):
                makers[head + name] = partial(_part, name=name, part=part)
    return Table("Cases", [Column(name, make, key=name) for name, make in makers.items()], comparison.rows)


def _setting(row: CaseRow, k: int) -> str:
    return row.settings[k]


def _part(row: CaseRow, name: str, part: Callable[[CaseNumber], CaseValue | str]) -> CaseValue | str:
    return part(row.entry(name))


def comparison_csv(comparison: Comparison) -> str:
    """The table as CSV: one line of column names, then one line a case; an empty cell is a number that is not there."""
    table = comparison_table(comparison)
    return csv_text(table.names, ([str(v).lower() if isinstance(v, bool) else v for v in row] for row in table.values))


def write_parquet(comparison: Comparison, path: Path) -> bool:
    """Write the table as Parquet; False where the library for it is not installed.

    pyarrow writes columns as they are; other libraries for this format need a library of data frames on top.
    """
    try:
        arrow: Any = importlib.import_module("pyarrow")
        parquet: Any = importlib.import_module("pyarrow.parquet")
    except ImportError:
        return False
    table = comparison_table(comparison)
    columns = zip(table.names, zip(*table.values, strict=True), strict=True)
    arrays = {name: arrow.array(values, type=_arrow_type(arrow, name)) for name, values in columns}
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
                **{name: make(row) for name, make in WORDS.items()},
                "changes": list(row.changes),
                "settings": dict(zip(comparison.swept, row.settings, strict=True)),
                "sections": row.sections,
                "joining": row.joining or None,
                "numbers": {name: row.number(name) for name in comparison.columns} if row.measured else None,
                **{
                    f"{head}s": {name: v for name in comparison.columns if (v := part(row.entry(name))) is not None}
                    for head, part in (("error", PARTS[ERROR]), ("formula", PARTS[FORMULA]), ("place", PARTS[PLACE]))
                },
            }
            for row in comparison.rows
        ],
        "failures": [{"what": failure.what, "why": failure.why} for failure in failures],
        "files": list(files),
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


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
