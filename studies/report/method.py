"""What was computed and how as blocks."""

from __future__ import annotations

from collections.abc import Mapping

from geometry.cable import CableConstruction
from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.losses.current_words import current_blocks
from studies.report.metal_tables import metal_blocks
from studies.study.file import Cable
from studies.study.parts import ARMOUR, CONDUCTOR, METAL_LAYERS
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Grid, Head
from studies.text.numbers import fixed, percent, plain, power_of_ten


def subject_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
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
    blocks += [*current_blocks(result), _cable_table(result), *metal_blocks(result)]
    return Section("What was studied", "subject", tuple(blocks))


def method_section(result: Answers) -> Section:
    """Meshes, tolerance and checks."""
    accuracy, checks = result.accuracy, result.checks
    meshes = Grid(
        "Meshes",
        (
            Head("Mesh"),
            Head("Fineness", "–"),
            Head("Unknowns", "–"),
            Head("Triangles", "–"),
            Head("Largest change from the mesh before", "%"),
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
    tests = Grid(
        "Checks",
        (Head("Check"), Head("Residual", "–"), Head("What it tells")),
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
                "conductors, metal layers, trays and metalwork; outside a circle about the cross-section the field "
                "goes on to infinity by an exact series."
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


def _cable_table(result: Answers) -> Grid:
    study = result.study
    used = {circuit.name: circuit.cable for circuit in study.circuits}
    constructions = {used[placed.circuit]: placed.layers for placed in result.cross_section.cables}
    return Grid(
        "Cables",
        (
            Head("Cable"),
            Head("Conductor material"),
            Head("Area", "mm²"),
            Head("Conductor diameter", "mm"),
            Head("Temperature", "°C"),
            Head("Layers around it, from the inside out"),
            Head("Diameter over all", "mm"),
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
            fill = f", {100 * cable.armour.fill:g}\u202f% metal" if layer == ARMOUR and cable.armour is not None else ""
            words.append(f"{layer} {1e3 * (outer - inner):.3g}\u202fmm{metal}{fill}")
    return ", ".join(words)
