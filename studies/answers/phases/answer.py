"""Answers on phases: their impedances, and those of the sequences."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.phases.brief import balance_lines, balance_table, phase_brief
from studies.answers.phases.compute import phase_results, sequence_results
from studies.answers.phases.rows import PhaseResult, SequenceResult
from studies.answers.phases.words import impedance_section
from studies.text.plain_table import PlainTable


def _phases(asked: Asked) -> tuple[PhaseResult, ...]:
    return phase_results(asked.study, asked.solutions)


def _sequences(asked: Asked) -> tuple[SequenceResult, ...]:
    return sequence_results(asked.study, asked.solutions)


PHASES = Answer(
    "phases",
    "impedances of the phases",
    _phases,
    sections={"Impedances": lambda seen, _: impedance_section(seen)},
    brief=lambda seen: (phase_brief(seen),),
    sees=("sequence_impedance",),
)
SEQUENCE_IMPEDANCE = Answer(
    "sequence_impedance",
    "sequence impedances",
    _sequences,
    brief=lambda seen: (PlainTable(*balance_table(seen)),),
    notes=balance_lines,
)
