"""A comparison that nobody solved: cases of every state, their numbers equal, missing, zero or without error."""

import dataclasses
import random

from studies.answers.cautions.words import ALWAYS
from studies.compare.case_numbers import CaseNumber
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.measured import Measured
from studies.study.reading import loads
from tests.studies.sweep_studies import TRIPLE
from tests.studies.test_comparison_cells import numbers_of

CASES = {"a few": 7, "too many": 124}
"""How many cases: as many as a table holds, and more."""


def invented_comparison(cases: int) -> Comparison:
    """A comparison of so many cases, the same every time."""
    dice = random.Random(cases)
    first = {name: _short(number) for name, number in numbers_of(dice).items()}
    rows = [_row(k, first, dice) for k in range(cases)]
    base = dataclasses.replace(rows[0], name="today", origin="base", changes=())
    failed = CaseRow("bent", "variant", ("spacing 1 mm",), (), None, "StudyError: overlap", 0.0)
    return Comparison(loads(TRIPLE, r"C:\a\b\hall.toml"), (), (base, *rows[1:], failed), {"trayfield": "1.2.3"})


def _row(k: int, first: dict[str, CaseNumber], dice: random.Random) -> CaseRow:
    numbers = {name: _other(name, number, first[name], dice) for name, number in numbers_of(dice).items()}
    return CaseRow(
        f"case {k}",
        "variant",
        (f"spacing {k} mm", "no cover")[: 1 + k % 2],
        (),
        Measured(numbers, (), (*(f"caution {n}." for n in range(4) if k % (n + 1) == 0), *ALWAYS)),
        "map: MemoryError: too large" if k == 3 else "",
        1.0,
        sections=3 if k == 4 else 1,
    )


def _short(number: CaseNumber) -> CaseNumber:
    """With three digits."""
    value, error, formula = (
        float(f"{one:.3g}") if isinstance(one, float) else one for one in (number.value, number.error, number.formula)
    )
    return dataclasses.replace(number, value=value, error=error, formula=formula)


def _other(name: str, number: CaseNumber, first: CaseNumber, dice: random.Random) -> CaseNumber:
    """A number, or one that is equal to the first case's, or with something missing, or next to nothing."""
    if isinstance(number.value, bool) or number.value is None:
        return number
    kept = _short(number)
    if name == "worst_field_over_limit":
        kept = dataclasses.replace(kept, value=3 * float(kept.value or 0.0))  # some above the limit
    value = float(kept.value or 0.0)
    return dice.choice(
        (
            kept,
            kept,
            first,
            dataclasses.replace(kept, value=None, error=None),
            dataclasses.replace(kept, value=0.0, error=0.0),
            dataclasses.replace(kept, error=None, formula=None),
            dataclasses.replace(kept, value=1e-10 * value, error=None, formula=1e-10 * value),
            dataclasses.replace(kept, value=0.003 * value, error=0.001 * value),
        )
    )
