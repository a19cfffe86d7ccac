"""Checks of dimensions; every message names the field and the right values."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence


def require_length(name: str, value: float, *, above: bool = True) -> None:
    """Refuse a value that is not a finite length above 0 m, or of 0 m or above."""
    if not (math.isfinite(value) and (value > 0 or (value == 0 and not above))):
        raise ValueError(f"{name} must be a finite length {'above 0 m' if above else 'of 0 m or above'}: {value}")


def require_lengths(owner: object, *names: str, above: bool = True) -> None:
    """Refuse fields of an object that are not such lengths."""
    for name in names:
        require_length(f"{name} of {_article(owner)}", getattr(owner, name), above=above)


def require_below(owner: object, name: str, limit: float, meaning: str) -> None:
    """Refuse a field that is not below a limit [m]; `meaning` describes the limit in the message."""
    value = getattr(owner, name)
    if not value < limit:
        raise ValueError(f"{name} of {_article(owner)} must be below {limit:g} m, {meaning}: {value}")


def require_choice(owner: object, name: str, choices: Sequence[str]) -> None:
    """Refuse a field that is none of the given words."""
    value = getattr(owner, name)
    if value not in choices:
        raise ValueError(f"{name} of {_article(owner)} must be {' or '.join(map(repr, choices))}: {value!r}")


def _article(owner: object) -> str:
    """Class of an object in words, with its article."""
    first, *rest = re.findall("[A-Z][a-z]*", type(owner).__name__)
    words = [first if len(first) == 1 else first.lower(), *(word.lower() for word in rest)]
    return f"{'an' if first in ('I', 'L') else 'a'} {' '.join(words)}"
