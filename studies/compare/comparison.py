"""The comparison: every case with its numbers, and what is derived from several of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property

from studies.compare.case import Case, CaseLabel, Plan
from studies.compare.case_numbers import NOTHING, CaseNumber, CaseValue
from studies.compare.measured import Measured, measured_from
from studies.compare.quantities import QUANTITIES
from studies.compare.store import CaseOutcome
from studies.study.dotted_keys import Tree
from studies.study.file import Study
from studies.text.failures import Kind


@dataclass(frozen=True)
class CaseRow(CaseLabel):
    """One case of the comparison."""

    measured: Measured | None
    """None where the case failed."""
    message: str
    """Why it failed, or what of it did after its solve."""
    seconds: float
    """Time that its solution took. [s]"""
    kind: Kind = "numerical"
    """Whose fault a failure is."""
    data: Tree | None = field(default=None, compare=False, repr=False)
    """Its tables, as in a study file."""
    report: str = ""
    """Its own full report, from the folder of the comparison; empty where there is none."""

    def entry(self, column_name: str) -> CaseNumber:
        """A compared quantity by its column; one without a value where the case has none."""
        return NOTHING if self.measured is None else self.measured.number(column_name)

    def number(self, column_name: str) -> CaseValue:
        """The value of a compared quantity by its column; None where the case has none."""
        return self.entry(column_name).value


MOST_NAMED = 6
"""Most cases that the short form of a comparison names."""


@dataclass(frozen=True, repr=False)
class Comparison:
    """All cases, in the order of the study file, those derived from several at the end."""

    base: Study
    swept: tuple[str, ...]
    rows: tuple[CaseRow, ...]
    versions: Mapping[str, str]
    """Versions of the program and its libraries."""

    def __repr__(self) -> str:
        """Title of the study and names of the cases."""
        failed = f", {len(self.failed)} failed" if self.failed else ""
        names = ", ".join(row.label for row in self.rows[:MOST_NAMED])
        more = f" and {len(self.rows) - MOST_NAMED} more" if len(self.rows) > MOST_NAMED else ""
        return f"<Comparison of “{self.base.title}”: {len(self.rows)} cases{failed}\n  {names}{more}>"

    @cached_property
    def solved(self) -> tuple[CaseRow, ...]:
        """The cases that have numbers."""
        return tuple(row for row in self.rows if row.measured is not None)

    @cached_property
    def failed(self) -> tuple[CaseRow, ...]:
        """The cases that have none."""
        return tuple(row for row in self.rows if row.measured is None)

    @cached_property
    def incomplete(self) -> tuple[CaseRow, ...]:
        """The cases that have numbers, though something failed after their solve."""
        return tuple(row for row in self.solved if row.message)

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Columns of the quantities that at least one case has, in the order of the quantities."""
        found: list[str] = []
        for quantity in QUANTITIES:
            own = [
                name
                for row in self.solved
                for name, number in (row.measured.numbers if row.measured else {}).items()
                if number.value is not None and (name == quantity.key or name.startswith(f"{quantity.key}."))
            ]
            found += dict.fromkeys(own)
        return tuple(dict.fromkeys(found))


def comparison_of(plan: Plan, outcomes: Mapping[str, CaseOutcome], versions: Mapping[str, str]) -> Comparison:
    """The comparison of the cases of a plan, by the outcomes of their keys."""
    return Comparison(plan.base, plan.swept, tuple(_row(case, outcomes[case.key]) for case in plan.cases), versions)


def _row(case: Case, outcome: CaseOutcome) -> CaseRow:
    """A case by what became of it."""
    label = {one.name: getattr(case, one.name) for one in fields(CaseLabel)}
    measured = None if outcome.numbers is None else measured_from(outcome.numbers)
    kind: Kind = "program" if outcome.message and outcome.kind == "program" else "numerical"
    return CaseRow(
        **label, measured=measured, message=outcome.message, seconds=outcome.seconds, kind=kind, data=case.data
    )
