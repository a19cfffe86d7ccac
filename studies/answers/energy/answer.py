"""The answer on the energy of losses over a year."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.energy.compute import energy_result
from studies.answers.energy.rows import EnergyResult
from studies.answers.energy.words import (
    FIGURE,
    drawn_energies,
    energy_rows,
    energy_section,
    energy_table,
    energy_verdicts,
    load_words,
)


def _energy(asked: Asked) -> EnergyResult | None:
    return energy_result(asked.study, asked.solutions, asked.done["losses"], asked.done["route"], asked.report_progress)


def _figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.energy.figure import draw_energy

    return {FIGURE: partial(draw_energy, seen)} if drawn_energies(seen) else {}


ENERGY = Answer(
    "energy",
    "energy of the losses",
    _energy,
    empty=None,
    needs=("losses", "route"),
    files=lambda found: {} if found is None else {"energy": found.rows},
    sections={"Energy of the losses": energy_section},
    figures=_figures,
    brief=lambda seen: () if seen.energy is None else (energy_table(seen),),
    notes=lambda seen: () if seen.energy is None else (load_words(seen.energy),),
    verdicts=energy_verdicts,
    sheet=energy_rows,
    lines=lambda seen: () if seen.energy is None else (load_words(seen.energy),),
    sees=("receptors", "zones"),
)
