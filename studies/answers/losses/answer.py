"""Answers on parts: their losses, currents and resistances."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Draw
from studies.answers.answers import Answers
from studies.answers.losses import words
from studies.answers.losses.bond_words import bond_section, voltage_table
from studies.answers.losses.compute import loss_results, part_results
from studies.answers.steel.words import third_harmonic_words


def _loss_figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.losses.section_figure import draw_loss_section
    from studies.answers.losses.sheet_figure import draw_loss_density
    from studies.drawing.sheets import is_sheet

    figures: dict[str, Draw] = {}
    for part, stem in names.loss_stems(seen).items():
        flat = is_sheet(seen.cross_section.part(part).shape)
        figures[stem] = partial(draw_loss_density if flat else draw_loss_section, seen, part)
    return figures


def _current_figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.losses.current_figure import draw_current_density
    from studies.answers.losses.shares_figure import draw_shares

    figures: dict[str, Draw] = {}
    if names.carries_current(seen):
        figures[names.CURRENT_DENSITY] = partial(draw_current_density, seen)
    if names.has_parallel_cables(seen.cross_section):
        figures[names.SHARES] = partial(draw_shares, seen)
    return figures


LOSSES = Answer(
    "losses",
    "losses",
    lambda asked: loss_results(asked.study, asked.solutions),
    sections={"Losses": words.loss_section},
    brief=lambda seen: (words.loss_table(seen),),
    notes=lambda seen: (*words.formula_lines(seen), third_harmonic_words(seen)),
    sheet=words.loss_rows,
    figures=_loss_figures,
    sees=("parts", "receptors"),
)
PARTS = Answer(
    "parts",
    "currents and resistances of the parts",
    lambda asked: part_results(asked.study, asked.solutions),
    sections={"Parts": words.part_section, "Bonds and standing voltages": lambda seen, _: bond_section(seen)},
    brief=lambda seen: (words.sharing_table(seen), voltage_table(seen)),
    alarms=lambda seen: (words.doubt_line(seen),),
    sheet=words.part_rows,
    figures=_current_figures,
    sees=("losses",),
)
