"""The cross-section of a study: solids, materials, parts and the currents and ties that drive them."""

from __future__ import annotations

from fem.earth import EarthReturn
from fem.ties import Tie
from geometry.shapes import AIR
from studies.data.materials import conductivity_at
from studies.section.cables import cable_parts, placed_cables
from studies.section.drawing import Drawn, read_drawing
from studies.section.parts import (
    CrossBond,
    CrossSection,
    PhaseTie,
    PlacedCable,
    StudyPart,
    is_of,
)
from studies.section.placement import metal_layers, tray_names
from studies.section.placement_problems import placement_problems
from studies.section.run_parts import JointTie
from studies.section.trays import metalwork_parts, solids_of_tray
from studies.study.bonds import CROSS_BONDED, EVERY_JOINT, Bond
from studies.study.cables import layer_temperature
from studies.study.circuits import phase_currents
from studies.study.file import Study
from studies.study.materials import material_of
from studies.study.parts import CONDUCTOR, CircuitParts, expand, joined_rails, named_parts, part_name, with_joined_rails
from studies.study.toml_text import lines_named
from studies.text.problems import Problem, StudyError


def cross_section(study: Study) -> CrossSection:
    """The cross-section of a study.

    Raises StudyError: If cables or trays overlap, metal touches metal, or a circuit lies partly beyond a tray's wall;
        lists all.
    """
    with lines_named(study.source_text):
        problems = _unfit_problems(study)
        if problems:
            raise StudyError(problems)
        drawn = read_drawing(study)
        cables = placed_cables(study, drawn)
        parts = (*(part for cable in cables for part in cable_parts(study, cable)), *_metal_parts(study, drawn))
        problems = placement_problems(study, cables, parts)
        if problems:
            raise StudyError(problems)
        if problems := _saturating_problems(study, parts):
            raise StudyError(problems)
    ties, phases, cross_bonds = _ties(study, cables, parts)
    rungs = tuple(filter(None, map(joined_rails, tray_names(study))))
    earth = None if study.earth is None else EarthReturn(study.earth.resistivity, study.earth.surface)
    scheme, together = study.phase_colours, _one_mesh(study)
    return CrossSection(
        cables, parts, ties, phases, study.frequency, cross_bonds, earth, rungs, scheme, one_mesh=together
    )


def _one_mesh(study: Study) -> str:
    """What all solids share one mesh for, however far apart; empty if they need not."""
    if study.earth is not None:
        return "the return through the earth"
    return "" if study.course is None else "the run in space"


def _metal_parts(study: Study, drawn: Drawn | None) -> list[StudyPart]:
    """Trays, covers and metalwork; one error lists all dimensions that do not fit together."""
    parts: list[StudyPart] = []
    problems: list[Problem] = []
    for tray in study.trays:
        try:
            parts += solids_of_tray(study, tray)
        except ValueError as error:
            problems.append(_misfit(study, f'trays "{tray.name}"', error))
    for work in study.metalwork:
        try:
            parts += metalwork_parts(study, work, drawn)
        except StudyError as error:
            problems += error.problems
        except ValueError as error:
            problems.append(_misfit(study, f'metalwork "{work.name}"', error))
    if problems:
        raise StudyError(problems)
    return parts


def _misfit(study: Study, key: str, error: ValueError) -> Problem:
    if isinstance(error, StudyError):
        return error.problems[0]
    return study.problem(key, str(error), "dimensions that fit together")


def _ties(
    study: Study, cables: tuple[PlacedCable, ...], parts: tuple[StudyPart, ...]
) -> tuple[tuple[Tie, ...], tuple[PhaseTie, ...], tuple[CrossBond, ...]]:
    """Ties of all parts: phases, bonds, rails joined by rungs, and the other parts without net current."""
    ties: list[Tie] = []
    phases: list[PhaseTie] = []
    cross_bonds: list[CrossBond] = []
    names, trays = _bond_names(study, cables, parts), tray_names(study)
    bonded = {part for bond in study.bonds for part in expand(bond.parts, names)}
    for circuit in study.circuits:
        for phase, current in phase_currents(circuit).items():
            own = [cable for cable in cables if cable.circuit == circuit.name and cable.phase == phase]
            conductors = tuple(part_name(circuit.name, cable.position, CONDUCTOR) for cable in own)
            if not bonded.intersection(conductors):
                phases.append(PhaseTie(circuit.name, phase, len(ties), current))
                ties.append(Tie(conductors, current))
    for bond in study.bonds:
        tied = with_joined_rails(expand(bond.parts, names), trays)
        if bond.kind == CROSS_BONDED:
            cross_bonds += _cross_bonds(bond, tied)
            ties += [Tie((part,)) for part in tied]
        else:
            kind = JointTie if bond.kind == EVERY_JOINT else Tie
            ties.append(kind(tied, impedance=_closing(bond)))
    found = {part for tie in ties for part in tie.parts}
    ties += [Tie(rails) for rails in map(joined_rails, trays) if rails and found.isdisjoint(rails)]
    found = {part for tie in ties for part in tie.parts}
    ties += [Tie((part.name,)) for part in parts if part.name not in found]
    return tuple(ties), tuple(phases), tuple(cross_bonds)


