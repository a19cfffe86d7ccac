"""The answer on permitted currents that the study states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.permitted.compute import permitted_result
from studies.answers.permitted.rows import PermittedResult
from studies.answers.permitted.words import (
    FIGURE,
    factor_words,
    permitted_rows,
    permitted_section,
    permitted_tables,
    permitted_verdicts,
)


def _permitted(asked: Asked) -> PermittedResult | None:
    return permitted_result(asked.study, asked.solutions, asked.done["losses"], asked.report_progress)


def _files(found: PermittedResult | None) -> Mapping[str, Sequence[object]]:
    if found is None:
        return {}
    return {"permitted": found.cables} | ({"surfaces": found.surfaces} if found.surfaces else {})


def _figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.permitted.figure import draw_permitted

    return {FIGURE: partial(draw_permitted, seen)} if seen.permitted and seen.permitted.cables else {}


PERMITTED = Answer(
    "permitted",
    "permitted currents",
    _permitted,
    empty=None,
    needs=("losses",),
    files=_files,
    sections={"Permitted currents": permitted_section},
    figures=_figures,
    brief=permitted_tables,
    notes=lambda seen: () if seen.permitted is None else (factor_words(seen.permitted),),
    sheet=permitted_rows,
    verdicts=permitted_verdicts,
    sees=("receptors", "zones"),
    lines=lambda seen: () if seen.permitted is None else (factor_words(seen.permitted),),
)
