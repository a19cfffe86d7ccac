"""A line of the sheet to sign as it must read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from tests.studies.cells import Told
from tests.studies.templates import fits, pattern_of

NUMBER = re.compile(r"[A-D]|\d+|\w+")


def told(template: str, *values: Any) -> Told:
    """Words with these numbers."""

    def read(text: str) -> bool:
        found = re.compile(pattern_of(template)).fullmatch(" ".join(text.split()))
        return found is not None and fits(template, found, values)

    return Told(read, f"{template} {values}")


@dataclass(frozen=True)
class Row:
    """A line of the sheet: templates as those of sentences, each with its numbers."""

    of: str | Told
    value: tuple[str, tuple[Any, ...]]
    limit: tuple[str, tuple[Any, ...]] = ("–", ())
    margin: tuple[str, tuple[Any, ...]] = ("–", ())
    verdict: str | re.Pattern[str] = ""
    is_judged: bool = False
    beyond: str | None = None
    """How it begins; None for any words."""
