"""The answer on limits in the terms of their makers and codes."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.stated_limits.compute import stated_limit_results
from studies.answers.stated_limits.rows import StatedLimitResult
from studies.answers.stated_limits.words import (
    stated_limit_lines,
    stated_limit_rows,
    stated_limit_section,
    stated_limit_table,
)


def _stated_limits(asked: Asked) -> tuple[StatedLimitResult, ...]:
    return stated_limit_results(asked.study, asked.solutions)


STATED_LIMITS = Answer(
    "stated_limits",
    "limits as stated",
    _stated_limits,
    sections={"Limits as stated": lambda seen, _: stated_limit_section(seen)},
    brief=lambda seen: (stated_limit_table(seen),),
    verdicts=stated_limit_lines,
    sheet=stated_limit_rows,
)
