"""Answers on steel: its saturation, other currents, another steel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers.answer import Answer, Asked
from studies.answers.steel.compute import saturation_results, sweep_results
from studies.answers.steel.other import with_other
from studies.answers.steel.rows import SaturationResult, SweepPoint


def _other(asked: Asked) -> Mapping[str, Sequence[object]]:
    own = asked.done["receptors"], asked.done["zones"], asked.done["losses"]
    return dict(zip(OTHER_STEEL.amends, with_other(asked.study, asked.base, *own, asked.tell), strict=True))


def _saturation(asked: Asked) -> tuple[SaturationResult, ...]:
    return saturation_results(asked.study, asked.base)


def _sweep(asked: Asked) -> tuple[SweepPoint, ...]:
    return sweep_results(asked.study, asked.base, asked.tell)


OTHER_STEEL = Answer(
    "other_steel", "the same with another steel", _other, amends=("receptors", "zones", "losses"), kept=False
)
SATURATION = Answer("saturation", "saturation", _saturation)
CURRENT_SWEEP = Answer("current_sweep", "current sweep", _sweep)
