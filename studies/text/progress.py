"""Progress of a run: one line that is rewritten on a terminal, plain lines elsewhere."""

from __future__ import annotations

import contextlib
import shutil
import sys
import time
from collections.abc import Callable, Iterator

from studies.text.printable import printable
from studies.text.streams import write


@contextlib.contextmanager
def progress(quiet: bool) -> Iterator[Callable[[str], None]]:
    """A function that writes its message to standard error, with the seconds since the start."""
    start = time.monotonic()
    terminal = sys.stderr is not None and sys.stderr.isatty()

    def report_progress(message: str) -> None:
        if quiet:
            return
        line = f"{time.monotonic() - start:5.1f} s  {printable(message)}"
        if terminal:
            width = shutil.get_terminal_size().columns - 1
            write("stderr", f"\r\x1b[2K{line[:width]}")
        else:
            write("stderr", f"{line}\n")

    try:
        yield report_progress
    finally:
        if terminal and not quiet:
            write("stderr", "\r\x1b[2K")
