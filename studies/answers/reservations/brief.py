"""What the errors do not cover, in a terminal."""

from __future__ import annotations

import textwrap

from studies.answers.answers import Answers
from studies.answers.reservations.words import HEADING, reservation_lines
from studies.text.terminal import WIDEST


def reservations(result: Answers) -> tuple[str, ...]:
    """How far each verdict carries."""
    lines = [
        textwrap.fill(line, WIDEST, initial_indent="  ", subsequent_indent="    ") for line in reservation_lines(result)
    ]
    return ("\n".join([f"{HEADING}:", *lines]),) if lines else ()
