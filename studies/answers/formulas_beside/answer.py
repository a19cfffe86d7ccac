"""The answer on formulas: each beside its number, the simplest first."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.formulas_beside.compute import climb
from studies.answers.formulas_beside.reasons import reason_section
from studies.answers.formulas_beside.words import ladder_section
from studies.closed_forms.rung import Rung


def _ladder(asked: Asked) -> tuple[Rung, ...]:
    return climb(asked.study, asked.solutions)


LADDER = Answer(
    "ladder",
    "ladder of formulas",
    _ladder,
    files=lambda rows: {"ladder_of_formulas": rows},
    sections={
        "The ladder of formulas": lambda seen, _: ladder_section(seen),
        "Why formula and finite element differ": lambda seen, _: reason_section(seen),
    },
    sees=("losses", "parts", "phases", "receptors", "zones"),
)
