"""What the errors do not cover, in the summary of the report."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.reservations.words import only_as_drawn, reservation_lines


def only_as_drawn_line(result: Answers) -> str:
    """Places whose verdict holds only for a straight run as drawn."""
    names = only_as_drawn(result)
    if not names:
        return ""
    listed = ", ".join(f"“{name}”" for name in names)
    return f"Within the limit only on a straight run as drawn, or in doubt: {listed}; the reasons stand below."


def reservation_entries(result: Answers) -> list[str]:
    """Each case that the error estimate does not cover."""
    return [f"Beyond the error estimate, {line}" for line in reservation_lines(result)]
