"""The answer on shields: its table, sentence and section."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.shields.compute import shield_results
from studies.answers.shields.rows import ShieldResult
from studies.answers.shields.words import shield_lines, shield_section, shield_table


def _shields(asked: Asked) -> tuple[ShieldResult, ...]:
    return shield_results(asked.study, asked.done["receptors"], asked.done["losses"], asked.report_progress)


SHIELDS = Answer(
    "shields",
    "search of shields",
    _shields,
    needs=("receptors", "losses"),
    sections={"Shields": lambda seen, _: shield_section(seen)},
    brief=lambda seen: (shield_table(seen),),
    lines=shield_lines,
    sees=("receptors", "zones"),
)
