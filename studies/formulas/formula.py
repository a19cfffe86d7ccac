"""The register of formulas: source, unit and range of validity stand above each function.

An input outside the range is no error: the function still gives the number, and the report says why it may be off.
"""

import importlib
import inspect
import math
import pkgutil
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numpy as np
from numpy.typing import ArrayLike

Inputs = ParamSpec("Inputs")
Value = TypeVar("Value")


@dataclass(frozen=True)
class Limit:
    """Range of a number made of inputs of a formula, within which the formula is as accurate as stated."""

    measure: str
    """The number in words or letters."""
    value: Callable[..., ArrayLike]
    """The number, of parameters of the formula by their names."""
    reason: str
    """Cause of the error outside the range."""
    least: float = -math.inf
    most: float = math.inf
    unit: str = ""

    @property
    def inputs(self) -> tuple[str, ...]:
        """Parameters of the formula that the number is made of."""
        return tuple(inspect.signature(self.value).parameters)

    def failure(self, **inputs: Any) -> str:
        """How far the worst of some inputs lies outside the range, and the reason; empty within it."""
        values = np.atleast_1d(np.asarray(self.value(**inputs), dtype=np.float64))
        low, high = float(values.min()), float(values.max())
        if low >= self.least and high <= self.most:
            return ""
        number, side, bound = (high, "above", self.most) if high > self.most else (low, "below", self.least)
        return f"{self.measure} = {_apart(number, bound)}{self.unit}, {side} {bound:.3g}{self.unit}: {self.reason}"


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
    """Published source with its mark: [C] seen or recomputed, [M] named, [D] derived, [P] common practice."""
    valid_for: str
    """Range of validity in words."""
    limits: tuple[Limit, ...]
    """The part of that range that the inputs decide; a report shows how far a study lies outside."""

    @property
    def name(self) -> str:
        """Name of the function."""
        return self.function.__name__


_REGISTER: dict[str, Formula] = {}
_ENTRY = re.compile(r"^(\w+)([^:]*): ", re.MULTILINE)
"""Start of the entry of an input or a result in a docstring: its name, then what its type leaves open, as the shape."""


def formula(
    quantity: str, unit: str, *, source: str, valid_for: str, limits: tuple[Limit, ...] = ()
) -> Callable[[Callable[Inputs, Value]], Callable[Inputs, Value]]:
    """Register the function below under its name; the arguments are the fields of `Formula`.

    The function stays as it is; its docstring becomes one in sections. Above the function it has four paragraphs:
    a summary; one entry for each input ("name, shape: meaning. [unit]") and for the result ("Returns name, shape:
    meaning"), the types being those of the annotations; notes, as many as needed; an example. Unit, range and source
    come from the register.
    """

    def register(function: Callable[Inputs, Value]) -> Callable[Inputs, Value]:
        _REGISTER[function.__name__] = entry = Formula(function, quantity, unit, source, valid_for, limits)
        if function.__doc__:  # python -OO has none
            function.__doc__ = _in_sections(inspect.cleandoc(function.__doc__), entry)
        return function

    return register


def _in_sections(short: str, entry: Formula) -> str:
    """Docstring with the headings that documentation tools read."""
    summary, arguments, *notes, example = short.split("\n\n")
    inputs, _, result = arguments.partition("\nReturns ")
    types = inspect.get_annotations(entry.function)
    sections = {
        "Parameters": re.sub(_ENTRY, lambda m: _parameter(m, types[m[1]]), inputs),
        "Returns": re.sub(_ENTRY, lambda m: _parameter(m, types["return"]), result),
        "Notes": "\n\n".join(notes),
        "Examples": example,
        "Unit": f"[{entry.unit}]",
        "Validity": entry.valid_for,
        "References": entry.source,
    }
    return "\n\n".join([summary, *(f"{heading}\n{'-' * len(heading)}\n{text}" for heading, text in sections.items())])


def _parameter(start: re.Match[str], annotation: Any) -> str:
    kind = "array_like" if annotation == ArrayLike else annotation.__name__  # of arrays: ndarray
    return f"{start[1]} : {kind}{start[2]}\n    "


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
    """How far inputs, by name, lie outside the stated range of a formula, and why that matters; empty within it.

    Inputs with a default may be left out; TypeError if a limit lacks one. Only the limits are tested: `valid_for` of
    the entry is the whole range in words.
    """
    bound = inspect.signature(function).bind_partial(**inputs)
    bound.apply_defaults()
    reasons = []
    for limit in registered(function).limits:
        missing = [name for name in limit.inputs if name not in bound.arguments]
        if missing:
            raise TypeError(f"{function.__name__}: the range needs {', '.join(missing)}")
        reasons.append(limit.failure(**{name: np.asarray(bound.arguments[name]) for name in limit.inputs}))
    return [reason for reason in reasons if reason]


def _apart(number: float, bound: float) -> str:
    """A number with three digits, or as many as tell it from a bound."""
    for digits in (3, 5, 8):
        text = f"{number:.{digits}g}" if abs(number) < 10**digits else f"{number:.0f}"
        if text != f"{bound:.3g}":
            break
    return text
