"""Progress of a run: one line that is rewritten on a terminal, plain lines elsewhere."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator

from studies.text.printable import printable
from studies.text.streams import terminal_columns, write

Progress = Callable[[str], None]
"""Whoever is told how far the work has come."""


@contextlib.contextmanager
def progress(quiet: bool) -> Iterator[Callable[[str], None]]:
    """A function that writes its message to standard error, with the seconds since the start."""
    start = time.monotonic()

    def report_progress(message: str) -> None:
        if quiet:
            return
        line = f"{time.monotonic() - start:5.1f} s  {printable(message)}"
        if width := terminal_columns("stderr"):
            # spaces, since not every console knows the escape that wipes a line; a full line would begin another one
            write("stderr", f"\r{line[: width - 1].ljust(width - 1)}")
        else:
            write("stderr", f"{line}\n")

    try:
        yield report_progress
    finally:
        if not quiet and (width := terminal_columns("stderr")):
            write("stderr", f"\r{' ' * (width - 1)}\r")
