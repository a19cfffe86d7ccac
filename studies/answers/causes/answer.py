"""The answer on causes: tables, section and figure."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.causes.compute import cause_results
from studies.answers.causes.rows import CauseResult
from studies.answers.causes.words import FIGURE, cause_rows, cause_section, cause_tables
from studies.answers.sheet_row import as_sentences


def _causes(asked: Asked) -> tuple[CauseResult, ...]:
    return cause_results(asked.study, asked.solutions, asked.report_progress)


def _figures(result: Answers) -> Mapping[str, Draw]:
    from studies.answers.causes.figure import draw_causes

    return {FIGURE: partial(draw_causes, result)} if result.causes else {}


DIFFERENCE_CAUSES = Answer(
    "causes",
    "differences from the formulas by cause",
    _causes,
    sections={"Differences from the formulas by cause": cause_section},
    brief=cause_tables,
    figures=_figures,
    verdicts=lambda seen: as_sentences(cause_rows(seen)[:1]),
    sheet=cause_rows,
    sees=("receptors", "zones"),
)
