"""What cases are judged by, lower being better: the best cases, those that no other beats, and those that are shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Flags
from studies.compare.case_numbers import NOTHING, CaseNumber
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.drafts import shortest_endings
from studies.compare.quantities import quantity_of
from studies.text.numbers import GAP, brief, percent
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, NUMBER, PER_CENT, Unit, Units

LEAST_SHARE = 1e-4
"""Least share that is told as a number. [-]"""
NEGLIGIBLE = 1e-8
"""What is below this share of the largest of all cases is left over from rounding. [-]"""
ROUNDED_AWAY = "≈ 0"
ROUNDING = 1e-9
"""Share by which equal numbers may differ where lengths were rounded. [-]"""
DIGITS = 4
"""Significant digits in which cases must differ not to be equal in a criterion."""
LIMIT = Unit("times the limit", 1.0)
FIELD, LOSS, REACTANCE, PHASES = "field", "total loss", "reactance X1", "V2/V1"
ENERGY, COST = "energy of a year", "cost of a year per metre"
UNBALANCE, WIDTH = "voltage unbalance V2", "width"
TRAY_LOSS, CONDUCTOR_LOSS, SCREEN_LOSS = "tray loss", "conductor loss", "screen loss"
CIRCULATING = "circulating loss"
JUDGED = (
    (FIELD, "lowest field", "worst_field_over_limit"),
    (FIELD, "lowest field", "highest_b_rms_t"),
    (LOSS, "lowest total loss", "total_loss_w_per_m"),
    (ENERGY, "lowest energy of a year", "loss_energy_j_per_m"),
    (COST, "lowest cost of a year per metre", "energy_cost_per_m"),
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
class Criterion:
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
    def title(self) -> str:
        """Name over a column."""
        field = "worst field over limit" if self.unit is LIMIT else "highest field"
        return field if self.noun == FIELD else self.noun

    @property
    def heading(self) -> str:
        """Name and unit for an axis."""
        return self.title if self.unit is LIMIT else f"{self.title} ({self.unit.symbol})"

    def leaders(self) -> tuple[int, ...]:
        """The best case, and those as good within the numerical error or in the digits that are shown."""
        return self._equal_to(self.values.index(min(self.values)))

    def trailers(self) -> tuple[int, ...]:
        """The case with the highest value, and those that have it too, alike."""
        return self._equal_to(self.values.index(max(self.values)))

    @property
    def differs(self) -> bool:
        """Whether the cases differ by more than the numerical error, and in the digits that are shown."""
        return len(self.leaders()) < len(self.values)

    def value(self, case: int) -> float | str:
        """The value of a case; words if rounding alone made it or it is too small for per cent. [SI unit]"""
        value = self.values[case]
        if 0 < abs(value) < NEGLIGIBLE * max(map(abs, self.values)):
            return ROUNDED_AWAY
        return f"< {100 * LEAST_SHARE:g}" if self.unit == PER_CENT and 0 < value < LEAST_SHARE else value

    def number(self, case: int) -> str:
        """The value of a case in the criterion's unit, without it."""
        value = self.value(case)
        if isinstance(value, str):
            return value
        return percent(value, signed=False) if self.unit == PER_CENT else brief(value, self.unit)

    def show(self, case: int) -> str:
        """The value of a case with its unit as running text."""
        if self.unit is NUMBER:
            return self.number(case)
        return f"{self.number(case)}{' ' if self.unit is LIMIT else GAP}{self.unit.symbol}"

    def _equal_to(self, first: int) -> tuple[int, ...]:
        shown = self.number(first)
        alike = (k for k in range(len(self.values)) if self.within_errors(first, k) or self.number(k) == shown)
        return (first, *(k for k in alike if k != first))

    def within_errors(self, first: int, *others: int) -> bool:
        """Whether the values of some cases do not differ from that of the first by more than the errors of both."""
        value = self.values[first]
        reach = self.errors[first] + ROUNDING * abs(value)
        return all(abs(self.values[k] - value) <= self.errors[k] + reach for k in others)


def criteria_of(rows: Sequence[CaseRow]) -> tuple[Criterion, ...]:
    """What some solved cases are judged by, as far as every case has it.

    The field is the worst over its limit where every case has one, else the highest. Of what each circuit has, the
    worst circuit counts.
    """
    by_noun: dict[str, Criterion] = {}
    for noun, best, key in JUDGED:
        criterion = _criterion(rows, noun, best, key)
        if criterion is not None:
            by_noun.setdefault(noun, criterion)
    return tuple(by_noun.values())


