"""What was computed, how, and under which assumptions, as blocks."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fem.materials import Material, skin_depth
from geometry.cable import CableConstruction
from geometry.shapes import boundary_loops
from studies.cross_section import StudyPart
from studies.figures import names
from studies.figures.engineering import fixed, plain, power_of_ten
from studies.figures.names import is_of
from studies.materials import REFERENCE_TEMPERATURE
from studies.parts import CONDUCTOR, METAL_LAYERS
from studies.report.blocks import Block, Column, Figure, Section, Table, Text
from studies.report.numbers import AMPERE, MEGASIEMENS_PER_METRE, MILLIMETRE, NONE, angle, percent, significant
from studies.results import Result
from studies.study import Cable, Study, phase_currents


def subject_section(result: Result, figures: Mapping[str, bytes]) -> Section:
    """The circuits and trays that were studied, with the cross-section."""
    study = result.study
    blocks: list[Block] = []
    if names.CROSS_SECTION in figures:
        blocks.append(
            Figure(
                "The cross-section to scale. Arrows point to receptors outside the drawing, with their distance from "
                "the middle of the cross-section.",
                f"Cross-section with {len(result.cross_section.cables)} cables and {len(study.trays)} trays.",
                figures[names.CROSS_SECTION],
            )
        )
    rows = []
    for circuit in study.circuits:
        for phase, current in phase_currents(circuit).items():
            count = str(circuit.phases.count(phase))
            rows.append(
                (
                    f"{circuit.name} {phase}",
                    circuit.cable,
                    circuit.arrangement,
                    count,
                    significant(abs(current), AMPERE),
                    angle(current),
                )
            )
    blocks.append(
        Table(
            f"Circuits, {plain(study.frequency, 3).rstrip('0').rstrip('.') or '0'} Hz",
            (
                Column("Phase"),
                Column("Cable"),
                Column("Arrangement"),
                Column("Cables", "–"),
                Column("Current, rms", "A"),
                Column("Angle", "°"),
            ),
            tuple(rows),
        )
    )
    blocks.append(_cable_table(result))
    if study.trays:
        blocks.append(_tray_table(result))
    return Section("What was studied", "subject", tuple(blocks))


def method_section(result: Result) -> Section:
    """Meshes, tolerance and checks."""
    accuracy, checks = result.accuracy, result.checks
    meshes = Table(
        "Meshes",
        (
            Column("Mesh"),
            Column("Fineness", "–"),
            Column("Unknowns", "–"),
            Column("Triangles", "–"),
            Column("Largest change from the mesh before", "%"),
        ),
        tuple(
            (
                f"no. {number}",
                plain(level.fineness, 2),
                fixed(level.unknowns, 0),
                fixed(level.triangles, 0),
                percent(level.worst_change, signed=False),
            )
            for number, level in enumerate(accuracy.levels, 1)
        ),
    )
    tests = Table(
        "Checks",
        (Column("Check"), Column("Residual", "–"), Column("What it tells")),
        (
            (
                "Power balance",
                power_of_ten(checks.power_balance),
                (
                    "Power given to the parts against the loss found in them. An identity of the discrete equations: "
                    "it finds faults in assembly and post-processing, and says nothing about the mesh."
                ),
            ),
            (
                "Reciprocity",
                power_of_ten(checks.reciprocity),
                "Symmetry of the admittance matrix. It finds faults of the solver, and says nothing about the mesh.",
            ),
            (
                "Ampère's law",
                power_of_ten(checks.ampere_law),
                (
                    "Circulation of the field around each part against its current. It feels the mesh at the surface "
                    "of the parts, where the field is least exact; numbers taken elsewhere are better than it."
                ),
            ),
        ),
    )
    asked, reached = percent(accuracy.tolerance, signed=False), percent(accuracy.worst_error, signed=False)
    text = Text(
        (
            (
                "The magnetic vector potential was solved with quadratic finite elements, for all currents induced in "
                "conductors, screens and trays; outside a circle about the cross-section the field goes on to infinity "
                "by an exact series."
            ),
            (
                f"The mesh was refined until every reported number settled. Asked: {asked} %. Reached: "
                f"{reached} % is the largest error estimate, "
                f"{'which meets it' if accuracy.met else 'which does not meet it'}. The ± of each number is the "
                "estimate of what is left of its numerical error."
            ),
        )
    )
    return Section("How the numbers were made", "method", (text, meshes, tests))


def assumption_section(result: Result) -> Section:
    """Assumptions, and the materials with their sources."""
    assumptions = [
        (
            "Each conductor is a homogeneous circle of its stated diameter, or of its nominal area where none is "
            "stated, with the conductivity that gives its dc resistance at its temperature. Strands and their lay are "
            "not modelled."
        ),
        "The cables and trays go on unchanged and straight in the direction of the run.",
        "Cables lie exactly where the study puts them.",
        _current_assumption(names.frequencies(result)),
    ]
    if any(part.kind in METAL_LAYERS for part in result.cross_section.parts):
        assumptions.append("Screens, sheaths and armour are homogeneous tubes.")
    if any(complex(part.material.relative_permeability) != 1 for part in result.cross_section.parts):
        assumptions.append(
            "Magnetic materials are linear: one permeability at every field strength, no saturation, and no hysteresis "
            "unless it is stated."
        )
    bonds = [", ".join(bond.parts) for bond in result.study.bonds]
    assumptions.append(
        f"Bonded at both ends of the run: {'; '.join(bonds)}. All other metal but the conductors carries no net "
        "current."
        if bonds
        else "No metal but the conductors is bonded: none of it carries a net current."
    )
    return Section("Assumptions", "assumptions", (Text(tuple(assumptions), "list"), _material_table(result)))


def _current_assumption(frequencies: tuple[float, ...]) -> str:
    listed = ", ".join(f"{frequency:g}" for frequency in frequencies)
    if len(frequencies) == 1:
        return f"All currents are sinusoidal at {listed} Hz; values are rms."
    return (
        f"Currents flow at {listed} Hz; values are rms. Fields of different frequencies are combined as root sum "
        "square, their losses added."
    )


def _tray_table(result: Result) -> Table:
    rows = []
    for tray in result.study.trays:
        shapes = [part.shape for part in result.cross_section.parts if is_of(part.name, tray.name)]
        outline = np.vstack([boundary_loops(shape)[0] for shape in shapes])
        width, height = 1e3 * np.ptp(outline, axis=0)
        cover = "none" if tray.cover is None else "in contact" if tray.cover == "closed" else "standing off"
        sizes = (f"{width:.6g}", f"{height:.6g}", f"{tray.thickness * 1e3:.4g}")
        rows.append((tray.name, tray.profile, tray.material, *sizes, cover))
    return Table(
        "Trays",
        (
            Column("Tray"),
            Column("Profile"),
            Column("Material"),
            Column("Width over all", "mm"),
            Column("Height over all", "mm"),
            Column("Thickness", "mm"),
            Column("Cover"),
        ),
        tuple(rows),
    )


def _cable_table(result: Result) -> Table:
    study = result.study
    used = {circuit.name: circuit.cable for circuit in study.circuits}
    constructions = {used[placed.circuit]: placed.layers for placed in result.cross_section.cables}
    return Table(
        "Cables",
        (
            Column("Cable"),
            Column("Conductor material"),
            Column("Area", "mm²"),
            Column("Conductor diameter", "mm"),
            Column("Temperature", "°C"),
            Column("Layers around it, from the inside out"),
            Column("Diameter over all", "mm"),
        ),
        tuple(
            (
                name,
                study.cables[name].conductor.material,
                f"{study.cables[name].conductor.area * 1e6:.6g}",
                plain(2e3 * construction.conductor_radius, 3),
                f"{study.cables[name].conductor.temperature:g}",
                _layers(study.cables[name], construction),
                plain(1e3 * construction.diameter, 3),
            )
            for name, construction in constructions.items()
        ),
    )


def _layers(cable: Cable, construction: CableConstruction) -> str:
    words = []
    for layer, (inner, outer) in construction.layers.items():
        if layer != CONDUCTOR:
            metal = f" ({getattr(cable, layer).material})" if layer in METAL_LAYERS else ""
            words.append(f"{layer} {1e3 * (outer - inner):.3g}\u202fmm{metal}")
    return ", ".join(words)


def _material_table(result: Result) -> Table:
    """Distinct materials with the parts that are of them."""
    found: dict[tuple[str, ...], list[str]] = {}
    for part in result.cross_section.parts:
        name, temperature = _stated(result.study, part)
        owner = part.name if part.cable is None else f"{part.cable.circuit} {part.kind}s"
        row = _material_row(name, temperature, part.material, part.source, result.cross_section.frequency)
        owners = found.setdefault(row, [])
        if owner not in owners:
            owners.append(owner)
    return Table(
        "Materials as computed",
        (
            Column("Parts"),
            Column("Material"),
            Column("Temperature", "°C"),
            Column("Conductivity", "MS/m"),
            Column("Relative permeability", "–"),
            Column("Skin depth", "mm"),
            Column("Source"),
        ),
        tuple((", ".join(owners), *row) for row, owners in found.items()),
        "Conductors: the conductivity of a homogeneous circle with the conductor's dc resistance.",
    )


def _stated(study: Study, part: StudyPart) -> tuple[str, float]:
    """Material and temperature [degC] that the study states for a part."""
    if part.cable is not None:
        circuit = next(circuit for circuit in study.circuits if circuit.name == part.cable.circuit)
        conductor = study.cables[circuit.cable].conductor
        layer = getattr(study.cables[circuit.cable], part.kind)
        own = layer.temperature
        return layer.material, conductor.temperature if own is None else own
    others = (*study.trays, *getattr(study, "metalwork", ()))
    for owner in others:
        if is_of(part.name, owner.name):
            return owner.material, getattr(owner, "temperature", REFERENCE_TEMPERATURE)
    return NONE, REFERENCE_TEMPERATURE


def _material_row(name: str, temperature: float, material: Material, source: str, frequency: float) -> tuple[str, ...]:
    return (
        name,
        f"{temperature:g}",
        significant(material.conductivity, MEGASIEMENS_PER_METRE),
        f"{complex(material.relative_permeability).real:.6g}",
        significant(skin_depth(material, frequency), MILLIMETRE, 3),
        source,
    )
