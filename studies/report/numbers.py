"""Numbers for the report: digits that follow from their error, differences in per cent, phasors."""

from __future__ import annotations

import cmath
import math

from studies.figures.engineering import MINUS, Unit, fixed, plain, power_of_ten
from studies.report.blocks import Cell

MOST_DIGITS = 5
"""Significant digits of a computed number, however small its numerical error."""
MOST_DECIMALS = 9
"""Numbers that need more decimals are written with a power of ten."""
NONE = "–"
"""Where there is no number."""
OUT_OF_TOLERANCE = "\u2009*"
"""Mark of a number whose error is above what was asked."""

OHM_PER_KM = Unit("Ω/km", 1e-3)
MILLIHENRY_PER_KM = Unit("mH/km", 1e-6)
VOLT_PER_KM = Unit("V/km", 1e-3)
AMPERE = Unit("A", 1.0)
METRE = Unit("m", 1.0)
PER_CENT = Unit("%", 0.01)
MEGASIEMENS_PER_METRE = Unit("MS/m", 1e6)
MILLIMETRE = Unit("mm", 1e-3)


def with_error(value: float, error: float, unit: Unit) -> tuple[str, str]:
    """A value and its error in a unit, with the same decimals.

    The error is rounded up to one significant digit, or to the last of `MOST_DIGITS` digits of the value.
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
    decimals = -math.floor(math.log10(spread)) if spread > 0 else MOST_DECIMALS + 1
    if largest > 0:
        decimals = min(decimals, MOST_DIGITS - 1 - math.floor(math.log10(largest)))
    step = 10.0**-decimals
    bound = math.ceil(spread / step - 1e-9) * step
    if decimals > MOST_DECIMALS:
        return power_of_ten(numbers[0]), power_of_ten(numbers[1]), power_of_ten(bound, 1)
    return fixed(numbers[0], decimals), fixed(numbers[1], decimals), fixed(bound, decimals)


def error_cell(text: str, within_tolerance: bool) -> str | Cell:
    """An error, marked where it is above what was asked."""
    return text if within_tolerance else Cell(text + OUT_OF_TOLERANCE, "bad")


def significant(value: float | None, unit: Unit, digits: int = 4) -> str:
    """A value in a unit, or a dash."""
    return NONE if value is None else plain(unit.of(value), digits)


def percent(ratio: float | None, signed: bool = True) -> str:
    """A ratio in per cent with one decimal from 1 % on, two below."""
    if ratio is None or math.isnan(ratio):
        return NONE
    if math.isinf(ratio):
        return "∞" if ratio > 0 else f"{MINUS}∞"
    number = 100 * ratio
    size = abs(number)
    text = fixed(number, 0 if size >= 99.95 else 1 if size >= 0.995 else 2)
    return f"+{text}" if signed and number > 0 and float(text.replace("\u2009", "") or 0) != 0 else text


def difference(formula: float | None, computed: float | None) -> float | None:
    """Formula over computed less one; None where one is missing. [-]"""
    if formula is None or computed is None or computed == 0:
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
