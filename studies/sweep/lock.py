"""A lock that one process at a time holds on a file, and that goes with the process however it ends."""

from __future__ import annotations

import contextlib
import fcntl
import os
from collections.abc import Iterator
from pathlib import Path


class LockedError(Exception):
    """Another process holds the lock."""

    def __init__(self, holder: str) -> None:
        """Name the process that holds it, as far as it is known."""
        self.holder = holder
        super().__init__(holder)


@contextlib.contextmanager
def held(path: Path) -> Iterator[None]:
    """Hold the lock of a file, which is made for it and removed again; `LockedError` where another process does."""
    descriptor = _taken(path)
    try:
        os.ftruncate(descriptor, 0)
        os.pwrite(descriptor, str(os.getpid()).encode("ascii"), 0)
        yield
    finally:
        path.unlink(missing_ok=True)  # while it is still held, so that nobody waits for a file that is gone
        os.close(descriptor)


def _taken(path: Path) -> int:
    while True:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            holder = os.pread(descriptor, 20, 0).decode("ascii", "replace").strip()
            os.close(descriptor)
            raise LockedError(holder or "unknown") from None
        try:
            if path.stat().st_ino == os.fstat(descriptor).st_ino:
                return descriptor
        except FileNotFoundError:
            pass
        os.close(descriptor)  # its last holder has just removed it: what is locked is no longer the file of that name
