"""Numbers as an engineer writes them: a unit of handy size, a few significant digits, no bare exponents."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

MINUS = "\u2212"
THIN = "\u2009"
"""Thin space, between groups of three digits."""
GAP = "\u202f"
"""Narrow no-break space, between a number and its unit."""

ROOM = 3.0
"""How far below one of a unit the mean of values may lie that are given in it. [-]"""
LARGEST_PLAIN = 1e7
SMALLEST_PLAIN = 1e-4
"""Beyond these a number is written with a power of ten."""


@dataclass(frozen=True)
class Unit:
    """A unit of a quantity."""

    symbol: str
    size: float
    """What one of it is in the SI base unit of the quantity. [SI unit]"""

    def of(self, value: float) -> float:
        """A value in SI as a number of this unit."""
        return value / self.size


FLUX_DENSITY = (Unit("nT", 1e-9), Unit("µT", 1e-6), Unit("mT", 1e-3), Unit("T", 1.0))
LOSS_PER_LENGTH = (Unit("mW/m", 1e-3), Unit("W/m", 1.0), Unit("kW/m", 1e3))
LOSS_PER_AREA = (Unit("mW/m²", 1e-3), Unit("W/m²", 1.0), Unit("kW/m²", 1e3))
LOSS_PER_VOLUME = (Unit("W/m³", 1.0), Unit("kW/m³", 1e3), Unit("MW/m³", 1e6))
CURRENT_DENSITY = Unit("A/mm²", 1e6)
LENGTH = (Unit("mm", 1e-3), Unit("m", 1.0))
CURRENT = (Unit("mA", 1e-3), Unit("A", 1.0), Unit("kA", 1e3))


def unit_for(value: float, units: tuple[Unit, ...]) -> Unit:
    """The largest unit of which a value is one or more; the smallest where there is none; SI for zero."""
    if value == 0:
        return next((unit for unit in units if unit.size == 1.0), units[0])
    fitting = [unit for unit in units if abs(value) >= unit.size * (1 - 1e-9)]
    return fitting[-1] if fitting else units[0]


def common_unit(values: Iterable[float], units: tuple[Unit, ...], room: float = ROOM) -> Unit:
    """One unit for several values: that of their geometric mean, a factor `room` [-] below one allowed."""
    positive = [abs(value) for value in values if math.isfinite(value) and value != 0]
    if not positive:
        return units[0]
    mean = math.exp(sum(math.log(value) for value in positive) / len(positive))
    return unit_for(room * mean, units)


def plain(value: float, digits: int = 3) -> str:
    """A number with a count of significant digits, trailing zeros kept, thin spaces between groups of three."""
    if not math.isfinite(value):
        return "∞" if value > 0 else f"{MINUS}∞" if value < 0 else "–"
    if value == 0:
        return "0"
    size = abs(float(f"{value:.{digits - 1}e}"))
    if not SMALLEST_PLAIN <= size < LARGEST_PLAIN:
        return power_of_ten(value, min(digits, 2))
    return fixed(math.copysign(size, value), digits - 1 - math.floor(math.log10(size)))


def fixed(value: float, decimals: int) -> str:
    """A number with a count of decimals, thin spaces between groups of three; less than 0 rounds before the point."""
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    sign = MINUS if text.startswith("-") and float(text) != 0 else ""
    whole, _, fraction = text.lstrip("-").partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THIN)
    return f"{sign}{whole}.{fraction}" if fraction else f"{sign}{whole}"


def power_of_ten(value: float, digits: int = 2) -> str:
    """A number as mantissa times a power of ten with raised digits."""
    if value == 0:
        return "0"
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    raised = str(int(exponent)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{mantissa.replace('-', MINUS)}{GAP}×{GAP}10{raised}"


def quantity(value: float, units: tuple[Unit, ...], digits: int = 3) -> str:
    """A value in SI in the unit of its own size, with the unit."""
    unit = unit_for(value, units)
    return f"{plain(unit.of(value), digits)}{GAP}{unit.symbol}"


def stated(value: float, unit: Unit) -> str:
    """A value that was stated, such as a limit, in a unit, as exact as it was stated and without trailing zeros."""
    number = float(f"{unit.of(value):.6g}")
    if number != 0 and not SMALLEST_PLAIN <= abs(number) < LARGEST_PLAIN:
        return f"{power_of_ten(number, 3)}{GAP}{unit.symbol}"
    decimals = max(0, 5 - math.floor(math.log10(abs(number)))) if number else 0
    text = fixed(number, decimals)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text}{GAP}{unit.symbol}"
