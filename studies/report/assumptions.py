"""The section on the assumptions of the numbers, and on the materials with their sources."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from fem.materials import skin_depth
from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.section.enclosure import is_magnetic
from studies.section.joints import joints
from studies.section.parts import METALWORK, TRAY, StudyPart
from studies.section.stated_materials import stated_material
from studies.study.bonds import CROSS_BONDED, EVERY_JOINT
from studies.study.file import Study
from studies.study.materials import material_of
from studies.study.parts import ARMOUR, GROUPS, METAL_LAYERS
from studies.text.blocks import Section, Text
from studies.text.table import Column, Table
from studies.text.units import CELSIUS, MEGASIEMENS_PER_METRE, MILLIMETRE, NUMBER


def assumption_section(result: Answers) -> Section:
    """Assumptions, and the materials with their sources."""
    lines = [*_always(result), *_of_metal(result), *_of_bonds(result)]
    return Section("Assumptions", "assumptions", (Text(tuple(lines), "list"), _material_table(result)))


def _always(result: Answers) -> list[str]:
    return [
        (
            "Each conductor is a homogeneous circle of its stated diameter, or of its nominal area if none is "
            "stated, with the conductivity that gives its dc resistance at its temperature. Strands, their lay and "
            "segments are not modelled; coefficients of skin and proximity effect below 1 are in the formulas only."
        ),
        "The cross-section is the same along the whole run, and the run is straight"
        + ("." if result.study.course is None else ", except in the numbers of the run in space."),
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
            "Wires or tapes of an armour are a homogeneous tube, with the metal's conductivity times the share of "
            "metal. Their lay, which also guides flux along the cable, is not modelled."
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
            lines.append(f"Other frequencies use the effective permeability at {result.cross_section.frequency:g} Hz.")
    if any(part.open_area > 0 for part in parts):
        lines.append(
            "Perforated sheet is homogeneous: (1 − p)/(1 + p) times the conductivity of the metal for a share p of "
            "round holes, and the permeability of the same mixture (Maxwell 1873, art. 314)."
        )
    if any(part.kind == METALWORK for part in parts) or any(part.kind == TRAY for part in parts):
        lines.append(
            "Trays, covers and metalwork have no electrical contact, except solids that the study makes one part."
        )
    if any(tray.profile == "ladder" for tray in result.study.trays):
        lines.append("Ladders are modelled by their rails alone; eddy currents in the rungs are left out.")
    lines += joints(result.study, result.cross_section)
    return lines


def _of_bonds(result: Answers) -> list[str]:
    section = result.cross_section
    both = [
        ", ".join(bond.parts) + (" (at every joint as well)" if bond.kind == EVERY_JOINT else "")
        for bond in result.study.bonds
        if bond.kind != CROSS_BONDED
    ]
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
            "along the run, and their currents sum to zero or return through the impedance of the bond. The "
            "tables show the first minor section."
        )
    if any(bond.impedance is not None for bond in result.study.bonds):
        lines.append("Impedances in series with bonds are spread evenly along the run.")
    if section.earth is not None:
        lines.append(
            f"The earth is flat and homogeneous, {section.earth.resistivity:g}\u202fΩm; the net current of the "
            "section returns in it, by the integrals of Carson and Pollaczek."
        )
    elif abs(section.net_current()) > 0 and not both:
        lines.append("The net current of the section returns far away.")
    return lines


@dataclass(frozen=True)
class _Material:
    """A material as the parts made of it have it."""

    name: str
    temperature_c: float
    conductivity: float
    permeability: float
    skin_depth_m: float | None
    magnetisation: str | None
    source: str


def _material_table(result: Answers) -> Table[tuple[_Material, list[str]]]:
    """Distinct materials with their parts."""
    found: dict[_Material, list[str]] = {}
    for part in result.cross_section.parts:
        owner = part.name if part.cable is None else f"{part.cable.circuit} {GROUPS.get(part.kind, f'{part.kind}s')}"
        owners = found.setdefault(_material(result, part), [])
        if owner not in owners:
            owners.append(owner)
    note = (
        "Conductivity: of conductors, that of a homogeneous circle with the conductor's dc resistance. Skin depth: at "
        f"{result.cross_section.frequency:g} Hz; of steel with a curve, by the permeability of the linear solution. "
        "Perforated sheet and tubes of armour: of the homogeneous metal that replaces them."
    )
    return Table("Materials as computed", MATERIALS, list(found.items()), note)


MATERIALS: tuple[Column[tuple[_Material, list[str]]], ...] = (
    Column("Parts", lambda row: ", ".join(row[1])),
    Column("Material", lambda row: row[0].name),
    Column("Temperature", lambda row: row[0].temperature_c, CELSIUS, stated=True),
    Column("Conductivity", lambda row: row[0].conductivity, MEGASIEMENS_PER_METRE),
    Column("Relative permeability", lambda row: row[0].permeability, NUMBER, stated=True),
    Column("Skin depth", lambda row: row[0].skin_depth_m, MILLIMETRE, digits=3),
    Column("Magnetisation", lambda row: row[0].magnetisation),
    Column("Source", lambda row: row[0].source),
)


def _material(result: Answers, part: StudyPart) -> _Material:
    name, temperature = stated_material(result.study, part)
    permeability = complex(part.material.relative_permeability)
    return _Material(
        name,
        temperature,
        part.material.conductivity,
        float(f"{abs(permeability):.5g}"),
        skin_depth(part.material, result.cross_section.frequency),
        _magnetisation(result.study, part, name, permeability),
        part.source,
    )


def _magnetisation(study: Study, part: StudyPart, name: str, permeability: complex) -> str | None:
    if not is_magnetic(part):
        return None
    curve = material_of(study, name).curve if part.steel is not None else None
    words = "constant" if part.steel is None else f"saturating, {curve or 'by its curve'}"
    lag = math.degrees(-cmath.phase(permeability)) if part.steel is None else math.degrees(part.steel.loss_angle)
    return f"{words}, loss angle {lag:.3g}°" if lag else words
