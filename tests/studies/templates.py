"""Sentences with numbers: templates and the values that belong in their places.

A template has `{}` for a number, `{%}` for one in per cent, `{T}` for one with a unit that may have a prefix, and
`{±T}` for a number and its error in brackets; `{*}` for any words.
"""

import math
import re
from typing import Any

from tests.studies.cells import covers, shows
from tests.studies.reading_cells import PREFIXES, ReadNumber, read_number

NUMBER = r"([+−]?\d+(?:[ ,]\d{3})*(?:\.\d+)?(?: × 10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?|∞|–)"
TOKEN = re.compile(r"\{(±?)([^}]*)\}")


def pattern_of(template: str) -> str:
    """A regular expression with a group for each number, its error and the prefix of its unit."""
    pieces, last = [], 0
    for token in TOKEN.finditer(template):
        pieces.append(re.escape(template[last : token.start()]))
        error, unit = token.groups()
        last = token.end()
        if unit == "*":
            pieces.append(".*")
            continue
        number = rf"\({NUMBER} ± {NUMBER}\)" if error else NUMBER
        prefixed = rf" ([pnµmkM]?){re.escape(unit)}" if unit not in ("", "%") else r" ?%" if unit else ""
        pieces.append(number + prefixed)
    return "".join([*pieces, re.escape(template[last:])])


def fits(template: str, match: re.Match[str], values: tuple[Any, ...]) -> bool:
    """Whether the numbers of a match show the values."""
    groups, expected = list(match.groups()), list(values)
    for token in TOKEN.finditer(template):
        error, unit = token.groups()
        if unit == "*":
            continue
        texts = [groups.pop(0) for _ in range(2 if error else 1)]
        size = 0.01 if unit == "%" else PREFIXES[groups.pop(0)] if unit else 1.0
        value = expected.pop(0)
        spread = _read(texts[1]) if error else None
        step = 10.0 ** math.floor(math.log10(spread.value)) if spread is not None and spread.value > 0 else 0.0
        if not _shows(texts[0], value, size, step):
            return False
        if spread is not None and not covers(spread, expected.pop(0) / size):
            return False
    assert not expected, f"more values than places in {template!r}"
    return True


def _read(text: str) -> ReadNumber:
    read = read_number(text.replace(" ", "").replace(",", ""))
    assert read is not None, text
    return read


def _shows(text: str, value: float | None, size: float, step: float) -> bool:
    if value is None or not math.isfinite(value):
        return text in ("∞", "–")
    return text not in ("∞", "–") and shows(_read(text), value / size, step)
