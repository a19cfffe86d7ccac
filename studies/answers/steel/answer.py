"""Answers on steel: its saturation, other currents, another steel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.steel.brief import saturation_brief, sweep_brief
from studies.answers.steel.compute import saturation_results, sweep_results
from studies.answers.steel.other import with_other
from studies.answers.steel.rows import SaturationResult, SweepPoint
from studies.answers.steel.steel_words import other_steel_table
from studies.answers.steel.summary import steel_line
from studies.answers.steel.words import steel_section
from studies.text.plain_table import PlainTable


def _other(asked: Asked) -> Mapping[str, Sequence[object]]:
    own = asked.done["receptors"], asked.done["zones"], asked.done["losses"]
    return dict(zip(OTHER_STEEL.amends, with_other(asked.study, asked.base, *own, asked.tell), strict=True))


def _saturation(asked: Asked) -> tuple[SaturationResult, ...]:
    return saturation_results(asked.study, asked.base)


def _sweep(asked: Asked) -> tuple[SweepPoint, ...]:
    return sweep_results(asked.study, asked.base, asked.tell)


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.steel.figure import draw_current_sweep

    return {names.CURRENT_SWEEP: partial(draw_current_sweep, seen)} if seen.current_sweep else {}


OTHER_STEEL = Answer(
    "other_steel",
    "the same with another steel",
    _other,
    amends=("receptors", "zones", "losses"),
    kept=False,
    brief=lambda seen: (PlainTable(*other_steel_table(seen)),),
    sees=("saturation",),
)
SATURATION = Answer(
    "saturation",
    "saturation",
    _saturation,
    sections={"Saturation and other currents": steel_section},
    brief=lambda seen: (saturation_brief(seen),),
    lines=lambda seen: (steel_line(seen),),
    sees=("current_sweep", "losses", "receptors", "zones"),
)
CURRENT_SWEEP = Answer(
    "current_sweep",
    "current sweep",
    _sweep,
    brief=lambda seen: (sweep_brief(seen),),
    figures=_figure,
    sees=("receptors",),
)
