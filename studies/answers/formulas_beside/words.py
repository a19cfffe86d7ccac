"""The ladder of formulas as blocks: for each number the simplest formula first, the better ones after it."""

from __future__ import annotations

from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.limits.verdicts import receptor_unit
from studies.closed_forms.rung import Rung
from studies.text.blocks import Block, Section, Text
from studies.text.grid import Grid, Head
from studies.text.marks import LEGEND, in_words
from studies.text.numbers import NONE, percent, plain
from studies.text.units import LOSS_PER_LENGTH, MILLIHENRY_PER_KM, OHM_PER_KM, Unit, common_unit

MOST_SUBJECTS = 12
"""Receptors, parts or phases shown of one quantity; the CSV tables hold all."""
INTRODUCTION = (
    "Each number beside its formulas, the simplest first. A formula can be close by chance: what lies outside its "
    "range is said beside it. All at the study's own frequency."
)
TITLES = {
    "field": "Flux density at the receptors",
    "resistance": "Ac resistance of the conductors",
    "inductance": "Inductance of the phases",
    "screen loss": "Loss of the screens",
    "sheath loss": "Loss of the sheaths",
    "tray loss": "Loss of the trays",
}


def ladder_section(result: Answers) -> Section | None:
    """A table for each quantity that has formulas; None where none has."""
    if not result.ladder:
        return None
    quantities = tuple(dict.fromkeys(rung.quantity for rung in result.ladder))
    blocks: list[Block] = [
        Text((INTRODUCTION,)),
        *(_table(result, name, [rung for rung in result.ladder if rung.quantity == name]) for name in quantities),
    ]
    sources = dict.fromkeys(f"{rung.formula}: {in_words(rung.source)}" for rung in result.ladder)
    blocks.append(
        Section(
            "Sources of the formulas",
            "sources",
            (
                Text(tuple(sources), "list"),
                Text((LEGEND,)),
            ),
        )
    )
    return Section("The ladder of formulas", "ladder", tuple(blocks))


def _table(result: Answers, quantity: str, rungs: Sequence[Rung]) -> Grid:
    subjects = tuple(dict.fromkeys(rung.subject for rung in rungs))
    shown = subjects[:MOST_SUBJECTS]
    unit = _unit(result, rungs)
    more = f"The first {len(shown)} of {len(subjects)}; the others are in the tables of the results folder."
    return Grid(
        TITLES.get(quantity, quantity.capitalize()),
        (
            Head("Of"),
            Head("Formula"),
            Head("Value", unit.symbol),
            Head("Finite element", unit.symbol),
            Head("Difference", "%"),
            Head("Outside its range"),
        ),
        tuple(
            (
                rung.subject,
                rung.formula,
                plain(unit.of(rung.value_in_unit), 4),
                plain(unit.of(rung.finite_element_in_unit), 4),
                percent(rung.difference),
                "; ".join(rung.outside_range) or NONE,
            )
            for rung in rungs
            if rung.subject in shown
        ),
        more if len(subjects) > len(shown) else "",
    )


def _unit(result: Answers, rungs: Sequence[Rung]) -> Unit:
    """Unit to show the rungs of a quantity in; they hold SI."""
    unit = rungs[0].unit
    if unit == "T":
        return receptor_unit(result)
    if unit == "W/m":
        return common_unit([rung.finite_element_in_unit for rung in rungs], LOSS_PER_LENGTH)
    return {"ohm/m": OHM_PER_KM, "H/m": MILLIHENRY_PER_KM}.get(unit, Unit(unit, 1.0))
