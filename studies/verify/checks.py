"""A published check: numbers beside their sources, each tolerance with its reason; and running checks."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from numpy.linalg import LinAlgError

from studies.text.problems import TrayfieldError


class Basis(StrEnum):
    """What a computed number is compared with."""

    PUBLISHED = "published"
    """Digits of a published text, or its formula evaluated for this case."""
    OWN = "own method"
    """An exact solution, an identity or a second method of this project."""
    RANGE = "range"
    """A range in which practice expects the number."""


class NumberMark(StrEnum):
    """How well the number of a source is known."""

    CONFIRMED = "confirmed"
    """Read in a public text."""
    RECOMPUTED = "recomputed"
    """Follows from the laws of the field, or recomputed by this project."""
    QUOTED = "quoted"
    """As the project recalls it from the reference; neither read nor recomputed."""


class ReferenceMark(StrEnum):
    """How well the reference of a source is known."""

    SEEN = "seen"
    """It, or a public text that quotes or lists it, was read."""
    NAMED = "named"
    """Named, but not read: to be checked before a signature rests on it."""
    NONE = "none"
    """There is none: the project's own work."""


class Method(StrEnum):
    """What computed the number that is checked."""

    ELEMENTS = "elements"
    """The finite-element solver on a mesh."""
    SERIES = "series"
    """The multipole series of round conductors, without a mesh."""
    FORMULA = "formula"
    """A closed-form formula of the project."""
    STUDY = "study"
    """A study file, run as a user runs it."""


@dataclass(frozen=True)
class Source:
    """Where a number comes from."""

    short: str
    """As it stands in a table."""
    reference: str
    """Standard and clause, book and example, paper; or how it was derived."""
    kind: Basis
    number: NumberMark
    known: ReferenceMark
    """How well the reference is known."""
    to_check: str = ""
    """What is to be compared with a reference that was not read."""

    def __str__(self) -> str:
        """Short name with its two marks, the second only where there is a reference."""
        marks = [self.number.value] + ([] if self.known is ReferenceMark.NONE else [self.known.value])
        return f"{self.short} [{', '.join(marks)}]"


@dataclass(frozen=True)
class CheckRow:
    """One computed number beside its source."""

    quantity: str
    """What it is; with the method unlike every other of its check."""
    unit: str
    """Unit of the numbers, "-" for a ratio."""
    source: Source
    method: Method
    published: float
    """Published or exact value, or the one that practice uses. [unit]"""
    computed: float
    """[unit]"""

    @property
    def kind(self) -> Basis:
        """What the number is compared with."""
        return self.source.kind

    @property
    def passed(self) -> bool:
        """Whether the number lies where it must."""
        raise NotImplementedError


@dataclass(frozen=True)
class Checked(CheckRow):
    """A number that is held to a published or exact one."""

    tolerance: float
    """Largest accepted difference, above 0. [-]"""
    reason: str
    """Why the tolerance is what it is."""
    scale: float | None = None
    """What the difference is relative to, above 0; the published value if not given, 1 if that is 0. [unit]"""

    @property
    def difference(self) -> float:
        """Computed less published value over the scale. [-]"""
        scale = abs(self.published) or 1.0 if self.scale is None else self.scale
        return (self.computed - self.published) / scale

    @property
    def passed(self) -> bool:
        """Whether the difference lies within the tolerance; what is not a number does not."""
        return bool(math.isfinite(self.difference) and abs(self.difference) <= self.tolerance)


@dataclass(frozen=True)
class Plausibility(CheckRow):
    """A number beside a range in which practice expects it; no test of precision."""

    low: float
    """Lower end of the band. [unit]"""
    high: float
    """Upper end of the band. [unit]"""
    reason: str
    """Why the band is what it is."""

    @property
    def kind(self) -> Basis:
        """What the number is compared with."""
        return Basis.RANGE

    @property
    def passed(self) -> bool:
        """Whether the computed number lies in the band."""
        return bool(self.low <= self.computed <= self.high)


Compute = Callable[[], Iterable[CheckRow]]


@dataclass(frozen=True)
class Check:
    """One check: a function that computes some numbers and sets them beside their sources."""

    name: str
    """Short name to ask for it, lower case with hyphens."""
    title: str
    """What it is about."""
    compute: Compute


@dataclass(frozen=True)
class CheckFamily:
    """Checks about one subject."""

    name: str
    """Short name to ask for all of them, lower case with hyphens."""
    checks: list[Check] = field(default_factory=list)

    def check(self, name: str) -> Callable[[Compute], Compute]:
        """A decorator of the function that computes a check; the first line of its docstring is the title."""

        def register(compute: Compute) -> Compute:
            title = (compute.__doc__ or name).partition("\n")[0].removesuffix(".")
            self.checks.append(Check(name, title, compute))
            return compute

        return register


@dataclass(frozen=True)
class CheckOutcome:
    """A check that was run."""

    check: Check
    results: tuple[CheckRow, ...]

    @property
    def comparisons(self) -> tuple[Checked, ...]:
        """The numbers that are held to a tolerance."""
        return tuple(result for result in self.results if isinstance(result, Checked))

    @property
    def plausibilities(self) -> tuple[Plausibility, ...]:
        """The numbers that are held to a plausible range."""
        return tuple(result for result in self.results if isinstance(result, Plausibility))

    @property
    def passed(self) -> bool:
        """Whether all of them lie where they must."""
        return all(result.passed for result in self.results)


class CheckError(TrayfieldError, RuntimeError):
    """A check whose numbers could not be computed."""


def run_checks(checks: Sequence[Check], progress: Callable[[str], None]) -> tuple[CheckOutcome, ...]:
    """Compute the numbers of each check, in their order.

    Each check has one outcome; a check that fails is among them, one that cannot be computed raises CheckError with its
    name.
    """
    outcomes = []
    for number, check in enumerate(checks, start=1):
        progress(f"check {number} of {len(checks)}: {check.title}")
        try:
            outcomes.append(CheckOutcome(check, tuple(check.compute())))
        except (RuntimeError, ArithmeticError, LinAlgError, MemoryError) as error:
            raise CheckError(f"check {check.name!r} could not be computed: {error}") from error
    return tuple(outcomes)


def failures(outcomes: Sequence[CheckOutcome]) -> list[str]:
    """Check and quantity of every number that lies where it must not."""
    return [
        f"{outcome.check.name}: {result.quantity} ({result.method})"
        for outcome in outcomes
        for result in outcome.results
        if not result.passed
    ]
