"""The comparison: every case with its numbers, and what is derived from several of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from studies.study import Study
from studies.sweep.compared import QUANTITIES, Value
from studies.sweep.measured import Measured, measured_from
from studies.sweep.plan import Plan
from studies.sweep.store import Outcome
from studies.sweep.transposition import transposed, transpositions


@dataclass(frozen=True)
class Row:
    """One case of the comparison."""

    name: str
    origin: Literal["base", "variant", "sweep", "transposed"]
    changes: tuple[str, ...]
    settings: tuple[str, ...]
    """Value of each swept key."""
    measured: Measured | None
    """None where the case failed."""
    message: str
    """Why it failed."""
    seconds: float
    """Time that its solution took. [s]"""

    def number(self, column_name: str) -> Value:
        """A compared quantity by its column; None where the case has none."""
        return None if self.measured is None else self.measured.numbers.get(column_name)


@dataclass(frozen=True)
class Comparison:
    """All cases, in the order of the study file, those derived from several at the end."""

    base: Study
    swept: tuple[str, ...]
    rows: tuple[Row, ...]
    versions: Mapping[str, str]
    """Versions of the program and its libraries."""

    @cached_property
    def solved(self) -> tuple[Row, ...]:
        """The cases that have numbers."""
        return tuple(row for row in self.rows if row.measured is not None)

    @cached_property
    def failed(self) -> tuple[Row, ...]:
        """The cases that have none."""
        return tuple(row for row in self.rows if row.measured is None)

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Columns of the quantities that at least one case has, in the order of the quantities."""
        found: list[str] = []
        for quantity in QUANTITIES:
            own = [
                name
                for row in self.solved
                for name, value in (row.measured.numbers if row.measured else {}).items()
                if value is not None and (name == quantity.key or name.startswith(f"{quantity.key}."))
            ]
            found += dict.fromkeys(own)
        return tuple(dict.fromkeys(found))


def comparison_of(plan: Plan, outcomes: Mapping[str, Outcome], versions: Mapping[str, str]) -> Comparison:
    """The comparison of the cases of a plan.

    Parameters
    ----------
    plan : Plan
        The cases.
    outcomes : mapping of str to Outcome
        What became of each, by key.
    versions : mapping of str to str
        Versions of the program and its libraries.

    Returns
    -------
    comparison : Comparison
        With a further row for each three cases that differ in the cyclic order of one circuit's phases alone.
    """
    rows = []
    for case in plan.cases:
        outcome = outcomes[case.key]
        measured = None if outcome.numbers is None else measured_from(outcome.numbers)
        rows.append(
            Row(case.name, case.origin, case.changes, case.settings, measured, outcome.message, outcome.seconds)
        )
    derived = []
    for sections in transpositions(plan.cases):
        of = [rows[k] for k in sections]
        parts = [row.measured for row in of if row.measured is not None]
        if len(parts) == len(of):
            first, second, third = (f"“{row.name}”" for row in of)
            derived.append(
                Row(
                    f"{of[0].name}, transposed",
                    "transposed",
                    (f"equal thirds of {first}, {second} and {third}",),
                    of[0].settings,
                    transposed(parts),
                    "",
                    0.0,
                )
            )
    return Comparison(plan.base, plan.swept, (*rows, *derived), versions)
