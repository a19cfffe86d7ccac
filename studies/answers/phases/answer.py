"""Answers on phases: their impedances, and those of the sequences."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.phases.compute import phase_results, sequence_results
from studies.answers.phases.rows import PhaseResult, SequenceResult


def _phases(asked: Asked) -> tuple[PhaseResult, ...]:
    return phase_results(asked.study, asked.solutions)


def _sequences(asked: Asked) -> tuple[SequenceResult, ...]:
    return sequence_results(asked.study, asked.solutions)


PHASES = Answer("phases", "impedances of the phases", _phases)
SEQUENCE_IMPEDANCE = Answer("sequence_impedance", "sequence impedances", _sequences)
