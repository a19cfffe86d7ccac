"""A line of the sheet that is signed: one thing that was asked, with its value and verdict."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from studies.text.grid import Tone


@dataclass(frozen=True)
class SheetRow:
    """One thing that was asked: value, limit, margin, verdict, and what its error estimate does not cover."""

    of: str
    value: str
    """With its error and unit."""
    limit: str | None = None
    margin: float | str | None = None
    """Remainder to the limit, over the limit [-], or words."""
    verdict: str | None = None
    tone: Tone = ""
    beyond: str | None = None
    """Cases that the error estimate does not cover."""
    section: str = ""
    """Anchor of the section that has it in full."""

    @property
    def is_judged(self) -> bool:
        """Whether it has a verdict, good or bad."""
        return self.tone != ""


def as_sentences(rows: Iterable[SheetRow]) -> tuple[str, ...]:
    """Lines of the sheet as sentences at the head of the report, for what the study asks."""
    return tuple(f"{row.of}: {row.value}." for row in rows)
