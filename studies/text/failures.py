"""What fails after a solve costs only itself: it is collected here, and named wherever the results are told."""

from __future__ import annotations

import contextlib
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Literal, TypeVar

from studies.text.printable import shortened, visible

Kind = Literal["input", "numerical", "program"]
INPUT, NUMERICAL = frozenset({"StudyError"}), frozenset({"MemoryError", "LinAlgError", "SolveError", "MeshingError"})
"""Errors that are the study's fault, and those of the computation, by name: the library of one may not be loaded."""

T = TypeVar("T")
U = TypeVar("U")


@dataclass(frozen=True)
class Failure:
    """Something that could not be made, while everything else was."""

    what: str
    """In words, such as "figure field_map" or "limit distances"."""
    why: str
    """Name of the error and its message, on one line."""
    kind: Kind = field(default="program", compare=False)
    """Whose fault it is: the study's, the computation's or the program's."""
    trace: str = field(default="", compare=False, repr=False)
    """The traceback, for who mends it."""

    def __str__(self) -> str:
        """One line."""
        return f"{self.what}: {self.why}"


_collecting: ContextVar[list[Failure] | None] = ContextVar("collecting", default=None)


@contextlib.contextmanager
def collected() -> Iterator[list[Failure]]:
    """A list to which everything that fails in a `guarded` call within is added, each failure once.

    Who collects around this collects it as well.
    """
    found: list[Failure] = []
    token = _collecting.set(found)
    try:
        yield found
    finally:
        _collecting.reset(token)
        around = _collecting.get()
        if around is not None:
            around += [failure for failure in found if failure not in around]


def rescued(what: str, make: Callable[[], T], instead: Callable[[Failure], U]) -> T | U:
    """What `make` gives; where it fails while failures are collected, what `instead` gives for the failure.

    Every error is caught, memory and arithmetic included; an interrupt by the user is not. Where nobody collects, the
    error is raised.
    """
    try:
        return make()
    except (Exception, SystemExit) as error:  # some libraries end the process where they should raise
        found = _collecting.get()
        if found is None:
            raise
        failure = Failure(what, reason(error), kind_of(error), trace_of(error))
        if failure not in found:
            found.append(failure)
        return instead(failure)


def guarded(what: str, make: Callable[[], T], otherwise: U) -> T | U:
    """What `make` gives, or `otherwise` where it fails while failures are collected."""
    return rescued(what, make, lambda failure: otherwise)


def merged(*several: Iterable[Failure]) -> tuple[Failure, ...]:
    """All failures in order, each once."""
    return tuple(dict.fromkeys(failure for failures in several for failure in failures))


def reason(error: BaseException) -> str:
    """Name of an error and its message, on one line and not too long."""
    message = shortened(visible(" ".join(str(error).split())))
    return f"{type(error).__name__}: {message}" if message else type(error).__name__


def trace_of(error: BaseException) -> str:
    """Traceback of an error."""
    return "".join(traceback.format_exception(error))


def kind_of(error: BaseException) -> Kind:
    """Whose fault an error is."""
    names = {one.__name__ for one in type(error).__mro__}
    return "input" if names & INPUT else "numerical" if names & NUMERICAL else "program"
