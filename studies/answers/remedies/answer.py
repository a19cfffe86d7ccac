"""The answer on remedies: its table, sentences and section."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.remedies.compute import remedy_results
from studies.answers.remedies.rows import RemedyResult
from studies.answers.remedies.words import remedy_notes, remedy_rows, remedy_section, remedy_table
from studies.answers.sheet_row import as_sentences


def _remedies(asked: Asked) -> tuple[RemedyResult, ...]:
    done = asked.done
    stated = done["receptors"], done["zones"], done["losses"], done["parts"]
    return remedy_results(asked.study, asked.solutions, *stated, asked.report_progress)


REMEDIES = Answer(
    "remedies",
    "remedies",
    _remedies,
    needs=("receptors", "zones", "losses", "parts"),
    sections={"What would meet the limit": lambda seen, _: remedy_section(seen)},
    brief=lambda seen: (remedy_table(seen),),
    notes=remedy_notes,
    verdicts=lambda seen: as_sentences(remedy_rows(seen)) if seen.remedies else (),
    sheet=remedy_rows,
    sees=("receptors", "zones"),
)
