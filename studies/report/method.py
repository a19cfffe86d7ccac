"""The sections on the subject of a study and on the method of its solution."""

from __future__ import annotations

from fem.groups import GroupedExterior
from geometry.cable import CableConstruction
from studies.answers.answers import Answers
from studies.answers.losses.current_words import current_blocks
from studies.report.metal_tables import metal_blocks
from studies.solve.levels import MeshLevel
from studies.study.cables import Cable, metal_share
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.blocks import Block, Section, Text
from studies.text.numbers import percent
from studies.text.table import Column, Table
from studies.text.units import CELSIUS, MILLIMETRE, NUMBER, PER_CENT, SQUARE_MILLIMETRE


def subject_section(result: Answers) -> Section:
    """The circuits and trays that were studied."""
    blocks: list[Block] = [*current_blocks(result), _cable_table(result), *metal_blocks(result)]
    return Section("What was studied", "subject", tuple(blocks))


def method_section(result: Answers) -> Section:
    """Meshes, tolerance and checks."""
    accuracy = result.accuracy
    meshes = Table("Meshes", MESHES, list(enumerate(accuracy.levels, 1)))
    checks = Table("Checks", CHECKS, [(*row, getattr(result.checks, row[1])) for row in MEANINGS])
    asked, reached = percent(accuracy.tolerance, signed=False), percent(accuracy.worst_error, signed=False)
    met = "meets it" if accuracy.met else "does not meet it"
    text = Text(
        (
            (
                "The magnetic vector potential was solved with quadratic finite elements, for all currents induced in "
                "conductors, metal layers, trays and metalwork. "
            )
            + _circles(result),
            (
                f"The mesh was refined until every reported number settled. The asked accuracy is {asked} %; the "
                f"largest error estimate, {reached} %, {met}. The ± of each number estimates its remaining "
                "numerical error."
            ),
        )
    )
    return Section("How the numbers were made", "method", (text, meshes, checks), is_appendix=True)


def _circles(result: Answers) -> str:
    """Where the mesh ends, and what couples meshes of groups."""
    exterior, section = result.fields.exterior, result.cross_section
    if isinstance(exterior, GroupedExterior):
        return (
            f"The solids lie in {len(exterior.members)} groups far from each other. Each group has a mesh of its own "
            "in a circle around it. Exact series outside the circles couple the groups and give the field up to "
            "infinity."
        )
    alone = "Outside a circle around the cross-section an exact series gives the field up to infinity."
    if section.one_mesh and section.far_groups() > 1:
        return f"{alone} Groups of solids far from each other share one mesh because of {section.one_mesh}."
    return alone


MESHES: tuple[Column[tuple[int, MeshLevel]], ...] = (
    Column("Mesh", lambda row: f"no. {row[0]}"),
    Column("Fineness", lambda row: row[1].fineness, NUMBER, digits=2),
    Column("Unknowns", lambda row: row[1].unknowns, NUMBER),
    Column("Triangles", lambda row: row[1].triangles, NUMBER),
    Column("Largest change from the mesh before", lambda row: row[1].worst_change, PER_CENT),
)
MEANINGS = (
    (
        "Power balance",
        "power_balance",
        (
            "Power fed to the parts against the loss in them. The discrete equations fulfil it exactly: it finds "
            "errors of assembly and post-processing, and does not judge the mesh."
        ),
    ),
    (
        "Reciprocity",
        "reciprocity",
        "Symmetry of the admittance matrix. It finds errors of the solver, and does not judge the mesh.",
    ),
    (
        "Ampère's law",
        "ampere_law",
        (
            "Circulation of the field around each part against its current. It depends on the mesh at the surface of "
            "the parts, where the field is least exact; numbers taken elsewhere are more exact."
        ),
    ),
)
"""Each check with its field in the results, and its meaning."""
CHECKS: tuple[Column[tuple[str, str, str, float]], ...] = (
    Column("Check", lambda row: row[0]),
    Column("Residual", lambda row: row[3], NUMBER, digits=2),
    Column("Meaning", lambda row: row[2]),
)
CABLES: tuple[Column[tuple[str, Cable, CableConstruction]], ...] = (
    Column("Cable", lambda row: row[0]),
    Column("Conductor material", lambda row: row[1].conductor.material),
    Column("Area", lambda row: row[1].conductor.area, SQUARE_MILLIMETRE, stated=True),
    Column("Conductor diameter", lambda row: 2 * row[2].conductor_radius, MILLIMETRE, digits=3),
    Column("Temperature", lambda row: row[1].conductor.temperature, CELSIUS, stated=True),
    Column("Layers around it, from the inside out", lambda row: _layers(row[1], row[2])),
    Column("Diameter over all", lambda row: row[2].diameter, MILLIMETRE, digits=3),
)


def _cable_table(result: Answers) -> Table[tuple[str, Cable, CableConstruction]]:
    used = {circuit.name: circuit.cable for circuit in result.study.circuits}
    laid = {used[placed.circuit]: placed.layers for placed in result.cross_section.cables}
    return Table("Cables", CABLES, [(name, result.study.cables[name], layers) for name, layers in laid.items()])


def _layers(cable: Cable, construction: CableConstruction) -> str:
    words = []
    for layer, (inner, outer) in construction.layers.items():
        if layer == CONDUCTOR:
            continue
        tube = f"{layer} {1e3 * (outer - inner):.3g}\u202fmm"
        if layer in METAL_LAYERS:
            own = getattr(cable, layer)
            share = metal_share(own, inner, outer)
            area = f", {1e6 * own.area:.4g}\u202fmm²" if own.area is not None else ""
            tube += f" ({own.material}{area})" + (f", {100 * share:.3g}\u202f% metal" if share < 1 - 1e-9 else "")
        words.append(tube)
    return ", ".join(words)
