"""Tables of the differences by cause, and their sentences."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers.answers import Answers
from studies.answers.causes.rows import CAUSES, FIELDS, INDUCTANCES, LOSSES, DifferenceSplit, splits
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Figure, Section
from studies.text.numbers import GAP, plain
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, MILLIHENRY_PER_KM, Family, Unit

HEADINGS = ("Sharing", "Proximity, skin", "Screens", "Tray conduction", "Tray permeability")
TITLES = {
    FIELDS: "Why the fields differ from line currents",
    LOSSES: "Why the losses of the conductors differ from IEC 60287-1-1",
    INDUCTANCES: "Why the inductances differ from GMD and GMR",
}
UNITS: Mapping[str, Unit | Family] = {
    FIELDS: FLUX_DENSITY,
    LOSSES: LOSS_PER_LENGTH,
    INDUCTANCES: MILLIHENRY_PER_KM,
}
FIGURE = "causes"
NOTHING = 1e-6
"""A part below this share of the formula is left over from the solves and reads 0. [-]"""
SMALL_REST = 1e-3
"""A rest up to this share of the formula is the mesh's and not shown. [-]"""
NOTE = (
    "From the formula on, one cause after the other is added in the order of the columns; a part is the change from "
    "one solve to the next, on the same mesh. The parts depend on this order; formula and parts add up to the "
    "computed value. Sharing: of parallel cables by resistance and line inductance. Screens: with sheaths, armours and "
    "conductors whose current a bond decides. Tray: all trays, covers and metalwork. "
)
ENDS = {
    FIELDS: "A rest is that of an earth, which the formula leaves out, or of the mesh.",
    LOSSES: "Formula: equal currents with the factors of IEC 60287-1-1; the second part is what goes beyond these.",
    INDUCTANCES: "Positive sequence at the study's own frequency. A rest is that of an earth or of the mesh.",
}


def cause_tables(result: Answers) -> tuple[Table[DifferenceSplit], ...]:
    """One table for each kind of number that is split."""
    return tuple(_table(result, of) for of in TITLES if any(row.of == of for row in result.causes))


def _table(result: Answers, of: str) -> Table[DifferenceSplit]:
    units = UNITS[of]
    parts = [
        Column[DifferenceSplit](heading, partial(_shown, cause), units, partial(_part, f"{cause}_error"), brief=True)
        for heading, cause in zip(HEADINGS, CAUSES, strict=True)
    ]
    columns: tuple[Column[DifferenceSplit], ...] = (
        Column("Of", lambda r: r.place, brief=True),
        Column("Formula", lambda r: r.formula, units, brief=True),
        *parts,
        Column("Rest", _rest, units, brief=True, optional=True),
        Column("Computed", lambda r: r.computed, units, brief=True),
    )
    rows = tuple(row for row in splits(result.causes) if row.of == of)
    return Table(TITLES[of], columns, rows, NOTE + ENDS[of], units=result_units(result))


def cause_rows(result: Answers) -> list[SheetRow]:
    """Of each kind of number the one farthest from its formula, with its largest cause, on the sheet to sign."""
    return [_row(result, of) for of in TITLES if any(row.of == of for row in result.causes)]


def _row(result: Answers, of: str) -> SheetRow:
    rows = [row for row in splits(result.causes) if row.of == of]
    most = max(rows, key=lambda row: abs(row.computed - row.formula) / abs(row.formula or 1.0))
    heading, part = max(zip(HEADINGS, most.parts(), strict=True), key=lambda pair: abs(pair[1]))
    unit = result_units(result).of(UNITS[of], [most.formula, most.computed])
    computed, formula, size = (f"{plain(unit.of(x))}{GAP}{unit.symbol}" for x in (most.computed, most.formula, part))
    value = f"{most.place}: {computed} computed, {formula} by formula; largest part: {heading.lower()}, {size}"
    return SheetRow(f"Largest difference of {of} from the formula", value, section="causes")


def _rest(row: DifferenceSplit) -> float | None:
    """What no cause explains, if it is worth a cell. [unit of the row]"""
    return row.rest if abs(row.rest) > SMALL_REST * abs(row.formula) else None


def _shown(cause: str, row: DifferenceSplit) -> float:
    part = _part(cause, row)
    return part if abs(part) > NOTHING * abs(row.formula) else 0.0


def _part(name: str, row: DifferenceSplit) -> float:
    return float(getattr(row, name))


def cause_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Tables and figure; None if it was not asked."""
    if not result.causes:
        return None
    blocks: list[Block] = [*cause_tables(result)]
    if FIGURE in figures:
        caption = "What each cause adds to the formula, over the computed value."
        blocks.append(Figure(caption, "Bars of the part of each cause, one group for each number.", figures[FIGURE]))
    return Section("Differences from the formulas by cause", "causes", tuple(blocks))
