"""The tables of a result as arrays by column, and as frames of the libraries that a user may have."""

from __future__ import annotations

import csv
import importlib
import io
from collections.abc import Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from studies.answers.answers import Answers
from studies.output.tables import table_makers
from studies.text.problems import TrayfieldError, choice_of

Form = Literal["arrays", "pandas", "polars"]
"""A dictionary of arrays, or a DataFrame of the library of that name."""


class TableError(TrayfieldError, LookupError):
    """A table that a result does not have, or a form that cannot be made of it."""


def table_names(result: Answers) -> tuple[str, ...]:
    """Names of the tables of a result, those of the files in the folder `tables`."""
    return tuple(name.removesuffix(".csv") for name in table_makers(result))


def table_in(result: Answers, name: str, form: Form) -> Any:
    """A table of a result by its name, in SI units, phasors as two columns; see `studies.result.Result.table`."""
    makers = table_makers(result)
    if f"{name}.csv" not in makers:
        raise TableError(f'the result has no table "{name}"; right: {choice_of(name, table_names(result))}')
    head, *lines = csv.reader(io.StringIO(makers[f"{name}.csv"]()))
    columns = {key: _array([line[k] for line in lines]) for k, key in enumerate(head)}
    return columns if form == "arrays" else _frame(columns, form)


def _array(cells: list[str]) -> NDArray[Any]:
    """Numbers, with nan for an empty cell; truths; or words."""
    if any(cells) and {*cells} <= {"True", "False"}:
        return np.array([cell == "True" for cell in cells])
    try:
        return np.array([float(cell) if cell else np.nan for cell in cells])
    except ValueError:
        return np.array(cells, dtype=str)


def _frame(columns: Mapping[str, NDArray[Any]], form: Form) -> Any:
    try:
        library = importlib.import_module(form)
    except ImportError:
        right = f"pip install {form}, or table(name) without it, which gives NumPy arrays"
        raise TableError(f"{form} is not installed; right: {right}") from None
    return library.DataFrame(dict(columns))
