"""Results of the same shape without numbers, instead of a closed form that failed."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any, TypeVar

import numpy as np

T = TypeVar("T")


def without_numbers(value: T) -> T:
    """The same data with NaN for every real and complex number; words, integers and booleans are kept."""
    found: Any = value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {entry.name: getattr(value, entry.name) for entry in dataclasses.fields(value) if entry.init}
        return dataclasses.replace(value, **{name: without_numbers(entry) for name, entry in fields.items()})
    if isinstance(value, np.ndarray) and value.dtype.kind in "fc":
        found = np.full_like(value, np.nan)
    elif isinstance(value, Mapping):
        found = {key: without_numbers(entry) for key, entry in value.items()}
    elif isinstance(value, tuple | list):
        found = type(value)(without_numbers(entry) for entry in value)
    elif isinstance(value, float | complex):
        found = type(value)(np.nan)
    return found  # type: ignore[no-any-return]
