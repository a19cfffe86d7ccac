"""Running checks."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from numpy.linalg import LinAlgError

from studies.verify.checks import Check, Outcome


class CheckError(RuntimeError):
    """A check whose numbers could not be computed."""


def run_checks(checks: Sequence[Check], progress: Callable[[str], None]) -> tuple[Outcome, ...]:
    """Compute the numbers of each check, in their order.

    Parameters
    ----------
    checks : sequence of Check
        What to run.
    progress : callable
        Told what is being done.

    Returns
    -------
    outcomes : tuple of Outcome
        One a check; a check that fails is among them, one that cannot be computed raises CheckError with its name.
    """
    outcomes = []
    for number, check in enumerate(checks, start=1):
        progress(f"check {number} of {len(checks)}: {check.title}")
        try:
            outcomes.append(Outcome(check, check.compute()))
        except (RuntimeError, ArithmeticError, LinAlgError, MemoryError) as error:
            raise CheckError(f"check {check.name!r} could not be computed: {error}") from error
    return tuple(outcomes)


def failures(outcomes: Sequence[Outcome]) -> list[str]:
    """Check and quantity of every number that lies where it must not."""
    return [
        f"{outcome.check.name}: {result.quantity} ({result.method})"
        for outcome in outcomes
        for result in outcome.results
        if not result.passed
    ]
