"""Patterns of quantities as text, for editors that check a study file by its JSON Schema."""

import re
from collections.abc import Mapping

from studies.study.quantities import KINDS, RANGES, convert
from studies.study.unit_names import UNITS

DIGITS = r"(?:\d+\.?\d*|\.\d+)"
NOT_ZERO = r"(?:\d*[1-9]\d*\.?\d*|\d*\.\d*[1-9]\d*)"
POWER = r"(?:[eE][+-]?\d+)?"
NUMBER = rf"[+\-\u2212]?{DIGITS}{POWER}"
NOT_NEGATIVE = rf"\+?{DIGITS}{POWER}"
POSITIVE = rf"\+?{NOT_ZERO}{POWER}"
GAUGE = r"(?:[1-4]/0|[1-9]|[1-3]\d|40) AWG"
DIAMETERS = rf"^\s*{NUMBER}\s*(?:x\s*)?diameters?\s*$"
"""A multiple of the cable's diameter."""
JOINTS: Mapping[str, str] = {"/": r"\s*/\s*", "*": r"(?:\s*[*\u00b7]\s*|\s+)"}
SPELLED = (("ohm", "(?:ohm|\u2126|\u03a9)"), ("deg", "(?:deg|\u00b0)"), ("u", "[u\u00b5\u03bc]"))
"""Parts of units, each with all its spellings."""


def quantity_schema(name: str) -> dict[str, object]:
    """JSON Schema of a named quantity: text with a number and a unit of its kind, and its range.

    A pattern holds the sign that the range allows. `x-range` has both ends as numbers in SI, under the keywords that
    JSON Schema has for numbers; those say nothing about text.
    """
    allowed = RANGES[name]
    low, high = (float(f"{convert(end, allowed.kind):.12g}") for end in (allowed.low, allowed.high))
    number = NUMBER if low < 0 else POSITIVE if low > 0 or allowed.above else NOT_NEGATIVE
    ends = {"exclusiveMinimum" if allowed.above else "minimum": low, "maximum": high}
    return {
        "type": "string",
        "pattern": quantity_pattern(allowed.kind, number),
        "examples": [allowed.example],
        "x-range": {"unit": KINDS[allowed.kind].si, **ends},
    }


def quantity_pattern(kind_name: str, number: str = NUMBER) -> str:
    """Pattern of a number with a unit of a kind, in every spelling that is read."""
    units = [_unit(unit) for unit in KINDS[kind_name].units if unit != "AWG"]
    texts = [rf"{number}\s*(?:{'|'.join(dict.fromkeys(units))})"]
    texts += [GAUGE] if "AWG" in KINDS[kind_name].units else []
    return rf"^\s*(?:{'|'.join(texts)})\s*$"


def _unit(unit: str) -> str:
    """Pattern of a unit and of those that differ from it by prefixes or systems, such as ohm/km and mohm/ft."""
    parts = re.findall(r"[A-Za-z%]+|\^2|[/*]|1", unit)
    return "".join(_part(part) for part in parts)


def _part(part: str) -> str:
    if part in JOINTS:
        return JOINTS[part]
    if part == "^2":
        return r"(?:(?:\^|\*\*)?2|\u00b2)"
    if part == "1":
        return "1?"
    alike = [name for name in UNITS if _base(name) == _base(part)]
    return f"(?:{'|'.join(_spelled(name) for name in alike)})"


def _base(name: str) -> str:
    """What a unit is made of, without its factor."""
    return re.sub(r"\d[\d.]*(?:e-?\d+)?|[()]", "", UNITS[name]).strip() if not name.startswith("deg") else UNITS[name]


def _spelled(name: str) -> str:
    for plain, spellings in SPELLED:
        if name == plain or (name.startswith(plain) and name != "deg") or (plain == "ohm" and name.endswith(plain)):
            rest = name.replace(plain, "", 1)
            prefix, suffix = (rest, "") if name.endswith(plain) else ("", rest)
            return f"{_spelled(prefix) if prefix == 'u' else re.escape(prefix)}{spellings}{re.escape(suffix)}"
    return re.escape(name)
