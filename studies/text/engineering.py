"""Numbers as an engineer writes them: a prefix to the unit, and digits according to the error."""

from __future__ import annotations

import math
from collections.abc import Iterable

PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
MOST_DIGITS = 5
"""Significant digits of a number with an error estimate, however small that is; as in the report."""


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
    """Value with its unit and, where given, its error in the same unit and to the same decimals.

    Such as "2.2540 µT ± 0.0003": the error is rounded up to one significant digit, or to the last of the most digits
    of a value however small its error; the value has the decimals of the error.

    Parameters
    ----------
    value : float or None
        In the unit; None gives a dash.
    unit : str
        Unit without prefix.
    digits : int
        Significant digits of a value without an error.
    error : float, optional
        Error estimate in the unit.
    """
    if value is None or not math.isfinite(value):
        return "–"
    if error is None or not math.isfinite(error) or value == error == 0:
        power = prefix_power(value)
        return f"{fixed(value * 10.0**-power, digits)} {PREFIXES[power]}{unit}"
    power = prefix_power(value or error)
    number, bound = with_error(value * 10.0**-power, error * 10.0**-power)
    return f"{number} {PREFIXES[power]}{unit} ± {bound}"


def three_digits(value: float | None, unit: str) -> str:
    """A value with its unit as a summary shows it; its error stands in the tables and files."""
    return engineering(value, unit, 3)


def with_error(value: float, error: float) -> tuple[str, str]:
    """A number and its error, not both 0, to the same decimals; the error is rounded up, a bare 0 if there is none."""
    decimals = agreeing_decimals(value, error)
    bound = math.ceil(error * 10.0**decimals - 1e-9) / 10.0**decimals
    shown = max(decimals, 0)
    return f"{round(value, decimals):.{shown}f}", f"{bound:.{shown if bound else 0}f}"


def agreeing_decimals(value: float, error: float) -> int:
    """Decimals of a value and its error, not both 0: those of the error's first digit.

    At least those of the first and at most those of the last of `MOST_DIGITS` digits of the value.
    """
    own = -math.floor(math.log10(error)) if error > 0 else math.inf
    if value == 0:
        return int(own)
    first = -math.floor(math.log10(abs(value)))
    return int(max(first, min(own, first + MOST_DIGITS - 1)))


def fixed(value: float, digits: int) -> str:
    """Decimal notation with a number of significant digits, never with an exponent."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    if rounded != 0:  # 9.996 became 10.00, which has a digit more before the point
        decimals = digits - 1 - math.floor(math.log10(abs(rounded)))
    return f"{rounded:.{max(decimals, 0)}f}"


def rounded_up(value: float) -> str:
    """A bound with one significant digit, never below the value."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    step = 10.0 ** math.floor(math.log10(abs(value)))
    return fixed(math.ceil(value / step - 1e-9) * step, 1)


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
