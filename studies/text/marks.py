"""Marks of sources and their words in a report."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

NAMED = "[M]"
"""Mark of a reference that was not read."""
WORDS: Mapping[str, str] = MappingProxyType({"C": "seen", "M": "named", "D": "derived", "P": "practice"})
"""Word of each mark."""
LEGEND = (
    "[seen]: the reference, or a public text that quotes or lists it, was read. [named]: the reference was not "
    "read; `trayfield verify --out` lists what to check in it. [derived]: from the laws of the field."
)


def words_of_mark(source: str) -> str:
    """A source with its marks as words."""
    for mark, word in WORDS.items():
        source = source.replace(f"[{mark}]", f"[{word}]")
    return source
