"""What cases are judged by: a few quantities that every case has, lower being better in all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from studies.figures.engineering import FLUX_DENSITY, GAP, LOSS_PER_LENGTH, Unit, common_unit, plain
from studies.report.numbers import percent
from studies.sweep.table import Row

LEAST_SHARE = 1e-4
"""Least inequality of phases that is told as a number. [-]"""
DIGITS = 4
"""Significant digits in which cases must differ not to be equal in an aspect."""
FIELD, LOSS, PHASES, WIDTH = "field", "total loss", "phase inequality", "width"
LIMIT = Unit("times the limit", 1.0)
PER_CENT = Unit("%", 0.01)
MILLIMETRE = Unit("mm", 1e-3)


@dataclass(frozen=True)
class Aspect:
    """One thing by which cases are judged."""

    noun: str
    best: str
    """What the best case has, such as "lowest field"."""
    unit: Unit
    values: tuple[float, ...]
    """Of each case. [SI unit]"""
    errors: tuple[float, ...]
    """Numerical error of each value. [SI unit]"""

    @property
    def rounded(self) -> tuple[float, ...]:
        """The values to so many digits that what differs by rounding alone is equal. [SI unit]"""
        return tuple(float(f"{value:.{DIGITS - 1}e}") for value in self.values)

    @property
    def heading(self) -> str:
        """Name and unit for an axis."""
        if self.unit is LIMIT:
            return "worst field over limit"
        return f"{'highest field' if self.noun == FIELD else self.noun} ({self.unit.symbol})"

    def leaders(self) -> tuple[int, ...]:
        """The best case, and those that are as good within the numerical error."""
        first = self.values.index(min(self.values))
        reach = [self.errors[k] + self.errors[first] for k in range(len(self.values))]
        others = [k for k, value in enumerate(self.values) if k != first and value - self.values[first] <= reach[k]]
        return (first, *others)

    def number(self, value: float) -> str:
        """A value in the aspect's unit, without it."""
        if self.unit is PER_CENT:
            return percent(value, signed=False) if value >= LEAST_SHARE else f"< {100 * LEAST_SHARE:g}"
        return plain(self.unit.of(value))

    def show(self, value: float) -> str:
        """A value with its unit as running text."""
        if self.unit is PER_CENT and value < LEAST_SHARE:
            return f"less than {100 * LEAST_SHARE:g}{GAP}%"
        return f"{self.number(value)}{' ' if self.unit is LIMIT else GAP}{self.unit.symbol}"


def aspects(rows: Sequence[Row]) -> tuple[Aspect, ...]:
    """Field, total loss, equality of the phases and width of some solved cases, as far as every case has them.

    The field is the worst over its limit where every case has one, else the highest at a receptor.
    """
    shares = tuple(number_of(row, "worst_error") or 0.0 for row in rows)
    found = [
        _aspect(FIELD, "lowest field", [number_of(row, "worst_field_over_limit") for row in rows], shares, (LIMIT,)),
        _aspect(FIELD, "lowest field", [number_of(row, "highest_b_rms_t") for row in rows], shares, FLUX_DENSITY),
        _aspect(LOSS, "lowest total loss", [number_of(r, "total_loss_w_per_m") for r in rows], shares, LOSS_PER_LENGTH),
        _inequality(rows, shares),
        _aspect(WIDTH, "least width", [number_of(row, "width_m") for row in rows], (0.0,) * len(rows), (MILLIMETRE,)),
    ]
    by_noun: dict[str, Aspect] = {}
    for aspect in found:
        if aspect is not None:
            by_noun.setdefault(aspect.noun, aspect)
    return tuple(by_noun.values())


def worst_of(row: Row, key: str) -> float | None:
    """The largest of what every circuit or receptor has of a quantity; None where none has it."""
    if row.measured is None:
        return None
    values = [value for name, value in row.measured.numbers.items() if name.startswith(f"{key}.") and value is not None]
    return max((float(value) for value in values), default=None)


def number_of(row: Row, column: str) -> float | None:
    """A compared quantity by its column, as a number."""
    value = row.number(column)
    return None if value is None else float(value)


def _aspect(
    noun: str, best: str, values: Sequence[float | None], shares: Sequence[float], units: tuple[Unit, ...]
) -> Aspect | None:
    """An aspect whose errors are shares of its values; None where a case does not have it."""
    known = [value for value in values if value is not None]
    if len(known) < len(values) or not known:
        return None
    errors = tuple(abs(value) * share for value, share in zip(known, shares, strict=True))
    return Aspect(noun, best, common_unit(known, units), tuple(known), errors)


def _inequality(rows: Sequence[Row], shares: Sequence[float]) -> Aspect | None:
    worst = [worst_of(row, "phase_inequality") for row in rows]
    known = [value for value in worst if value is not None]
    if len(known) < len(worst) or not known:
        return None
    # a difference of two inductances over their mean: twice the error of one
    return Aspect(PHASES, "most equal phases", PER_CENT, tuple(known), tuple(2 * share for share in shares))
