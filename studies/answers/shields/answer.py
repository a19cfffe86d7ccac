"""The answer on shields: its table, sentence and section."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.sheet_row import as_sentences
from studies.answers.shields.compute import shield_results
from studies.answers.shields.rows import ShieldResult
from studies.answers.shields.words import FIGURE, shield_rows, shield_section, shield_table


def _shields(asked: Asked) -> tuple[ShieldResult, ...]:
    places = (*asked.done["receptors"], *asked.done["zones"])
    return shield_results(asked.study, places, asked.done["losses"], asked.report_progress)


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.shields.figure import draw_shields

    return {FIGURE: partial(draw_shields, seen)} if seen.shields else {}


SHIELDS = Answer(
    "shields",
    "search of shields",
    _shields,
    needs=("receptors", "zones", "losses"),
    sections={"Shields": shield_section},
    brief=lambda seen: (shield_table(seen),),
    verdicts=lambda seen: as_sentences(shield_rows(seen)),
    sheet=shield_rows,
    figures=_figure,
    sees=("receptors", "zones"),
)
