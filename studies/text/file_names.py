"""File names from the names of a study."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

LONGEST = 60
"""Longest file name made from a name. [characters]"""
DEVICES = re.compile(r"con|prn|aux|nul|com\d|lpt\d")
"""Names that Windows reserves for devices, with any ending."""


def slugs(names: Iterable[str]) -> list[str]:
    """A distinct file name for each name, of lower-case ASCII letters, digits and underscores."""
    found: list[str] = []
    for name in names:
        plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
        slug = re.sub(r"[^a-z0-9]+", "_", plain)[:LONGEST].strip("_") or "unnamed"
        if DEVICES.fullmatch(slug):
            slug = f"{slug}_name"
        number = 2
        unique = slug
        while unique in found:
            unique, number = f"{slug}_{number}", number + 1
        found.append(unique)
    return found
