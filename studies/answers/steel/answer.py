"""Answers on steel: its saturation, other currents, another steel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.steel.compute import saturation_results, sweep_results
from studies.answers.steel.other import with_other_steel
from studies.answers.steel.words import (
    other_steel_tables,
    saturation_table,
    steel_line,
    steel_section,
    sweep_rows,
    sweep_table,
)


def _other(asked: Asked) -> Mapping[str, Sequence[object]]:
    own = asked.done["receptors"], asked.done["zones"], asked.done["losses"]
    return with_other_steel(asked.study, asked.base, *own, asked.report_progress)


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.steel.figure import draw_current_sweep

    return {names.CURRENT_SWEEP: partial(draw_current_sweep, seen)} if seen.current_sweep else {}


OTHER_STEEL = Answer(
    "other_steel",
    "the same with another steel",
    _other,
    amends=("receptors", "zones", "losses"),
    kept=False,
    brief=other_steel_tables,
    sees=("saturation",),
)
SATURATION = Answer(
    "saturation",
    "saturation",
    lambda asked: saturation_results(asked.study, asked.base),
    sections={"Saturation and other currents": steel_section},
    brief=lambda seen: (saturation_table(seen),),
    lines=lambda seen: (steel_line(seen),),
    sees=("current_sweep", "losses", "receptors", "zones"),
)
CURRENT_SWEEP = Answer(
    "current_sweep",
    "current sweep",
    lambda asked: sweep_results(asked.study, asked.base, asked.report_progress),
    brief=lambda seen: (sweep_table(seen),),
    sheet=sweep_rows,
    figures=_figure,
    sees=("losses", "receptors", "zones"),
)
