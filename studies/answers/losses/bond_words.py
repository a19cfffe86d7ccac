"""Bonds, circulating currents and standing voltages as blocks."""

from __future__ import annotations

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.losses.rows import PartResult
from studies.answers.result_units import loss_units
from studies.section.parts import is_of
from studies.study.bonds import CROSS_BONDED, Bond
from studies.study.parts import CONDUCTOR, GROUPS
from studies.text.blocks import Block, Caution, Section, Text
from studies.text.numbers import GAP, largest, plain, stated
from studies.text.table import Column, Table
from studies.text.units import AMPERE, LOSS_PER_LENGTH, METRE, OHM_PER_KM, PER_CENT, VOLT

BOND_NOTE = (
    "Closing: impedance in the common return of the bond. A bond without a closing impedance and without the earth has "
    "no return: its currents sum to zero."
)
CURRENT_NOTE = (
    "Closed form: for the rails of a ladder, two thin strips beside line currents. Loss: of the whole part, with its "
    "eddy currents."
)
VOLTAGE_NOTE = "Along the layer, from its bonded end to the open one, in normal operation."
TOUCH = (
    "An open end can carry the standing voltage of the whole run, and many times more in a short circuit. It can be "
    "dangerous to touch. Insulate it, limit its voltage, and mark it as the local code asks."
)
CROSS_BONDING = (
    "Cross-bonded layers are transposed in three equal minor sections. The induced voltages of the three do not cancel "
    "fully: the remainder drives a residual current through all three. {residual} Fields and losses are those of the "
    "first minor section, in which each loop lies at the cable of its name. After it the loops change places."
)
EARTH = (
    f"Earth return: homogeneous earth of {{resistivity:g}}{GAP}Ωm, its surface at y = {{surface}}. Net "
    "currents return in it by the integrals of Carson (both in air) and Pollaczek (buried, or one in air), evaluated "
    "for each pair of parts between their centroids. Every ± contains the error of treating a part as small compared "
    "with the depth of the current. The numbers of receptors, traverses, zones and maps contain the field of the "
    "current in the earth. Left out: layers of the soil, displacement currents in it, and the soil that buried cables "
    "displace. Formulas beside the numbers use the first terms of Carson's series, a return at 658.9 √(ρ/f) with the "
    "resistance ωµ₀/8, for all pairs alike."
)


def bond_section(result: Answers) -> Section | None:
    """Bonds, the currents in them, and the voltages at open ends; None without bonds and open layers."""
    blocks: list[Block] = [_bond_table(result)] if result.study.bonds else []
    if result.cross_section.cross_bonds:
        blocks.append(Text((_cross_bonding(result),)))
    currents, voltages = _current_table(result), voltage_table(result)
    blocks += [table for table in (currents, voltages) if table.rows]
    if voltages.rows:
        blocks.append(Caution("Open ends", (TOUCH,)))
    if (earth := result.study.earth) is not None:
        blocks.append(Text((EARTH.format(resistivity=earth.resistivity, surface=stated(earth.surface, METRE)),)))
    return Section("Bonds and standing voltages", "bonds", tuple(blocks)) if blocks else None


def _bond_table(result: Answers) -> Table[tuple[int, Bond]]:
    columns: tuple[Column[tuple[int, Bond]], ...] = (
        Column("Bond", lambda row: f"no. {row[0]}"),
        Column("Parts", lambda row: ", ".join(row[1].parts)),
        Column("Kind", lambda row: row[1].kind),
        Column(
            ("Closing R", "Closing X"), lambda row: complex(*row[1].impedance) if row[1].impedance else None, OHM_PER_KM
        ),
        Column("Through the earth", lambda row: "yes" if row[1].earth else "no"),
    )
    return Table("Bonds", columns, tuple(enumerate(result.study.bonds, 1)), BOND_NOTE)


def _current_table(result: Answers) -> Table[PartResult]:
    largest = max((part.current_rms_a for part in result.parts), default=0.0)
    losses = {loss.part: loss.loss_w_per_m for loss in result.losses}
    columns: tuple[Column[PartResult], ...] = (
        Column("Part", lambda p: p.part),
        Column("Bond", lambda p: _bond_of(result, p.part)),
        Column("Current, rms", lambda p: p.current_rms_a, AMPERE),
        Column("Closed form", lambda p: p.formula_current_rms_a, AMPERE, optional=True),
        Column("Of the largest current", lambda p: p.current_rms_a / largest, PER_CENT),
        Column("Loss", lambda p: losses[p.part], LOSS_PER_LENGTH),
    )
    free = {part.name for part in result.cross_section.conductors()} - _driven(result)
    carriers = tuple(p for p in result.parts if p.current_rms_a > 0 and (p.kind != CONDUCTOR or p.part in free))
    caption = f"Circulating currents{names.over_all_frequencies(result)}"
    return Table(caption, columns, carriers, CURRENT_NOTE, units=loss_units(result))


def voltage_table(result: Answers) -> Table[PartResult]:
    """Standing voltages at the open ends of metal layers."""
    columns: tuple[Column[PartResult], ...] = (
        Column("Part", lambda p: p.part),
        Column("Phase", lambda p: p.phase),
        Column("Voltage for each 100 m of run, rms", lambda p: p.standing_voltage_v_per_100m, VOLT, digits=3),
    )
    loose = tuple(part for part in result.parts if part.standing_voltage_v_per_100m is not None)
    return Table("Standing voltages of metal layers without a closed bond", columns, loose, VOLTAGE_NOTE)


def _cross_bonding(result: Answers) -> str:
    parts = {part for bond in result.cross_section.cross_bonds for part in bond.parts}
    most = largest([part for part in result.parts if part.part in parts], lambda part: part.current_rms_a)
    residual = f"The residual current is {plain(most.current_rms_a)}{GAP}A at most, in {most.part}."
    return CROSS_BONDING.format(residual=residual if most.current_rms_a > 0 else "No residual current is left.")


def _bond_of(result: Answers, part: str) -> str | None:
    for number, bond in enumerate(result.study.bonds, 1):
        if any(_stands_for(name, part) for name in bond.parts):
            return f"no. {number}" + (", cross-bonded" if bond.kind == CROSS_BONDED else "")
    return "rungs" if any(part in rails for rails in result.cross_section.rungs) else None


def _stands_for(name: str, part: str) -> bool:
    """Whether a name in a bond is that of a part, of its group, or of the whole of which it is a piece."""
    circuit, _, word = name.rpartition(" ")
    layer = next((layer for layer, group in GROUPS.items() if group == word), None)
    if layer is not None and part.startswith(f"{circuit}.") and part.endswith(f".{layer}"):
        return True
    return is_of(part, name)


def _driven(result: Answers) -> set[str]:
    """Conductors whose phase current is given; a bond decides the current of others, such as N or PE."""
    return {part for phase in result.cross_section.phases for part in result.cross_section.ties[phase.tie].parts}
