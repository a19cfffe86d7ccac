"""Energy of losses in words: table, line of the sheet, what the stated load leaves open."""

from __future__ import annotations

from collections.abc import Mapping

from studies.answers.answers import Answers
from studies.answers.energy.rows import EnergyResult, LossEnergy
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.numbers import per_cent, plain, stated, value_with_error
from studies.text.table import Column, Table
from studies.text.units import KILOWATT_HOUR_PER_METRE, LOSS_PER_LENGTH, METRE, NUMBER, Unit

FIGURE = "energy"
WHOLE = Unit("kWh", 3.6e6, "j")
NOTE = (
    "Of a year of 8760 hours, the study's currents being the full load. ±: numerical error alone. Least and most: what "
    "the stated load leaves open, as it says neither how long each load lasts nor, with saturating steel, how strong "
    "each is. Temperatures stay as stated: at part load cables are cooler and lose somewhat less. Harmonics and all "
    "circuits rise and fall together."
)


def parts_words(row: LossEnergy) -> str:
    """Parts of a row."""
    return row.kind if row.kind == "all" else f"{row.kind} parts"


def drawn_energies(result: Answers) -> tuple[LossEnergy, ...]:
    """Rows of the figure, all parts last; none without a loss."""
    rows = () if result.energy is None else result.energy.rows
    return rows if rows and rows[-1].energy_j_per_m > 0 else ()


def energy_table(result: Answers) -> Table[LossEnergy]:
    """Energy of each kind of parts."""
    found = result.energy
    currency = f", {found.currency}" if found is not None and found.currency else ""
    columns: tuple[Column[LossEnergy], ...] = (
        Column("Parts", parts_words, brief=True),
        Column("Loss at full load", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column(
            "Energy", lambda r: r.energy_j_per_m, KILOWATT_HOUR_PER_METRE, lambda r: r.energy_error_j_per_m, brief=True
        ),
        Column("Least", lambda r: r.least_energy_j_per_m, KILOWATT_HOUR_PER_METRE, optional=True, brief=True),
        Column("Most", lambda r: r.most_energy_j_per_m, KILOWATT_HOUR_PER_METRE, optional=True, brief=True),
        Column("Whole run", lambda r: r.energy_j, WHOLE, optional=True, brief=True),
        Column(f"Cost per metre{currency}", lambda r: r.cost_per_m, NUMBER, digits=4, optional=True),
        Column(f"Cost of the run{currency}", lambda r: r.cost, NUMBER, digits=4, optional=True, brief=True),
    )
    rows = () if found is None else found.rows
    return Table("Energy of the losses over a year", columns, rows, NOTE, units=result_units(result))


def load_words(found: EnergyResult) -> str:
    """How the load is stated, the loss factor, and what was done about saturating steel."""
    square = f"loss factor (mean square of the load) {plain(found.loss_factor)}"
    if found.stated == "load_factor" and found.load_factor is not None:
        how = (
            f"load factor {per_cent(found.load_factor, signed=False)}, {square}, estimated as 0.3 m + 0.7 m² "
            f"(Buller and Woodrow 1928 [named]); from {plain(found.least_loss_factor or 0.0)} for a constant load to "
            f"{plain(found.most_loss_factor or 0.0)} for full load or none"
        )
    elif found.stated == "loss_factor":
        how = f"{square}, as stated"
    else:
        how = f"load duration curve, mean load {plain(found.load_factor or 0.0)}, {square}"
    steel = ""
    if found.solved_with_steel:
        steel = (
            " Saturating steel was solved again at each load."
            if found.stated == "hours"
            else " Saturating steel was solved again at the constant load with that mean square; losses in proportion "
            "to the square of the current stand in least and most."
        )
    run = ""
    if found.run_loss_w_per_m is not None:
        run = (
            " The loss per metre is not the same in all sections of the run: numbers per metre are of the study's own "
            f"section, and the whole run loses {plain(found.run_loss_w_per_m)} W/m on average at full load, at part "
            "load in the same proportion."
        )
    return f"Energy of the losses: {how}.{steel}{run}"


def energy_verdicts(result: Answers) -> tuple[str, ...]:
    """The energy of all losses and its cost, of the whole run or per metre."""
    found = result.energy
    if found is None or not found.rows:
        return ()
    total = found.rows[-1]
    if found.length_m is not None and total.energy_j is not None:
        said = f"The losses take {plain(WHOLE.of(total.energy_j))} kWh a year along {stated(found.length_m, METRE)}"
    else:
        said = f"The losses take {plain(KILOWATT_HOUR_PER_METRE.of(total.energy_j_per_m))} kWh a year per metre of run"
    cost = total.cost_per_m if total.cost is None else total.cost
    return (
        f"{said}." if cost is None else f"{said}, at a cost of {plain(cost)} {found.currency or ''}".rstrip() + ".",
    )


def energy_rows(result: Answers) -> list[SheetRow]:
    """The energy of all parts on the sheet to sign."""
    found = result.energy
    if found is None or not found.rows:
        return []
    total = found.rows[-1]
    value = value_with_error(total.energy_j_per_m, total.energy_error_j_per_m, KILOWATT_HOUR_PER_METRE)
    if found.run_loss_w_per_m is not None:
        value += " in the study's own section"
    if found.length_m is not None and total.energy_j is not None:
        value += f"; {plain(WHOLE.of(total.energy_j), 4)} kWh along {stated(found.length_m, METRE)}"
    if total.cost is not None or total.cost_per_m is not None:
        cost = total.cost_per_m if total.cost is None else total.cost
        value += f"; cost {plain(cost or 0.0, 4)} {found.currency or ''}".rstrip() + (
            "" if total.cost is not None else " per metre"
        )
    return [
        SheetRow(
            "Energy of all losses over a year",
            value,
            beyond="the load as stated, temperatures at part load",
            section="energy",
        )
    ]


def energy_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Sentence, table and figure; None if the study does not ask."""
    found = result.energy
    if found is None:
        return None
    blocks: list[Block] = [Text((load_words(found),)), energy_table(result)]
    if FIGURE in figures:
        unit = KILOWATT_HOUR_PER_METRE
        shown = [f"{parts_words(row)} {plain(unit.of(row.energy_j_per_m))}" for row in drawn_energies(result)]
        lines = ", with lines from least to most" if found.rows[-1].least_energy_j_per_m is not None else ""
        caption = f"Energy of the losses over a year by kind of parts{lines}."
        blocks.append(Figure(caption, f"Bars of the energy in kWh/m: {', '.join(shown)}.", figures[FIGURE]))
    return Section("Energy of the losses", "energy", tuple(blocks))
