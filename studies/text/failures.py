"""Failures after a solve: collected here and named wherever results are shown, so that all other results are kept."""

from __future__ import annotations

import contextlib
import errno
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Literal, TypeVar

from studies.text.printable import shortened, visible

Kind = Literal["input", "disk", "numerical", "program"]
INPUT = frozenset({"Refused"})
NUMERICAL = frozenset({"MemoryError", "LinAlgError", "SolveError", "MeshingError", "CheckError", "NoSolutionError"})
"""Errors of the study and of the computation, by name, since the library of an error may not be loaded."""
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""What a disk, a quota or a limit of a process answers where nothing more goes on it."""

T = TypeVar("T")
U = TypeVar("U")


@dataclass(frozen=True)
class Failure:
    """A part of the results that could not be made, while all others were."""

    what: str
    """Its name, such as "figure field_map" or "limit distances"."""
    why: str
    """Name of the error and its message, on one line."""
    kind: Kind = field(default="program", compare=False)
    """Cause: the study, a full disk, the computation or the program."""
    trace: str = field(default="", compare=False, repr=False)
    """The traceback, for the developer."""

    def __str__(self) -> str:
        """One line."""
        return f"{self.what}: {self.why}"


_collecting: ContextVar[list[Failure] | None] = ContextVar("collecting", default=None)


@contextlib.contextmanager
def collected() -> Iterator[list[Failure]]:
    """A list that receives each failure of the `guarded` calls inside this context, once.

    An outer context receives it as well.
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
    """Result of `make`, or of `instead` for the failure if `make` fails while failures are collected.

    Every error is caught, including those of memory and arithmetic; an interrupt by the user is not. Without a
    collecting context the error is raised.
    """
    try:
        return make()
    except (Exception, SystemExit) as error:  # some libraries end the process instead of raising
        found = _collecting.get()
        if found is None:
            raise
        failure = Failure(what, reason(error), kind_of(error), trace_of(error))
        if failure not in found:
            found.append(failure)
        return instead(failure)


def guarded(what: str, make: Callable[[], T], otherwise: U) -> T | U:
    """Result of `make`, or `otherwise` if it fails while failures are collected."""
    return rescued(what, make, lambda failure: otherwise)


def merged(*several: Iterable[Failure]) -> tuple[Failure, ...]:
    """All failures in order, each once."""
    return tuple(dict.fromkeys(failure for failures in several for failure in failures))


def reason(error: BaseException) -> str:
    """Name of an error and its message, shortened to one line."""
    message = shortened(visible(" ".join(str(error).split())))
    return f"{type(error).__name__}: {message}" if message else type(error).__name__


def trace_of(error: BaseException) -> str:
    """Traceback of an error."""
    return "".join(traceback.format_exception(error))


def kind_of(error: BaseException) -> Kind:
    """Cause of an error."""
    if isinstance(error, OSError) and error.errno in NO_ROOM:
        return "disk"
    names = {one.__name__ for one in type(error).__mro__}
    return "input" if names & INPUT else "numerical" if names & NUMERICAL else "program"
