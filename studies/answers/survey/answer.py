"""The answer on a survey."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.survey.compute import survey_result
from studies.answers.survey.rows import SurveyResult
from studies.answers.survey.words import (
    FIGURE,
    survey_lines,
    survey_rows,
    survey_section,
    survey_tables,
    survey_verdicts,
)


def _survey(asked: Asked) -> SurveyResult | None:
    if asked.study.survey is not None:
        asked.report_progress("holding the survey against the field")
    return survey_result(asked.study, asked.solutions)


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.survey.figure import draw_survey

    return {} if seen.survey is None else {FIGURE: partial(draw_survey, seen)}


def _files(found: SurveyResult | None) -> Mapping[str, Sequence[object]]:
    return {} if found is None else {"survey_readings": found.readings}


SURVEY = Answer(
    "survey",
    "survey",
    _survey,
    empty=None,
    files=_files,
    sections={"Survey": survey_section},
    brief=survey_tables,
    verdicts=survey_verdicts,
    sheet=survey_rows,
    lines=survey_lines,
    figures=_figure,
    notes=survey_lines,
    sees=("receptors", "zones"),
)
