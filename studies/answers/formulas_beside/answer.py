"""The answer on formulas: each beside its number, the simplest first."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.formulas_beside.compute import formulas_beside
from studies.answers.formulas_beside.reasons import reason_section
from studies.answers.formulas_beside.rows import FormulaBeside
from studies.answers.formulas_beside.words import formula_section


def _formulas(asked: Asked) -> tuple[FormulaBeside, ...]:
    return formulas_beside(asked.base, asked.done["receptors"], asked.done["phases"])


FORMULAS_BESIDE = Answer(
    "ladder",
    "formulas beside the numbers",
    _formulas,
    needs=("receptors", "phases"),
    files=lambda rows: {"ladder_of_formulas": rows},
    sections={
        "Formulas beside the numbers": lambda seen, _: formula_section(seen),
        "Why formula and finite element differ": lambda seen, _: reason_section(seen),
    },
    sees=("losses", "parts", "phases", "receptors", "zones"),
)
