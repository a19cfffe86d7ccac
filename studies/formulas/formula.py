"""The register of formulas: source, unit and range of validity stand above each function.

An input outside the range is no error: the function still gives the number, and the report says why it may be off.
"""

import importlib
import inspect
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numpy as np

from fem.arrays import Flags

Inputs = ParamSpec("Inputs")
Value = TypeVar("Value")


@dataclass(frozen=True)
class Limit:
    """One condition on the inputs of a formula that keeps it as accurate as stated."""

    inputs: tuple[str, ...]
    """Parameters of the formula that the condition reads."""
    holds: Callable[..., Flags]
    """The condition, called with these parameters by name."""
    reason: str
    """Cause of the error if the condition fails."""


@dataclass(frozen=True)
class Formula:
    """Register entry of one formula."""

    function: Callable[..., Any]
    """The function that computes it."""
    quantity: str
    """Its result in words."""
    unit: str
    """Unit of the result, without brackets."""
    source: str
    """Published source with its mark: [C] seen or recomputed, [M] from memory, [D] derived, [P] common practice."""
    valid_for: str
    """Range of validity in words."""
    limits: tuple[Limit, ...]
    """The part of that range that the inputs decide; a report shows the reasons of those that fail."""

    @property
    def name(self) -> str:
        """Name of the function."""
        return self.function.__name__


_REGISTER: dict[str, Formula] = {}


def formula(
    quantity: str, unit: str, *, source: str, valid_for: str, limits: tuple[Limit, ...] = ()
) -> Callable[[Callable[Inputs, Value]], Callable[Inputs, Value]]:
    """Register the function below under its name; the arguments are the fields of `Formula`.

    The function stays as it is; its docstring gains unit, range and source.
    """

    def register(function: Callable[Inputs, Value]) -> Callable[Inputs, Value]:
        _REGISTER[function.__name__] = Formula(function, quantity, unit, source, valid_for, limits)
        sections = {"Unit": f"[{unit}]", "Validity": valid_for, "References": source}
        text = "".join(f"\n\n{heading}\n{'-' * len(heading)}\n{words}" for heading, words in sections.items())
        function.__doc__ = inspect.cleandoc(function.__doc__ or "") + text
        return function

    return register


def registered(function: Callable[..., Any]) -> Formula:
    """Entry of a function of this package; KeyError for any other function."""
    return _REGISTER[function.__name__]


def all_formulas() -> dict[str, Formula]:
    """Every formula by the name of its function, in the order of modules and lines; imports all modules."""
    for module in pkgutil.iter_modules([str(Path(__file__).parent)]):
        importlib.import_module(f"{__package__}.{module.name}")
    entries = sorted(_REGISTER.values(), key=lambda e: (e.function.__module__, e.function.__code__.co_firstlineno))
    return {entry.name: entry for entry in entries}


def outside_range(function: Callable[..., Any], **inputs: Any) -> list[str]:
    """Reasons why inputs lie outside the stated range of a formula.

    Parameters
    ----------
    function : function
        A formula of this package.
    **inputs : array_like
        Its inputs by name, in its units; those with a default may be left out.

    Returns
    -------
    reasons : list of str
        One sentence for each limit that fails anywhere in the inputs; empty inside the range.

    Notes
    -----
    Tests the limits alone; `valid_for` of the entry is the whole range in words. TypeError if a limit lacks an input.
    """
    bound = inspect.signature(function).bind_partial(**inputs)
    bound.apply_defaults()
    reasons = []
    for limit in registered(function).limits:
        missing = [name for name in limit.inputs if name not in bound.arguments]
        if missing:
            raise TypeError(f"{function.__name__}: the range needs {', '.join(missing)}")
        if not np.all(limit.holds(**{name: np.asarray(bound.arguments[name]) for name in limit.inputs})):
            reasons.append(limit.reason)
    return reasons
