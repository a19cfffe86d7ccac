"""Tables and sources of the formulas beside the numbers: for each number the simplest formula first."""

from __future__ import annotations

from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.formulas_beside.rows import FormulaBeside
from studies.answers.result_units import result_units
from studies.text.blocks import Block, Section, Text
from studies.text.marks import LEGEND, words_of_mark
from studies.text.numbers import DIFFERENCE
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, MILLIHENRY_PER_KM, OHM_PER_KM, Family, Unit

MOST_SUBJECTS = 12
"""Receptors, parts or phases shown of one quantity; the CSV table holds all."""
INTRODUCTION = (
    "Each number beside its formulas at the frequency of the study, the simplest formula first. A formula outside its "
    "range can agree by chance: the last column shows how far outside it is, and why that matters. Difference: "
    f"{DIFFERENCE}."
)
TITLES = {
    "field": "Flux density at the receptors",
    "resistance": "Ac resistance of the conductors",
    "inductance": "Inductance of the phases",
    "screen loss": "Loss of the screens",
    "sheath loss": "Loss of the sheaths",
    "tray loss": "Loss of the trays",
}
UNITS: dict[str, Unit | Family] = {
    "T": FLUX_DENSITY,
    "W/m": LOSS_PER_LENGTH,
    "ohm/m": OHM_PER_KM,
    "H/m": MILLIHENRY_PER_KM,
}
"""Units of the report by the SI units of the rows."""


def formula_section(result: Answers) -> Section | None:
    """A table for each quantity that has formulas; None if none has."""
    if not result.ladder:
        return None
    quantities = tuple(dict.fromkeys(row.quantity for row in result.ladder))
    tables = (_table(result, name, [row for row in result.ladder if row.quantity == name]) for name in quantities)
    sources = tuple(dict.fromkeys(f"{row.formula}: {words_of_mark(row.source)}" for row in result.ladder))
    blocks: tuple[Block, ...] = (
        Text((INTRODUCTION,)),
        *tables,
        Section("Sources of the formulas", "sources", (Text(sources, "list"), Text((LEGEND,)))),
    )
    return Section("Formulas beside the numbers", "formulas", blocks, is_appendix=True)


def _table(result: Answers, quantity: str, rows: Sequence[FormulaBeside]) -> Table[FormulaBeside]:
    subjects = tuple(dict.fromkeys(row.subject for row in rows))
    shown = subjects[:MOST_SUBJECTS]
    more = f"The first {len(shown)} of {len(subjects)}; the tables of the results folder hold the others."
    unit = UNITS.get(rows[0].unit, Unit(rows[0].unit, 1.0))
    columns: tuple[Column[FormulaBeside], ...] = (
        Column("Of", lambda row: row.subject),
        Column("Formula", lambda row: row.formula),
        Column("Value", lambda row: row.value_in_unit, unit),
        Column("Finite element", lambda row: row.finite_element_in_unit, unit),
        difference_column(lambda row: row.value_in_unit, lambda row: row.finite_element_in_unit),
        Column("Outside its range", lambda row: "; ".join(row.outside_range) or None),
    )
    return Table(
        TITLES.get(quantity, quantity.capitalize()),
        columns,
        [row for row in rows if row.subject in shown],
        more if len(subjects) > len(shown) else "",
        units=result_units(result),
    )
