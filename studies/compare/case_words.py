"""Values of a study file in words, as they stand there."""

from __future__ import annotations

import json

LONGEST = 90
"""Longest value that is written out. [characters]"""


def words(value: object) -> str:
    """A value as in a study file, on one line and not too long."""
    if isinstance(value, dict):
        text = f"{{ {', '.join(f'{key} = {words(entry)}' for key, entry in value.items())} }}"
    elif isinstance(value, list):
        text = f"[{', '.join(words(entry) for entry in value)}]"
    elif value is None:
        return ""
    else:
        text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."


def brief(value: object) -> str:
    """The same in the name of a case, of a list its entries alone."""
    if isinstance(value, list) and all(isinstance(entry, str | int | float) for entry in value):
        return " ".join(bare(entry) for entry in value)
    return bare(value)


def bare(value: object) -> str:
    """The same, of a text without its quotes."""
    return value if isinstance(value, str) else words(value)
