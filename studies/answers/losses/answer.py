"""Answers on parts: their losses, currents and resistances."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.losses.compute import loss_results, part_results
from studies.answers.losses.rows import LossResult, PartResult


def _losses(asked: Asked) -> tuple[LossResult, ...]:
    return loss_results(asked.study, asked.solutions)


def _parts(asked: Asked) -> tuple[PartResult, ...]:
    return part_results(asked.study, asked.solutions)


LOSSES = Answer("losses", "losses", _losses)
PARTS = Answer("parts", "currents and resistances of the parts", _parts)
