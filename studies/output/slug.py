"""File names from the names of a study."""

from __future__ import annotations

import re
from collections.abc import Iterable

LONGEST = 60
"""Longest file name made from a name; folded letters may be several, and file systems count bytes. [characters]"""


def slugs(names: Iterable[str]) -> list[str]:
    """A file name for each name, lower case, without spaces, each unlike the others."""
    found: list[str] = []
    for name in names:
        slug = re.sub(r"[^\w]+", "_", name.casefold())[:LONGEST].strip("_") or "unnamed"
        number = 2
        unique = slug
        while unique in found:
            unique, number = f"{slug}_{number}", number + 1
        found.append(unique)
    return found
