"""Files of a results folder, each for itself: one that cannot be written costs no other and leaves no half."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from studies.text.failures import Failure, guarded

TRACES = "failures.txt"
"""File with the traceback of everything that failed, written where anything did."""


def whole_file(path: Path, write: Callable[[Path], object]) -> None:
    """Write a file, its folder first where there is none; of one that fails nothing is left."""

    def make() -> None:
        path.parent.mkdir(exist_ok=True)
        try:
            write(path)
        except BaseException:
            path.unlink(missing_ok=True)
            raise

    guarded(f"file {path.name}", make, None)


def write_text(path: Path, text: str) -> None:
    """Write text as UTF-8; half a character, as of a file name in another encoding, is written as its number."""
    path.write_bytes(text.encode("utf-8", "backslashreplace"))  # the same bytes on every system


def write_traces(folder: Path, failures: Sequence[Failure]) -> None:
    """Write the tracebacks of failures into a folder, each under what failed, where anything did."""
    text = "\n\n".join(f"{failure}\n\n{failure.trace}" for failure in failures)
    if failures:
        whole_file(folder / TRACES, lambda path: write_text(path, text))