def parts_of_loss(rows: Sequence[CaseRow]) -> tuple[Criterion, ...]:
    """The parts of the total loss in which some solved cases differ."""
    found = [_criterion(rows, noun, best, key) for noun, best, key in PARTS_OF_LOSS]
    return tuple(criterion for criterion in found if criterion is not None and criterion.differs)


def units_of(rows: Sequence[CaseRow]) -> Units:
    """One unit for the fields of some cases, and one for their losses."""
    keys = {FLUX_DENSITY: "highest_b_rms_t", LOSS_PER_LENGTH: "total_loss_w_per_m"}
    return Units.that_suit({family: [row.number(key) for row in rows] for family, key in keys.items()})


def worst_of(row: CaseRow, key: str) -> CaseNumber:
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
    return CaseNumber(number.value, number.error, number.formula, worst if len(numbers) > 1 else "")


def _criterion(rows: Sequence[CaseRow], noun: str, best: str, key: str) -> Criterion | None:
    """An criterion of some cases; None where a case does not have it."""
    entries = [worst_of(row, key) for row in rows]
    values = [float(entry.value) for entry in entries if entry.value is not None]
    if len(values) < len(entries) or not values:
        return None
    unit = LIMIT if key == "worst_field_over_limit" else units_of(rows).of(quantity_of(key).unit or NUMBER, values)
    errors = tuple(entry.error or 0.0 for entry in entries)
    return Criterion(noun, best, unit, tuple(values), errors, tuple(entry.place for entry in entries))


def non_dominated(first: ArrayLike, second: ArrayLike, higher: Sequence[bool] = (False, False)) -> Flags:
    """Which of some cases no other case dominates in two quantities.

    `first`, `second`, shape (n,): the two quantities of each case; nan where a case has none. [any unit]
    `higher`: whether higher is better, for each quantity.

    True where no case is as good or better in both and better in one. Equal cases do not dominate each other; a case
    without one of the quantities is False and dominates none.
    """
    a, b = (np.asarray(values, dtype=np.float64) for values in (first, second))
    if a.ndim != 1 or a.shape != b.shape:
        raise ValueError(f"the two quantities are not lists of one length: {a.shape} and {b.shape}")
    a, b = (-values if turned else values for values, turned in zip((a, b), higher, strict=True))
    free = np.zeros(len(a), dtype=np.bool_)
    known = np.flatnonzero(~(np.isnan(a) | np.isnan(b)))
    order = known[np.lexsort((b[known], a[known]))]
    least: float | None = None  # least second quantity of all cases with a smaller first
    k = 0
    while k < len(order):
        same = order[k:][a[order[k:]] == a[order[k]]]  # sorted by the second quantity
        k += len(same)
        best = float(b[same[0]])
        if least is None or best < least:
            free[same] = b[same] == best
            least = best
    return free


PAIRS = {"field_against_loss": (FIELD, LOSS), "field_against_width": (FIELD, WIDTH)}
"""Aspects that pull against each other, by the stem of their figure."""


def trade_offs(rows: Sequence[CaseRow]) -> dict[str, tuple[Criterion, Criterion]]:
    """The pairs of criteria_of that are drawn against each other, by the stem of their figure."""
    by_noun = {criterion.noun: criterion for criterion in criteria_of(rows)}
    return {
        stem: (by_noun[first], by_noun[second])
        for stem, (first, second) in PAIRS.items()
        if first in by_noun and second in by_noun
    }


def shown_rows(rows: Sequence[CaseRow], most: int) -> tuple[CaseRow, ...]:
    """As many of some solved cases as there is room for, in their order.

    Where there are too many: base study, the best in each criterion, variants, those that no other beats in a pair of
    criteria_of, and then the others that are best in the first criterion.
    """
    if len(rows) <= most:
        return tuple(rows)
    wanted = [k for k, row in enumerate(rows) if row.origin == "base"]
    wanted += [leader for criterion in criteria_of(rows) for leader in criterion.leaders()[:1]]
    wanted += [k for k, row in enumerate(rows) if row.origin in ("variant", "transposed")]
    for first, second in trade_offs(rows).values():
        wanted += [int(k) for k in np.flatnonzero(non_dominated(first.rounded, second.rounded))]
    rest = np.argsort(criteria_of(rows)[0].values, kind="stable").tolist() if criteria_of(rows) else range(len(rows))
    chosen = list(dict.fromkeys([*wanted, *rest]))[:most]
    return tuple(rows[k] for k in sorted(chosen))


def grid_note(comparison: Comparison, rows: Sequence[CaseRow]) -> str:
    """What the values stand for by which cases of a grid are named where there is little room; empty where none is."""
    if not any(row.brief != row.label for row in rows):
        return ""
    return f"cases of the grid by their {', '.join(shortest_endings(list(comparison.swept)))}"
