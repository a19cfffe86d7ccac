"""Finished cases in one SQLite file: each is there at once and stays, however the run ends."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from studies.text.failures import Kind
from studies.text.problems import Refused

FILE = "cases.sqlite"
APPLICATION = 0x74726179
"""Mark of a file of cases in the header of SQLite, "tray"."""
SCHEMA = 1
PATIENCE = 60.0
"""Longest wait for somebody who reads the file. [s]"""
MAGIC = b"SQLite format 3\x00"

TABLE = """
CREATE TABLE cases (
    key TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('done', 'failed')),
    numbers TEXT,
    message TEXT,
    seconds REAL NOT NULL
)
"""


class StoreError(Refused):
    """A file of cases that cannot be used."""


@dataclass(frozen=True)
class CaseOutcome:
    """What became of a case."""

    key: str
    numbers: str | None
    """Its numbers as JSON; None where it failed."""
    message: str
    """Why it failed, or what of it did after its solve; empty where nothing did."""
    seconds: float
    """Time that it took. [s]"""
    kind: Kind = "numerical"
    """Whose fault a failure is."""


class Store:
    """The cases of a results folder."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        """Take an open file of cases."""
        self._connection = connection

    @classmethod
    @contextlib.contextmanager
    def opened(cls, path: Path) -> Iterator[Self]:
        """The file of cases at a path, made where it is not there; closed at the end.

        A file that is none, or of another version of the program, raises `StoreError`.
        """
        try:
            with contextlib.closing(sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)) as connection:
                connection.text_factory = _text
                _prepare(connection, path)
                yield cls(connection)
        except sqlite3.OperationalError as error:
            raise StoreError(f"{path}: the cases cannot be stored ({error}); name another folder with --out") from None
        except sqlite3.DatabaseError as error:
            raise StoreError(f"{path}: cannot be read ({error}); move it away or name another folder") from None

    def put(self, name: str, outcome: CaseOutcome) -> None:
        """Store what became of a case, in the place of what is there; it is on disk when this returns."""
        state = "failed" if outcome.numbers is None or outcome.message else "done"
        self._connection.execute(
            "INSERT OR REPLACE INTO cases (key, name, state, numbers, message, seconds) VALUES (?, ?, ?, ?, ?, ?)",
            (outcome.key, name, state, outcome.numbers, outcome.message, outcome.seconds),
        )

    def finished(self, keys: Iterable[str]) -> dict[str, CaseOutcome]:
        """Those of some cases that are done, by key; numbers that are no text are empty."""
        wanted = set(keys)
        rows = self._connection.execute("SELECT key, numbers, seconds FROM cases WHERE state = 'done'")
        found = {}
        for key, numbers, seconds in rows:
            if key in wanted:
                time = float(seconds) if isinstance(seconds, float | int) else 0.0
                found[key] = CaseOutcome(key, numbers if isinstance(numbers, str) else "", "", time)
        return found

    def forget(self, keys: Iterable[str]) -> None:
        """Remove some cases, so that they are computed anew."""
        self._connection.execute("BEGIN")
        self._connection.executemany("DELETE FROM cases WHERE key = ?", [(key,) for key in keys])
        self._connection.execute("COMMIT")


def is_store(path: Path) -> bool:
    """Whether there is a file of cases at a path; an empty one is of a run that was killed when it began."""
    try:
        with path.open("rb") as file:
            header = file.read(72)
    except OSError:
        return False
    return not header or (header[:16] == MAGIC and int.from_bytes(header[68:72], "big") == APPLICATION)


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    application, schema = (connection.execute(f"PRAGMA {name}").fetchone()[0] for name in _MARKS)
    empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if not empty and application != APPLICATION:
        raise StoreError(f"{path}: is no file of cases; move it away or name another folder with --out")
    if not empty and schema != SCHEMA:
        raise StoreError(f"{path}: is of another version of the program; name another folder with --out")
    connection.execute("PRAGMA synchronous = FULL")
    # one file, with a journal only while a case is stored: a write-ahead log needs memory that machines on a network
    # cannot share
    connection.execute("PRAGMA journal_mode = DELETE")
    if empty:
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute(TABLE)


def _text(content: bytes) -> str:
    return content.decode("utf-8", "replace")


_MARKS = ("application_id", "user_version")
