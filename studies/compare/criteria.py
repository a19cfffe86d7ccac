"""What cases are judged by: a few quantities that every case has, lower being better in all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from studies.compare.compared import quantity_of
from studies.compare.number import NOTHING, Number
from studies.compare.table import Row
from studies.text.numbers import GAP, percent, plain
from studies.text.units import Unit, common_unit

LEAST_SHARE = 1e-4
"""Least share that is told as a number. [-]"""
NEGLIGIBLE = 1e-8
"""What is below this share of the largest of all cases is left over from rounding. [-]"""
ROUNDED_AWAY = "≈ 0"
ROUNDING = 1e-9
"""Share by which equal numbers may differ where lengths were rounded. [-]"""
DIGITS = 4
"""Significant digits in which cases must differ not to be equal in an aspect."""
LIMIT = Unit("times the limit", 1.0)
FIELD, LOSS, REACTANCE, PHASES = "field", "total loss", "reactance X1", "V2/V1"
UNBALANCE, WIDTH = "voltage unbalance V2", "width"
TRAY_LOSS, CONDUCTOR_LOSS, SCREEN_LOSS = "tray loss", "conductor loss", "screen loss"
CIRCULATING = "circulating loss"
JUDGED = (
    (FIELD, "lowest field", "worst_field_over_limit"),
    (FIELD, "lowest field", "highest_b_rms_t"),
    (LOSS, "lowest total loss", "total_loss_w_per_m"),
    (REACTANCE, "lowest reactance X1", "x1_ohm_per_m"),
    (PHASES, "most equal phases", "u2_over_u1"),
    (UNBALANCE, "least voltage unbalance V2", "u2_v_per_m"),
    (WIDTH, "least width", "width_m"),
)
"""Noun, what the best case has, and quantity; of two with one noun the first that every case has."""
PARTS_OF_LOSS = (
    (TRAY_LOSS, "lowest tray loss", "tray_loss_w_per_m"),
    (CONDUCTOR_LOSS, "lowest conductor loss", "conductor_loss_w_per_m"),
    (SCREEN_LOSS, "lowest screen loss", "screen_loss_w_per_m"),
    (CIRCULATING, "lowest circulating loss", "circulating_loss_w_per_m"),
)
"""The same of what is shown beside the total loss."""


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
    """Estimate of the numerical error of each value. [SI unit]"""
    places: tuple[str, ...]
    """What decides each value: a receptor, a zone, a circuit; empty where there is only one."""

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
        return self._equal_to(self.values.index(min(self.values)))

    def trailers(self) -> tuple[int, ...]:
        """The case with the highest value, and those that have it too within the numerical error."""
        return self._equal_to(self.values.index(max(self.values)))

    @property
    def differs(self) -> bool:
        """Whether the cases differ by more than the numerical error."""
        return len(self.leaders()) < len(self.values)

    def number(self, case: int) -> str:
        """The value of a case in the aspect's unit, without it."""
        value = self.values[case]
        if 0 < abs(value) < NEGLIGIBLE * max(map(abs, self.values)):
            return ROUNDED_AWAY
        if self.unit.symbol == "%":
            return percent(value, signed=False) if value >= LEAST_SHARE or value == 0 else f"< {100 * LEAST_SHARE:g}"
        return plain(self.unit.of(value))

    def show(self, case: int) -> str:
        """The value of a case with its unit as running text."""
        return f"{self.number(case)}{' ' if self.unit is LIMIT else GAP}{self.unit.symbol}"

    def _equal_to(self, first: int) -> tuple[int, ...]:
        """A case, and those whose values do not differ from its by more than the errors of both."""
        value = self.values[first]
        others = [
            k
            for k, own in enumerate(self.values)
            if k != first and abs(own - value) <= self.errors[k] + self.errors[first] + ROUNDING * abs(value)
        ]
        return (first, *others)


def aspects(rows: Sequence[Row]) -> tuple[Aspect, ...]:
    """What some solved cases are judged by, as far as every case has it.

    The field is the worst over its limit where every case has one, else the highest. Of what each circuit has, the
    worst circuit counts.
    """
    by_noun: dict[str, Aspect] = {}
    for noun, best, key in JUDGED:
        aspect = _aspect(rows, noun, best, key)
        if aspect is not None:
            by_noun.setdefault(noun, aspect)
    return tuple(by_noun.values())


def parts_of_loss(rows: Sequence[Row]) -> tuple[Aspect, ...]:
    """The parts of the total loss in which some solved cases differ."""
    found = [_aspect(rows, noun, best, key) for noun, best, key in PARTS_OF_LOSS]
    return tuple(aspect for aspect in found if aspect is not None and aspect.differs)


def worst_of(row: Row, key: str) -> Number:
    """A quantity of a case; of one that each circuit has, that of the worst, named where there are several."""
    if not quantity_of(key).each:
        return row.entry(key)
    numbers = {
        name.partition(".")[2]: number
        for name, number in (row.measured.numbers if row.measured else {}).items()
        if name.startswith(f"{key}.") and number.value is not None
    }
    if not numbers:
        return NOTHING
    worst = max(numbers, key=lambda name: float(numbers[name].value or 0.0))
    number = numbers[worst]
    return Number(number.value, number.error, number.formula, worst if len(numbers) > 1 else "")


def _aspect(rows: Sequence[Row], noun: str, best: str, key: str) -> Aspect | None:
    """An aspect of some cases; None where a case does not have it."""
    entries = [worst_of(row, key) for row in rows]
    values = [float(entry.value) for entry in entries if entry.value is not None]
    if len(values) < len(entries) or not values:
        return None
    unit = LIMIT if key == "worst_field_over_limit" else common_unit(values, quantity_of(key).units)
    errors = tuple(entry.error or 0.0 for entry in entries)
    return Aspect(noun, best, unit, tuple(values), errors, tuple(entry.place for entry in entries))
