"""The one number format: digits by the error, a true minus sign, thin spaces, powers of ten with raised digits."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from typing import TypeVar

from studies.text.units import NUMBER, Family, Unit, unit_for

Entry = TypeVar("Entry")
ALIKE = 1e-6
"""Numbers that differ by less than this share are one: those of mirrored parts differ in their last digits. [-]"""
MINUS = "\u2212"
THIN = "\u2009"
"""Thin space, between groups of three digits."""
GAP = "\u202f"
"""Narrow no-break space, between a number and its unit."""
NONE = "–"
"""Shown if there is no number."""

LARGEST_PLAIN = 1e7
SMALLEST_PLAIN = 1e-4
"""Numbers outside this range are written with a power of ten."""
MOST_DIGITS = 5
"""Significant digits of a computed number, however small its numerical error."""
MOST_DECIMALS = 9
"""Numbers with an error that need more decimals are written with a power of ten."""
MOST_POWER = 300
"""Most decimals for which a computer has the power of ten."""
BRIEF_DIGITS = 3
"""Significant digits of a number in brief, as in a terminal."""
DIFFERENCE = "formula / finite element − 1"
"""Definition of every difference; positive if the formula is higher."""


def plain(value: float, digits: int = 3) -> str:
    """A number with a count of significant digits, trailing zeros kept, thin spaces between groups of three."""
    if not math.isfinite(value):
        return "∞" if value > 0 else f"{MINUS}∞" if value < 0 else NONE
    if value == 0:
        return "0"
    size = abs(float(f"{value:.{digits - 1}e}"))
    if not SMALLEST_PLAIN <= size < LARGEST_PLAIN:
        return power_of_ten(value, min(digits, 2))
    return fixed(math.copysign(size, value), digits - 1 - math.floor(math.log10(size)))


def fixed(value: float, decimals: int) -> str:
    """A number with a count of decimals, thin spaces in groups of three; a negative count rounds before the point."""
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    sign = MINUS if text.startswith("-") and float(text) != 0 else ""
    whole, _, fraction = text.lstrip("-").partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THIN)
    return f"{sign}{whole}.{fraction}" if fraction else f"{sign}{whole}"


def count(value: int) -> str:
    """A whole number in full."""
    return fixed(value, 0)


def power_of_ten(value: float, digits: int = 2) -> str:
    """A number as mantissa times a power of ten with raised digits."""
    if value == 0:
        return "0"
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    raised = str(int(exponent)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{mantissa.replace('-', MINUS)}{GAP}×{GAP}10{raised}"


def significant(value: float | None, unit: Unit, digits: int = 4) -> str:
    """A value in SI as a number of a unit, or a dash."""
    return NONE if value is None else _measurable(unit.of(value), unit, digits)


def _measurable(number: float, unit: Unit, digits: int) -> str:
    """A number of a unit with so many significant digits, and no more decimals than the unit has."""
    most = unit.most_decimals
    if most is None or not math.isfinite(number) or abs(number) >= 10.0 ** (digits - 1 - most):
        return plain(number, digits)
    text = fixed(number, most)
    return text.rstrip("0") if float(text.replace(MINUS, "-")) else "0"


def with_error(value: float, error: float, unit: Unit) -> tuple[str, str]:
    """A value and its error, both in SI, as numbers of a unit with the same decimals.

    The error is rounded up to one significant digit, or to the last of `MOST_DIGITS` digits of the value. Below a
    billionth of that digit an error is rounding and becomes 0.
    """
    text, _, spread = pair_with_error(value, value, error, unit)
    return text, spread


def pair_with_error(first: float, second: float, error: float, unit: Unit) -> tuple[str, str, str]:
    """Two values of one error, such as the parts of a complex number, and the error, all with the same decimals."""
    numbers, spread = (unit.of(first), unit.of(second)), unit.of(error)
    largest = max(abs(number) for number in numbers)
    if not (math.isfinite(largest) and math.isfinite(spread)):
        return plain(numbers[0]), plain(numbers[1]), plain(spread)
    if largest == 0 and spread == 0:
        return "0", "0", "0"
    decimals = _decimals(largest, spread)
    if unit.most_decimals is not None:
        decimals = min(decimals, unit.most_decimals)
    step = 10.0**-decimals
    bound = math.ceil(spread / step - 1e-9) * step
    if decimals > MOST_DECIMALS:
        return power_of_ten(numbers[0]), power_of_ten(numbers[1]), power_of_ten(bound, 1)
    return fixed(numbers[0], decimals), fixed(numbers[1], decimals), fixed(bound, decimals)


def _decimals(largest: float, spread: float) -> int:
    """Decimals of numbers and their error, not all of them 0."""
    decimals = min(-math.floor(math.log10(spread)), MOST_POWER) if spread > 0 else MOST_DECIMALS + 1
    if largest > 0:
        decimals = min(decimals, MOST_DIGITS - 1 - math.floor(math.log10(largest)))
    return decimals


def brief(value: float | None, unit: Unit, error: float | None = None) -> str:
    """A value in SI as a number of a unit, with three significant digits or fewer if its error is large."""
    if value is None:
        return NONE
    number = unit.of(value)
    if number == 0 or error is None or not math.isfinite(error) or not math.isfinite(number):
        return _measurable(number, unit, BRIEF_DIGITS)
    decimals = _decimals(abs(number), unit.of(abs(error)))
    own = decimals + math.floor(math.log10(abs(number))) + 1
    if own >= BRIEF_DIGITS or (unit.most_decimals is not None and decimals > unit.most_decimals):
        return _measurable(number, unit, BRIEF_DIGITS)
    return power_of_ten(number) if decimals > MOST_DECIMALS else fixed(number, decimals)


def value_with_error(value: float, error: float, unit: Unit) -> str:
    """A value, its error and the unit as running text."""
    number, spread = with_error(value, error, unit)
    return f"({number} ± {spread}){'' if unit == NUMBER else GAP + unit.symbol}"


def with_unit(value: float, units: Family, digits: int = 3) -> str:
    """A value in SI in the unit that suits its size, with the unit, for a sentence without a table."""
    unit = unit_for(value, units)
    return f"{plain(unit.of(value), digits)}{GAP}{unit.symbol}"


def stated(value: float, unit: Unit) -> str:
    """A stated value, such as a limit, in a unit, with the digits as stated and without trailing zeros."""
    return f"{stated_number(value, unit)}{GAP}{unit.symbol}"


def stated_or_summed(value: float, unit: Unit) -> str:
    """A stated value, or one that follows from stated ones, of which four digits are enough.

    >>> from studies.text.units import AMPERE
    >>> stated_or_summed(1234.5, AMPERE), stated_or_summed(17.4356, AMPERE)
    ('1234.5\\u202fA', '17.44\\u202fA')
    """
    digits = 4 if stated_number(value, unit) != stated_number(value, unit, 5) else 6
    return f"{stated_number(value, unit, digits)}{GAP}{unit.symbol}"


def stated_number(value: float, unit: Unit, digits: int = 6) -> str:
    """The same without the unit, with so many significant digits at most."""
    if not math.isfinite(value):
        return plain(value)
    number = float(f"{unit.of(value):.{digits}g}")
    if number != 0 and not SMALLEST_PLAIN <= abs(number) < LARGEST_PLAIN:
        return power_of_ten(number, 3)
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(number)))) if number else 0
    text = fixed(number, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(ratio: float | None, signed: bool = True) -> str:
    """A ratio in per cent, without the sign for it: two decimals below 1 %, one below 100 %, none above."""
    if ratio is None or math.isnan(ratio):
        return NONE
    if math.isinf(ratio):
        return "∞" if ratio > 0 else f"{MINUS}∞"
    number = 100 * ratio
    size = abs(number)
    text = fixed(number, 0 if size >= 99.95 else 1 if size >= 0.995 else 2)
    return f"+{text}" if signed and number > 0 and float(text.replace(THIN, "") or 0) != 0 else text


def per_cent(ratio: float | None, signed: bool = True) -> str:
    """The same with the sign, for running text."""
    text = percent(ratio, signed)
    return text if text == NONE else f"{text}{GAP}%"


def rounded_up(value: float, unit: Unit) -> str:
    """A bound in SI as a number of a unit with one significant digit, never below the bound."""
    number = unit.of(value)
    if number <= 0 or not math.isfinite(number):
        return plain(number, 1)
    step = 10.0 ** math.floor(math.log10(number))
    return plain(math.ceil(number / step - 1e-9) * step, 1)


def difference(formula: float | None, computed: float | None) -> float | None:
    """Formula / computed - 1; None if one is missing or they differ in sign, where a ratio tells nothing. [-]"""
    if formula is None or computed is None or computed == 0 or formula / computed < 0:
        return None
    return formula / computed - 1


def angle(value: complex) -> str:
    """Angle of a phasor in degrees, from -180 to 180, or a dash for none."""
    if value == 0:
        return NONE
    degrees = math.degrees(cmath.phase(value))
    if degrees <= -179.95:
        degrees += 360.0
    return fixed(degrees, 1)


def largest(entries: Sequence[Entry], value: Callable[[Entry], float]) -> Entry:
    """The first entry whose value, 0 or above, is the largest but for rounding, so that each computer names the same.

    >>> largest(["left", "right"], {"left": 2.0, "right": 2.0000000001}.__getitem__)
    'left'
    """
    most = max(map(value, entries))
    return next(entry for entry in entries if value(entry) >= most * (1 - ALIKE))
