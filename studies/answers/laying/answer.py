"""The answer on laying tolerance: the field of the run as it may be installed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.laying.compute import laying_result
from studies.answers.laying.rows import LayingResult
from studies.answers.laying.words import (
    FIGURE,
    agreement_words,
    laying_lines,
    laying_rows,
    laying_section,
    laying_tables,
    verdicts_as_laid,
)


def _laying(asked: Asked) -> LayingResult | None:
    places = (*asked.done["receptors"], *asked.done["zones"])
    return laying_result(asked.study, asked.solutions, places, asked.done["losses"], asked.report_progress)


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.laying.figure import draw_laying_tolerance

    found = seen.laying_tolerance
    return {} if found is None or not found.fields else {FIGURE: partial(draw_laying_tolerance, seen)}


def _files(found: LayingResult | None) -> Mapping[str, Sequence[object]]:
    """Each table of rows by name."""
    if found is None:
        return {}
    tables = {"field": found.fields, "share": found.shares, "loss": found.losses}
    return {f"laying_{name}": rows for name, rows in tables.items() if rows}


LAYING = Answer(
    "laying_tolerance",
    "laying tolerance",
    _laying,
    empty=None,
    needs=("receptors", "zones", "losses"),
    files=_files,
    sections={"Laying tolerance": laying_section},
    brief=laying_tables,
    notes=lambda seen: () if seen.laying_tolerance is None else (agreement_words(seen.laying_tolerance),),
    verdicts=verdicts_as_laid,
    sheet=laying_rows,
    lines=laying_lines,
    figures=_figure,
    sees=("receptors", "zones"),
)
