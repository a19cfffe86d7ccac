"""Numbers as an engineer writes them: a prefix to the unit, and digits according to the error."""

from __future__ import annotations

import math
from collections.abc import Iterable

PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


def prefix_power(value: float) -> int:
    """Power of ten of the prefix that leaves 1 to 999 before the decimal point; 0 for zero and what is not finite."""
    if value == 0 or not math.isfinite(value):
        return 0
    power = 3 * math.floor(math.log10(abs(value)) / 3 + 1e-12)
    return min(max(power, min(PREFIXES)), max(PREFIXES))


def common_unit(values: Iterable[float], unit: str) -> tuple[float, str]:
    """Factor and prefixed unit that suit the largest of some values."""
    finite = [abs(value) for value in values if math.isfinite(value)]
    power = prefix_power(max(finite, default=0.0))
    return 10.0**-power, f"{PREFIXES[power]}{unit}"


def engineering(value: float | None, unit: str, digits: int = 4, error: float | None = None) -> str:
    """Value with its unit and, where given, its error in the same unit, such as "2.254 µT ± 0.0004 µT".

    Parameters
    ----------
    value : float or None
        In the unit; None gives a dash.
    unit : str
        Unit without prefix.
    digits : int
        Significant digits, at most; fewer where the error does not support them.
    error : float, optional
        Error estimate in the unit.
    """
    if value is None or not math.isfinite(value):
        return "–"
    power = prefix_power(value)
    scaled = value * 10.0**-power
    text = f"{fixed(scaled, supported_digits(value, digits, error))} {PREFIXES[power]}{unit}"
    if error is None:
        return text
    return f"{text} ± {fixed(error * 10.0**-power, 1)}"


def supported_digits(value: float, digits: int, error: float | None) -> int:
    """Significant digits that an error supports, 2 at least, a number of digits at most."""
    if error is None or error <= 0 or value == 0:
        return digits
    return max(2, min(digits, 1 + math.floor(math.log10(abs(value) / error) + 1)))


def fixed(value: float, digits: int) -> str:
    """Decimal notation with a number of significant digits, never with an exponent."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    if rounded != 0:  # 9.996 became 10.00, which has a digit more before the point
        decimals = digits - 1 - math.floor(math.log10(abs(rounded)))
    return f"{rounded:.{max(decimals, 0)}f}"


def difference(value: float | None, reference: float | None) -> float | None:
    """Difference of a value from a reference in per cent of the value; None where there is none. [%]"""
    if value is None or reference is None or value == 0 or not math.isfinite(reference):
        return None
    return 100 * (reference - value) / abs(value)


def percent(value: float | None) -> str:
    """Signed per cent, such as "+38.5 %"."""
    if value is None:
        return "–"
    if abs(value) >= 10:
        return f"{value:+,.0f} %".replace(",", " ")
    return f"{'' if value < 0 else '+'}{fixed(value, 2)} %"
