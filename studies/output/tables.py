"""The tables and traverses of a result as CSV: one line of column names with units, then numbers in SI."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial

from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.text.csv import as_csv
from studies.text.failures import guarded
from studies.text.table import Column, Table, Value


def tables(result: Answers) -> dict[str, str]:
    """CSV text of every table, by file name; a table that fails costs no other."""
    written = {name: guarded(f"table {name}", make, None) for name, make in table_makers(result).items()}
    return {name: text for name, text in written.items() if text is not None}


def table_makers(result: Answers) -> dict[str, Callable[[], str]]:
    """What writes each table, by file name."""
    found: dict[str, Callable[[], str]] = {}
    for answer in ANSWERS:
        rows = getattr(result, answer.key, None)
        own = {answer.key: rows} if answer.files is None and answer.kept else {}
        for name, entries in (own if answer.files is None else answer.files(rows)).items():
            if entries:
                found[f"{name}.csv"] = entries if callable(entries) else partial(_table, entries)
    return found | {"mesh_levels.csv": partial(_table, result.accuracy.levels)}


def _table(rows: Sequence[object]) -> str:
    """One line a row, a column for each field that is a number or words; of a phasor, real and imaginary part."""
    names = list(dict.fromkeys(name for row in rows for name in _names(row)))
    columns = [
        Column((name, name) if phasor else name, partial(_single, name=name), key=name)
        for name, phasor in names
        if phasor or (name, True) not in names  # a phasor that is missing in a row
    ]
    return as_csv(Table("", columns, rows))


def _names(row: object) -> Iterator[tuple[str, bool]]:
    """The fields of a row that are a number or words, and whether it is a phasor."""
    assert dataclasses.is_dataclass(row)
    for field in dataclasses.fields(row):
        value = getattr(row, field.name)
        if not isinstance(value, LISTED) and not dataclasses.is_dataclass(value):
            yield field.name, isinstance(value, complex)


def _single(row: object, name: str) -> Value:
    value: Value = getattr(row, name, None)
    return None if isinstance(value, LISTED) or dataclasses.is_dataclass(value) else value


LISTED = (tuple, Mapping)
"""Values without a column, since they are no single number or word; results.json holds them."""
