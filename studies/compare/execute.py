"""Solving all cases of a plan that are not stored yet, each stored as soon as it is done."""

from __future__ import annotations

import time
from collections.abc import Generator, Sequence
from contextlib import closing
from typing import Protocol

from studies.compare.case import Plan, Request, request_of
from studies.compare.measured import measured_from
from studies.compare.store import CaseOutcome, Store
from studies.text.progress import Progress


class Executor(Protocol):
    """Whoever solves cases: the outcomes come in any order; closing what is returned stops the work."""

    def __call__(self, requests: Sequence[Request]) -> Generator[CaseOutcome, None, None]:
        """The outcomes of some cases as they come."""


def execute(plan: Plan, store: Store, executor: Executor, report_progress: Progress) -> dict[str, CaseOutcome]:
    """The outcome of every case of a plan, by key; cases that are equal in all numbers are solved once.

    Stored cases are taken from the store, those that failed are tried again, and the executor solves the others. The
    progress holds the estimated time left.
    """
    names: dict[str, str] = {}
    for case in plan.cases:
        names.setdefault(case.key, case.name)
    stored = store.finished(names)
    outcomes = {key: outcome for key, outcome in stored.items() if _is_sound(outcome)}
    waiting = {case.key: request_of(case, plan.base.source_name) for case in plan.cases if case.key not in outcomes}
    if damaged := len(stored) - len(outcomes):
        report_progress(f"{damaged} stored {'cases are' if damaged > 1 else 'case is'} damaged and solved again")
    if outcomes:
        report_progress(f"{len(outcomes)} of {len(names)} cases are stored from earlier, {len(waiting)} left")
    else:
        equal = len(plan.cases) - len(names)
        also = f"; {equal} more {'equals' if equal == 1 else 'equal'} one of these" if equal else ""
        report_progress(f"{len(waiting)} cases to solve{also}")
    if not waiting:
        return outcomes
    start = time.monotonic()
    failed = 0
    with closing(executor(list(waiting.values()))) as coming:
        for solved, outcome in enumerate(coming, 1):
            name = names[outcome.key]
            store.put(name, outcome)
            outcomes[outcome.key] = outcome
            failed += outcome.numbers is None
            state = "failed" if outcome.numbers is None else "done in part" if outcome.message else "done"
            left = (time.monotonic() - start) / solved * (len(waiting) - solved)
            count = f"{len(outcomes)} of {len(names)} cases" + (f", {failed} failed" if failed else "")
            time_left = f", about {duration(left)} left" if solved < len(waiting) else ""
            report_progress(f"{count}{time_left}: {name} {state}")
    return outcomes


def _is_sound(outcome: CaseOutcome) -> bool:
    """Whether the numbers of a stored case can be read."""
    try:
        measured_from(outcome.numbers or "")
    except ValueError:
        return False
    return True


def duration(seconds: float) -> str:
    """A time in the unit that is handy: 40 s, 12 min, 3.5 h."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    if seconds < 5400:
        return f"{seconds / 60:.0f} min"
    return f"{seconds / 3600:.1f} h"