def _bond_names(
    study: Study, cables: tuple[PlacedCable, ...], parts: tuple[StudyPart, ...]
) -> dict[str, tuple[str, ...]]:
    """Names that bonds use, each with its parts; a drawing may hold more parts than the study file lists."""
    circuits = [
        CircuitParts(
            circuit.name,
            tuple(cable.phase for cable in cables if cable.circuit == circuit.name),
            tuple(metal_layers(study.cables[circuit.cable])),
        )
        for circuit in study.circuits
    ]
    names = named_parts(circuits, tray_names(study), [])
    for work in study.metalwork:
        own = tuple(part.name for part in parts if part.name == work.name or part.name.startswith(f"{work.name}."))
        names[work.name] = own
        names |= {name: (name,) for name in own}
    return names


def _cross_bonds(bond: Bond, tied: tuple[str, ...]) -> list[CrossBond]:
    """One cross bond for each three layers of one kind of one circuit, in the order of their positions."""
    groups: dict[tuple[str, str], list[str]] = {}
    for part in tied:
        circuit, _, layer = part.rsplit(".", 2)
        groups.setdefault((circuit, layer), []).append(part)
    closing = _closing(bond)
    return [CrossBond(tuple(group[k : k + 3]), closing) for group in groups.values() for k in range(0, len(group), 3)]


def _closing(bond: Bond) -> complex | None:
    """Series impedance for the return of the sum of a bond's currents; None if they sum to zero. [ohm/m]"""
    if bond.impedance is None:
        return 0j if bond.earth else None
    return complex(*bond.impedance)


def _saturating_problems(study: Study, parts: tuple[StudyPart, ...]) -> list[Problem]:
    """Saturating steel beside direct currents, which shift its permeability."""
    if not study.has_direct_currents():
        return []
    named = [("trays", tray) for tray in study.trays] + [("metalwork", work) for work in study.metalwork]
    right = "a material with a relative_permeability and no curve: a direct current shifts the permeability"
    return [
        study.problem(f'{table} "{own.name}" → material', "saturates, beside a direct_current", right, own.material)
        for table, own in named
        if any(part.steel is not None and is_of(part.name, own.name) for part in parts)
    ]


def _unfit_problems(study: Study) -> list[Problem]:
    """Names reserved for the air, and metals colder than their temperature coefficient allows."""
    named = [("trays", tray.name) for tray in study.trays] + [("metalwork", work.name) for work in study.metalwork]
    problems = [
        study.problem(f'{table} "{name}" → name', "is reserved for the air", "another name")
        for table, name in named
        if name == AIR
    ]
    metals = [(f'trays "{tray.name}"', tray.material, tray.temperature) for tray in study.trays]
    metals += [(f'metalwork "{work.name}"', work.material, work.temperature) for work in study.metalwork]
    for name, cable in study.cables.items():
        metals.append((f"cables.{name} → conductor", cable.conductor.material, cable.conductor.temperature))
        metals += [
            (f"cables.{name} → {layer}", own.material, layer_temperature(cable, own))
            for layer, own in metal_layers(cable).items()
        ]
    for place, metal, temperature in metals:
        try:
            conductivity_at(material_of(study, metal), temperature)
        except ValueError as error:
            if isinstance(error, StudyError):
                problems += error.problems
                continue
            right = "a temperature, or a coefficient, that leaves a resistance above 0"
            problems.append(study.problem(f"{place} → temperature", str(error), right, f"{temperature:g} degC"))
    return problems
