"""The answer on cautions, which stand in summary, report and results.json."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.cautions.compute import cautions
from studies.answers.cautions.words import ALWAYS, UNCHECKED


def _cautions(asked: Asked) -> tuple[str, ...]:
    base, done = asked.base, asked.done
    return cautions(asked.study, base.section, base.solved, asked.accuracy, done["parts"], done["receptors"])


CAUTIONS = Answer(
    "cautions",
    "cautions",
    _cautions,
    empty=(UNCHECKED.format(concern="this study"), *ALWAYS),
    needs=("parts", "receptors"),
    files=lambda rows: {},
)
