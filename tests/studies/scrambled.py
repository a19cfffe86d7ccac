"""A result in which every number is another, so that tables cannot mix them up unseen."""

import dataclasses
import random
from collections.abc import Mapping
from typing import Any

import numpy as np

from studies.result import Result
from tests.studies.cells_of_files import FURTHER

SCRAMBLED = (
    *("receptors", "losses", "parts", "phases", "sequence_impedance", "zones", "limit_distances", "saturation"),
    *("current_sweep", "order_search", "route", "charging", "faults", "fault_pairs", "fault_design"),
    *(
        "survey",
        "laying_tolerance",
        "net_currents",
        "direct_currents",
        "permitted",
        "energy",
        "traverses",
        "ladder",
        "checks",
        "accuracy",
    ),
    *FURTHER,
)
"""Fields of a result with numbers that were computed; the others say what was asked."""
KEPT = {
    *(
        "limit_t",
        "limit_v",
        "low_hz",
        "high_hz",
        "frequency_hz",
        "peak_current_a",
        "factor",
        "cleat_spacing_m",
        "tolerance",
        "transpositions",
    ),
    *("samples", "tried", "possible", "symmetric", "exchanges", "saturating", "proved", "worst", "touching", "at_m"),
}
"""What was stated, what rows are grouped by, and counts that sentences tell."""
LEAST, MOST = 0.6, 1.6
"""Factors of numbers. [-]"""


def scrambled(result: Result, seed: int = 0) -> Result:
    """The same result with every number times a factor of its own, errors near half a per cent, and verdicts at random.

    Errors stay so small that their numbers keep three digits. What is zero or None stays so.
    """
    dice = random.Random(seed)
    return dataclasses.replace(result, **{name: _other(getattr(result, name), name, dice) for name in SCRAMBLED})


def _other(value: Any, name: str, dice: random.Random) -> Any:
    if name in KEPT:
        return value
    if isinstance(value, bool):
        return dice.random() < 0.5 if name.startswith(("within_", "other_steel_within_", "met")) else value
    if isinstance(value, int):
        return value + dice.randint(1, 60)
    if isinstance(value, float):
        return value * dice.uniform(LEAST, MOST)
    if isinstance(value, complex):
        return value * dice.uniform(LEAST, MOST) * np.exp(1j * dice.uniform(-0.4, 0.4))
    if isinstance(value, np.ndarray):
        return value * np.array([dice.uniform(LEAST, MOST) for _ in range(value.size)]).reshape(value.shape)
    if isinstance(value, tuple):
        return tuple(_other(entry, name, dice) for entry in value)
    if isinstance(value, Mapping):
        return {key: _other(entry, name, dice) for key, entry in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _other_entry(value, dice)
    return value


def _other_entry(entry: Any, dice: random.Random) -> Any:
    """A dataclass whose errors are a per cent or less of what they are of."""
    fields = {field.name: _other(getattr(entry, field.name), field.name, dice) for field in dataclasses.fields(entry)}
    for name, error in fields.items():
        of = OWNERS.get(name, name.replace("_error", ""))
        if "_error" in name or name in OWNERS:
            fields[name] = _error_of(fields.get(of), error, dice)
    return dataclasses.replace(entry, **fields)


OWNERS = {"error_m": "from_outline_m", "exposure_error": "exposure_index"}
"""What errors are of whose name does not say it."""


def _error_of(value: Any, error: Any, dice: random.Random) -> Any:
    if isinstance(error, tuple) and isinstance(value, tuple):
        return tuple(_error_of(one, own, dice) for one, own in zip(value, error, strict=True))
    if isinstance(error, np.ndarray) and isinstance(value, np.ndarray):
        return np.abs(value) * np.array([dice.uniform(1e-3, 9e-3) for _ in range(error.size)]).reshape(error.shape)
    if isinstance(error, float) and isinstance(value, float | complex) and value != 0:
        return float(abs(value)) * dice.uniform(1e-3, 9e-3)
    return error
