"""Under which assumptions the numbers hold, and the materials with their sources, as blocks."""

from __future__ import annotations

import cmath
import math

from fem.materials import skin_depth
from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.section.cross_section import METALWORK, TRAY, StudyPart
from studies.section.enclosure import is_magnetic
from studies.section.joints import joints
from studies.section.stated_materials import stated_material
from studies.study.file import CROSS_BONDED, Study, material_of
from studies.study.parts import ARMOUR, GROUPS, METAL_LAYERS
from studies.text.blocks import Section, Text
from studies.text.grid import Grid, Head
from studies.text.numbers import NONE, significant
from studies.text.units import MEGASIEMENS_PER_METRE, MILLIMETRE


def assumption_section(result: Answers) -> Section:
    """Assumptions, and the materials with their sources."""
    lines = [*_always(result), *_of_metal(result), *_of_bonds(result)]
    return Section("Assumptions", "assumptions", (Text(tuple(lines), "list"), _material_table(result)))


def _always(result: Answers) -> list[str]:
    return [
        (
            "Each conductor is a homogeneous circle of its stated diameter, or of its nominal area where none is "
            "stated, with the conductivity that gives its dc resistance at its temperature. Strands, their lay and "
            "segments are not modelled; coefficients of skin and proximity effect below 1 are in the formulas only."
        ),
        "The cables and trays go on unchanged and straight in the direction of the run.",
        "Cables lie exactly where the study puts them.",
        _currents(names.frequencies(result)),
    ]


def _currents(frequencies: tuple[float, ...]) -> str:
    listed = ", ".join(f"{frequency:g}" for frequency in frequencies)
    if len(frequencies) == 1:
        return f"All currents are sinusoidal at {listed} Hz; values are rms."
    return (
        f"Currents flow at {listed} Hz; values are rms. Fields of different frequencies are combined as root sum "
        "square, their losses added, exposures summed as ratios to the levels."
    )


def _of_metal(result: Answers) -> list[str]:
    parts = result.cross_section.parts
    lines = []
    if any(part.kind in METAL_LAYERS for part in parts):
        lines.append("Screens, sheaths and armour are homogeneous tubes.")
    if any(part.kind == ARMOUR for part in parts):
        lines.append(
            "Wires or tapes of an armour are the tube that they fill, with the metal's conductivity times the share of "
            "metal; their lay, by which they also carry flux along the cable, is not modelled."
        )
    if any(part.steel is None and is_magnetic(part) for part in parts):
        lines.append(
            "Magnetic materials without a magnetisation curve are linear: one permeability at every field strength, no "
            "saturation, and no hysteresis unless a loss angle is stated."
        )
    if result.cross_section.steels():
        lines.append(
            "Materials with a magnetisation curve saturate: one effective permeability at each point for the whole "
            "cycle, all quantities sinusoidal, no hysteresis unless a loss angle is stated."
        )
        if len(names.frequencies(result)) > 1:
            lines.append(
                f"Other frequencies ride on the permeability that {result.cross_section.frequency:g} Hz leaves."
            )
    if any(part.open_area > 0 for part in parts):
        lines.append(
            "Perforated sheet is homogeneous: conductivity (1 − p)/(1 + p) of the metal's with the share p of round "
            "holes, and the permeability of the same mixture (Maxwell 1873, art. 314)."
        )
    if any(part.kind == METALWORK for part in parts) or any(part.kind == TRAY for part in parts):
        lines.append("Trays, covers and metalwork touch nothing but what the study makes one part of.")
    if any(tray.profile == "ladder" for tray in result.study.trays):
        lines.append("Ladders are their rails alone; eddy currents in the rungs are left out.")
    lines += joints(result.study, result.cross_section)
    return lines


def _of_bonds(result: Answers) -> list[str]:
    section = result.cross_section
    both = [", ".join(bond.parts) for bond in result.study.bonds if bond.kind != CROSS_BONDED]
    crossed = [", ".join(bond.parts) for bond in result.study.bonds if bond.kind == CROSS_BONDED]
    carriers = ["the conductors"] + ["the cross-bonded layers"] * bool(crossed)
    carriers += ["rails that rungs join"] * bool(section.rungs)
    listed = carriers[0] if len(carriers) == 1 else f"{', '.join(carriers[:-1])} and {carriers[-1]}"
    lines = []
    if both:
        lines.append(
            f"Bonded at both ends of the run: {'; '.join(both)}. All other metal except {listed} carries no net "
            "current."
        )
    else:
        lines.append(f"Only {listed} carry a net current: no other metal is bonded.")
    if crossed:
        lines.append(
            f"Cross-bonded in three equal minor sections: {'; '.join(crossed)}. The loops of a bond share one voltage "
            "along the run, and their currents sum to zero or return through what the bond closes by; shown is the "
            "first minor section."
        )
    if any(bond.impedance is not None for bond in result.study.bonds):
        lines.append("Impedances in series with bonds are spread evenly along the run.")
    if section.earth is not None:
        lines.append(
            f"The earth is flat and homogeneous, {section.earth.resistivity:g}\u202fΩm; what does not return in the "
            "section returns in it by the integrals of Carson and Pollaczek."
        )
    elif abs(section.net_current()) > 0 and not both:
        lines.append("What does not return in the section returns far away.")
    return lines


def _material_table(result: Answers) -> Grid:
    """Distinct materials with the parts that are of them."""
    found: dict[tuple[str, ...], list[str]] = {}
    for part in result.cross_section.parts:
        owner = part.name if part.cable is None else f"{part.cable.circuit} {GROUPS.get(part.kind, f'{part.kind}s')}"
        owners = found.setdefault(_material_row(result, part), [])
        if owner not in owners:
            owners.append(owner)
    return Grid(
        "Materials as computed",
        (
            Head("Parts"),
            Head("Material"),
            Head("Temperature", "°C"),
            Head("Conductivity", "MS/m"),
            Head("Relative permeability", "–"),
            Head("Skin depth", "mm"),
            Head("Magnetisation"),
            Head("Source"),
        ),
        tuple((", ".join(owners), *row) for row, owners in found.items()),
        "Conductors: the conductivity of a homogeneous circle with the conductor's dc resistance. Skin depth: at "
        f"{result.cross_section.frequency:g} Hz; of steel with a curve by the permeability of the linear answer. "
        "Perforated sheet and the tubes of armour: of the homogeneous metal that stands for them.",
    )


def _material_row(result: Answers, part: StudyPart) -> tuple[str, ...]:
    name, temperature = stated_material(result.study, part)
    permeability = complex(part.material.relative_permeability)
    return (
        name,
        f"{temperature:g}",
        significant(part.material.conductivity, MEGASIEMENS_PER_METRE),
        f"{abs(permeability):.5g}",
        significant(skin_depth(part.material, result.cross_section.frequency), MILLIMETRE, 3),
        _magnetisation(result.study, part, name, permeability),
        part.source,
    )


def _magnetisation(study: Study, part: StudyPart, name: str, permeability: complex) -> str:
    if not is_magnetic(part):
        return NONE
    curve = material_of(study, name).curve if part.steel is not None else None
    words = "constant" if part.steel is None else f"saturating, {curve or 'by its curve'}"
    lag = math.degrees(-cmath.phase(permeability)) if part.steel is None else math.degrees(part.steel.loss_angle)
    return f"{words}, loss angle {lag:.3g}°" if lag else words
