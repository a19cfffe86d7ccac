"""The tables and traverses of a result as CSV: one line of column names with units, then numbers in SI."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np

from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.text.csv import csv_text
from studies.text.failures import guarded


def tables(result: Answers) -> dict[str, str]:
    """CSV text of every table, by file name; a table that fails costs no other."""
    written = {name: guarded(f"table {name}", make, None) for name, make in _makers(result).items()}
    return {name: text for name, text in written.items() if text is not None}


def _makers(result: Answers) -> dict[str, Callable[[], str]]:
    """What writes each table, by file name."""
    found: dict[str, Callable[[], str]] = {}
    for answer in ANSWERS:
        rows = getattr(result, answer.key, None)
        own = {answer.key: rows} if answer.files is None and answer.kept else {}
        for name, entries in (own if answer.files is None else answer.files(rows)).items():
            if entries:
                found[f"{name}.csv"] = entries if callable(entries) else partial(_table, entries)
    return found | {"mesh_levels.csv": partial(_table, result.accuracy.levels)}


def _table(entries: Sequence[object]) -> str:
    """One line an entry; a phasor becomes two columns, real and imaginary part."""
    lines = [_flat(entry) for entry in entries]
    columns = list(dict.fromkeys(column for line in lines for column in line))
    complete = [column for column in columns if f"{column}_re" not in columns]  # a phasor that is missing in a line
    return csv_text(complete, [[line.get(column) for column in complete] for line in lines])


def _flat(entry: object) -> dict[str, object]:
    assert dataclasses.is_dataclass(entry)
    flat: dict[str, object] = {}
    for field in dataclasses.fields(entry):
        value = getattr(entry, field.name)
        if isinstance(value, tuple | Mapping) or dataclasses.is_dataclass(value):
            continue  # what is no single number or word has no column; results.json holds it
        if isinstance(value, complex | np.complexfloating):
            flat[f"{field.name}_re"], flat[f"{field.name}_im"] = value.real, value.imag
        else:
            flat[field.name] = value
    return flat
