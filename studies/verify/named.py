"""Running checks by their names from Python."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from studies.verify.checks import CheckOutcome, run_checks
from studies.verify.registry import chosen_checks


def verify_checks(
    names: Sequence[str] | None = None, progress: Callable[[str], None] | None = None
) -> tuple[CheckOutcome, ...]:
    """Run the checks of the given names, of checks or families, or all: `trayfield verify --list` prints them.

    UnknownCheckError says which names there are.

    >>> import studies
    >>> outcomes = studies.verify_checks(["resistance"])
    >>> all(outcome.passed for outcome in outcomes)
    True
    """
    return run_checks(chosen_checks(names), progress or (lambda message: None))
