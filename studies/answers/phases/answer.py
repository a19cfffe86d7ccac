"""Answers on phases: their impedances, and those of the sequences."""

from __future__ import annotations

from studies.answers.answer import Answer
from studies.answers.phases.compute import phase_results, sequence_results
from studies.answers.phases.words import balance_table, impedance_section, phase_rows, phase_table, unbalance_rows

PHASES = Answer(
    "phases",
    "impedances of the phases",
    lambda asked: phase_results(asked.study, asked.solutions),
    sections={"Impedances": lambda seen, _: impedance_section(seen)},
    brief=lambda seen: (phase_table(seen),),
    sheet=phase_rows,
    sees=("sequence_impedance",),
)
SEQUENCE_IMPEDANCE = Answer(
    "sequence_impedance",
    "sequence impedances",
    lambda asked: sequence_results(asked.study, asked.solutions),
    brief=lambda seen: (balance_table(seen),),
    sheet=unbalance_rows,
)
