"""A compared number: its value, the estimate of its numerical error, the closed form beside it, and where it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Value = float | int | bool | None


@dataclass(frozen=True)
class Number:
    """One number of a case."""

    value: Value
    """[SI unit]"""
    error: float | None = None
    """Estimate of its numerical error; None for what has none, such as a width. [SI unit]"""
    formula: float | None = None
    """What a closed form gives for it; None where there is none. [SI unit]"""
    place: str = ""
    """Of a number that is the worst of several: the receptor, zone or cable that decides it; of clear gaps: which."""


NOTHING = Number(None)
"""A number that a case does not have."""
Named = Mapping[str, Number]
"""Numbers that each receptor or each circuit has, by its name."""
