"""Bonds, the currents that circulate in them, and standing voltages as blocks."""

from __future__ import annotations

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.losses.rows import PartResult
from studies.section.parts import is_of
from studies.study.file import CROSS_BONDED, Bond
from studies.study.parts import CONDUCTOR, GROUPS
from studies.text.blocks import Block, Caution, Section, Text
from studies.text.grid import Cell, Grid, Head
from studies.text.numbers import NONE, percent, plain, significant
from studies.text.units import AMPERE, LOSS_PER_LENGTH, OHM_PER_KM, common_unit

Row = tuple[str | Cell, ...]

TOUCH = (
    "An open end can carry the standing voltage of the whole run, and in a short circuit many times more: it can be "
    "dangerous to touch. Insulate it, limit it, and mark it as the local code asks."
)


def bond_section(result: Answers) -> Section | None:
    """What is bonded, what flows in it, and what stands at open ends; None without bonds and open layers."""
    blocks: list[Block] = []
    study = result.study
    if study.bonds:
        blocks.append(_bond_table(result))
    if result.cross_section.cross_bonds:
        blocks.append(Text((_cross_bonding(result),)))
    carriers = [part for part in result.parts if part.kind != CONDUCTOR or part.part in _tied_conductors(result)]
    carriers = [part for part in carriers if part.current_rms_a > 0]
    if carriers:
        blocks.append(_current_table(result, carriers))
    loose = [part for part in result.parts if part.standing_voltage_v_per_100m is not None]
    if loose:
        blocks += [_voltage_table(loose), Caution("Open ends", (TOUCH,))]
    if study.earth is not None:
        blocks.append(Text((_earth(result),)))
    return Section("Bonds and standing voltages", "bonds", tuple(blocks)) if blocks else None


def _bond_table(result: Answers) -> Grid:
    return Grid(
        "Bonds",
        (
            Head("Bond"),
            Head("Parts"),
            Head("Kind"),
            Head("Closing R", "Ω/km"),
            Head("Closing X", "Ω/km"),
            Head("Through the earth"),
        ),
        tuple(_bond_row(number, bond) for number, bond in enumerate(result.study.bonds, 1)),
        "Closing: impedance in series with the path by which the sum of the currents returns; without one and without "
        "the earth, the currents of a bond sum to zero.",
    )


def _bond_row(number: int, bond: Bond) -> Row:
    closing = bond.impedance or (None, None)
    return (
        f"no. {number}",
        ", ".join(bond.parts),
        bond.kind,
        *(significant(value, OHM_PER_KM) for value in closing),
        "yes" if bond.earth else "no",
    )


def _current_table(result: Answers, carriers: list[PartResult]) -> Grid:
    largest = max(part.current_rms_a for part in result.parts)
    losses = {loss.part: loss.loss_w_per_m for loss in result.losses}
    unit = common_unit([losses[part.part] for part in carriers], LOSS_PER_LENGTH)
    several = ", over all frequencies" if len(names.frequencies(result)) > 1 else ""
    return Grid(
        f"Circulating currents{several}",
        (
            Head("Part"),
            Head("Bond"),
            Head("Current, rms", "A"),
            Head("Closed form", "A"),
            Head("Of the largest current", "%"),
            Head("Loss", unit.symbol),
        ),
        tuple(
            (
                part.part,
                _bond_of(result, part.part),
                significant(part.current_rms_a, AMPERE),
                significant(part.formula_current_rms_a, AMPERE),
                percent(part.current_rms_a / largest, signed=False),
                significant(losses[part.part], unit),
            )
            for part in carriers
        ),
        "Closed form: of the rails of a ladder, as two thin strips beside line currents. Loss: of the whole part, eddy "
        "currents included.",
    )


def _voltage_table(loose: list[PartResult]) -> Grid:
    return Grid(
        "Standing voltages of metal layers without a closed bond",
        (Head("Part"), Head("Phase"), Head("Voltage for each 100 m of run, rms", "V")),
        tuple((part.part, part.phase or NONE, plain(part.standing_voltage_v_per_100m or 0.0, 3)) for part in loose),
        "Along the layer, from its bonded end to the open one, in normal operation.",
    )


def _cross_bonding(result: Answers) -> str:
    parts = {part for bond in result.cross_section.cross_bonds for part in bond.parts}
    most = max((part for part in result.parts if part.part in parts), key=lambda part: part.current_rms_a)
    residual = (
        f"The residual current is {plain(most.current_rms_a, 3)}\u202fA at most, in {most.part}."
        if most.current_rms_a > 0
        else "No residual current is left."
    )
    return (
        "Cross-bonded layers are transposed in three equal minor sections; what the sections leave uncancelled drives "
        f"a residual current through all three. {residual} Fields and losses are those of the first minor section, in "
        "which each loop lies where its own cable lies; the loops change places after it."
    )


def _earth(result: Answers) -> str:
    assert result.study.earth is not None
    earth = result.study.earth
    return (
        f"Earth return: homogeneous earth of {earth.resistivity:g}\u202fΩm, its surface at y = "
        f"{earth.surface:g}\u202fm. "
        "Net currents return in it by the integrals of Carson (both in air) and Pollaczek (buried, or one in air), "
        "evaluated for each pair of parts between their centroids; the error of taking a part as small beside the "
        "depth of the current is in every ±. The field of the current in the earth is in the numbers of receptors, "
        "traverses, zones and maps. Left out: layers of the soil, displacement currents in it, and the soil that "
        "buried cables displace. Formulas beside the numbers use the first terms of Carson's series, a return at "
        "658.9 √(ρ/f) with the resistance ωµ₀/8, for all pairs alike."
    )


def _bond_of(result: Answers, part: str) -> str:
    for number, bond in enumerate(result.study.bonds, 1):
        if any(_stands_for(name, part) for name in bond.parts):
            return f"no. {number}" + (", cross-bonded" if bond.kind == CROSS_BONDED else "")
    return "rungs" if any(part in rails for rails in result.cross_section.rungs) else NONE


def _stands_for(name: str, part: str) -> bool:
    """Whether a name of a bond is that of a part, of a group that it belongs to, or of what it is a piece of."""
    circuit, _, word = name.rpartition(" ")
    layer = next((layer for layer, group in GROUPS.items() if group == word), None)
    if layer is not None and part.startswith(f"{circuit}.") and part.endswith(f".{layer}"):
        return True
    return is_of(part, name)


def _tied_conductors(result: Answers) -> set[str]:
    """Conductors of N or PE whose current a bond decides."""
    driven = {part for phase in result.cross_section.phases for part in result.cross_section.ties[phase.tie].parts}
    return {part.name for part in result.cross_section.conductors() if part.name not in driven}
