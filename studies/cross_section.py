"""From a study to what is meshed and solved: solids, materials, parts and what drives them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fem.materials import Material, skin_depth
from fem.ties import Tie
from geometry.cable import CableConstruction
from geometry.clearance import Overlap, overlaps
from geometry.shapes import AIR, Disc, Point, Region, Section, Shape, Tube
from geometry.tray import Channel, channel_wall
from studies.conductor_data import DcResistance, dc_resistance
from studies.materials import conductivity_at
from studies.parts import CONDUCTOR, SCREEN, part_name
from studies.placement import bond_parts, circuit_axes, construction
from studies.problems import Problem, StudyError
from studies.study import Circuit, Study, Tray, material_of, phase_currents, screen_temperature

TRAY = "tray"

JACKET_TOLERANCE = 2e-5
"""Cables and trays may overlap by this much and still count as touching: positions are rounded. [m]"""

METAL_GAP = 5e-5
"""Least distance between two conducting parts that are not one. [m]"""


@dataclass(frozen=True)
class PlacedCable:
    """A cable in its place."""

    circuit: str
    position: int
    """Counted from 1 in the order of the circuit's phases."""
    phase: str
    axis: Point
    """[m]"""
    layers: CableConstruction

    @property
    def label(self) -> str:
        """What messages and figures call it."""
        return f"{self.circuit}.{self.position}"


@dataclass(frozen=True)
class StudyPart:
    """A conducting part of the study."""

    name: str
    kind: str
    """conductor, screen or tray."""
    shape: Shape
    material: Material
    dc_resistance: float
    """Per metre, at its temperature. [ohm/m]"""
    source: str
    """Where the resistance or conductivity comes from."""
    cable: PlacedCable | None = None


@dataclass(frozen=True)
class PhaseTie:
    """A phase of a circuit: the tie of its parallel conductors."""

    circuit: str
    phase: str
    tie: int
    """Index among the ties."""
    current: complex
    """[A]"""


@dataclass(frozen=True)
class CrossSection:
    """All that is meshed and solved."""

    cables: tuple[PlacedCable, ...]
    parts: tuple[StudyPart, ...]
    ties: tuple[Tie, ...]
    phases: tuple[PhaseTie, ...]
    frequency: float
    """[Hz]"""

    def section(self) -> Section:
        """The solids, with the skin depth that the mesh must resolve."""
        return Section(
            tuple(Region(part.name, part.shape, skin_depth(part.material, self.frequency)) for part in self.parts)
        )

    def materials(self) -> dict[str, Material]:
        """Material of each solid."""
        return {part.name: part.material for part in self.parts}

    def part(self, name: str) -> StudyPart:
        """The part of a name."""
        return next(part for part in self.parts if part.name == name)

    def conductors(self) -> tuple[StudyPart, ...]:
        """The cables' conductors, in order."""
        return tuple(part for part in self.parts if part.kind == CONDUCTOR)

    def net_current(self) -> complex:
        """Sum of all given currents; what is not zero returns far away. [A]"""
        return complex(sum(tie.current for tie in self.ties))


def cross_section(study: Study) -> CrossSection:
    """The cross-section of a study.

    Raises
    ------
    StudyError
        Where cables or trays overlap, metal touches metal, or a circuit lies partly beyond a tray's wall; all at once.
    """
    cables = placed_cables(study)
    problems = _unfit_problems(study)
    if problems:
        raise StudyError(problems)
    problems = [*_overlap_problems(study, cables), *_beyond_wall_problems(study, cables)]
    parts = (
        *(part for cable in cables for part in _cable_parts(study, cable)),
        *(_tray_part(study, tray) for tray in study.trays),
    )
    if not problems:
        problems = _metal_problems(study, parts)
    if problems:
        raise StudyError(problems)
    ties, phases = _ties(study, parts)
    return CrossSection(cables, parts, ties, phases, study.frequency)


def placed_cables(study: Study) -> tuple[PlacedCable, ...]:
    """Every cable of a study in its place, circuit by circuit."""
    return tuple(
        PlacedCable(circuit.name, position, phase, (float(x), float(y)), construction(study.cables[circuit.cable]))
        for circuit in study.circuits
        for position, (phase, (x, y)) in enumerate(zip(circuit.phases, circuit_axes(study, circuit), strict=True), 1)
    )


def tray_channel(tray: Tray) -> Channel:
    """A tray's profile."""
    return Channel(tray.rests_at, tray.inside_width, tray.inside_height, tray.thickness, tray.cover == "closed")


def conductor_resistance(study: Study, circuit: Circuit) -> DcResistance:
    """Dc resistance of the conductors of a circuit at their temperature, and its source. [ohm/m]"""
    conductor = study.cables[circuit.cable].conductor
    return dc_resistance(
        material_of(study, conductor.material), conductor.area, conductor.temperature, conductor.dc_resistance
    )


def _cable_parts(study: Study, cable: PlacedCable) -> list[StudyPart]:
    circuit = next(circuit for circuit in study.circuits if circuit.name == cable.circuit)
    kind = study.cables[circuit.cable]
    resistance = conductor_resistance(study, circuit)
    radius = cable.layers.conductor_radius
    permeability = material_of(study, kind.conductor.material).relative_permeability
    parts = [
        StudyPart(
            part_name(cable.circuit, cable.position, CONDUCTOR),
            CONDUCTOR,
            Disc(cable.axis, radius),
            Material(1 / (resistance.value * math.pi * radius**2), permeability),
            resistance.value,
            resistance.source,
            cable,
        )
    ]
    if kind.screen is not None:
        metal = material_of(study, kind.screen.material)
        tube = Tube(cable.axis, cable.layers.screen_inner_radius, cable.layers.screen_outer_radius)
        sigma = conductivity_at(metal, screen_temperature(kind))
        area = math.pi * (tube.outer_radius**2 - tube.inner_radius**2)
        name = part_name(cable.circuit, cable.position, SCREEN)
        parts.append(
            StudyPart(
                name,
                SCREEN,
                tube,
                Material(sigma, metal.relative_permeability),
                1 / (sigma * area),
                metal.source,
                cable,
            )
        )
    return parts


def _tray_part(study: Study, tray: Tray) -> StudyPart:
    metal = material_of(study, tray.material)
    width = tray.inside_width + 2 * tray.thickness
    area = tray.thickness * (width * (2 if tray.cover else 1) + 2 * tray.inside_height)
    material = Material(metal.conductivity, metal.relative_permeability)
    wall = channel_wall(tray_channel(tray))
    return StudyPart(tray.name, TRAY, wall, material, 1 / (metal.conductivity * area), metal.source)


def _ties(study: Study, parts: tuple[StudyPart, ...]) -> tuple[tuple[Tie, ...], tuple[PhaseTie, ...]]:
    ties: list[Tie] = []
    phases = []
    for circuit in study.circuits:
        for phase, current in phase_currents(circuit).items():
            positions = [position for position, label in enumerate(circuit.phases, 1) if label == phase]
            conductors = tuple(part_name(circuit.name, position, CONDUCTOR) for position in positions)
            phases.append(PhaseTie(circuit.name, phase, len(ties), current))
            ties.append(Tie(conductors, current))
    ties += [Tie(bond_parts(study, bond)) for bond in study.bonds]
    tied = {part for tie in ties for part in tie.parts}
    ties += [Tie((part.name,)) for part in parts if part.name not in tied]
    return tuple(ties), tuple(phases)


def _unfit_problems(study: Study) -> list[Problem]:
    """A tray with the name of the air, and metals colder than their temperature coefficient allows."""
    problems = [
        Problem(study.source_name, f'trays "{tray.name}" → name', "", "stands for all that is no solid", "another name")
        for tray in study.trays
        if tray.name == AIR
    ]
    for name, cable in study.cables.items():
        metals = [("conductor", cable.conductor.material, cable.conductor.temperature)]
        if cable.screen is not None:
            metals.append(("screen", cable.screen.material, screen_temperature(cable)))
        for layer, metal, temperature in metals:
            try:
                conductivity_at(material_of(study, metal), temperature)
            except ValueError as error:
                key = f"cables.{name} → {layer} → temperature"
                right = "a temperature, or a coefficient, that leaves a resistance above 0"
                problems.append(Problem(study.source_name, key, f"{temperature:g} degC", str(error), right))
    return problems


def _overlap_problems(study: Study, cables: tuple[PlacedCable, ...]) -> list[Problem]:
    bodies: list[tuple[str, Shape]] = [
        (f'circuits "{cable.circuit}" cable {cable.position}', Disc(cable.axis, cable.layers.outer_radius))
        for cable in cables
    ]
    bodies += [(f'trays "{tray.name}"', channel_wall(tray_channel(tray))) for tray in study.trays]
    return [_overlap_problem(study, overlap) for overlap in overlaps(bodies, JACKET_TOLERANCE)]


def _overlap_problem(study: Study, overlap: Overlap) -> Problem:
    return Problem(
        file=study.source_name,
        key=f"{overlap.first} and {overlap.second}",
        value="",
        wrong=f"overlap by {overlap.depth * 1e3:.3g} mm",
        right=f"{overlap.depth * 1e3:.3g} mm more between them, by rests_at, spacing, positions or the tray's size",
    )


def _metal_problems(study: Study, parts: tuple[StudyPart, ...]) -> list[Problem]:
    bodies = [(part.name, part.shape) for part in parts]
    return [
        Problem(
            file=study.source_name,
            key=f"{overlap.first} and {overlap.second}",
            value="",
            wrong=f"metal {max(-overlap.depth, 0) * 1e3:.3g} mm from metal; parts that touch are one conductor",
            right=f"a jacket or a gap of {METAL_GAP * 1e3:g} mm at least between them",
        )
        for overlap in overlaps(bodies, -METAL_GAP)
    ]


def _beyond_wall_problems(study: Study, cables: tuple[PlacedCable, ...]) -> list[Problem]:
    """A formation laid out by the program must not straddle a tray's wall: some cables in it, others beside it."""
    problems = []
    for circuit in study.circuits:
        if circuit.arrangement == "positions":
            continue
        own = [cable for cable in cables if cable.circuit == circuit.name]
        for tray in study.trays:
            inside = np.array([_between_walls(cable, tray) for cable in own])
            if not inside.any() or inside.all():
                continue
            outside = [cable for cable, within in zip(own, inside, strict=True) if not within]
            outside = [cable for cable in outside if _at_wall_height(cable, tray)]
            if not outside:
                continue
            beyond = max(abs(cable.axis[0] - tray.rests_at[0]) - tray.inside_width / 2 for cable in outside)
            listing = ", ".join(str(cable.position) for cable in outside)
            problems.append(
                Problem(
                    file=study.source_name,
                    key=f'circuits "{circuit.name}" cable {listing}',
                    value="",
                    wrong=f'beyond the walls of tray "{tray.name}" by {beyond * 1e3:.3g} mm, while others lie in it',
                    right='a wider tray, a smaller spacing, or arrangement = "positions" if it is meant so',
                )
            )
    return problems


def _between_walls(cable: PlacedCable, tray: Tray) -> bool:
    return abs(cable.axis[0] - tray.rests_at[0]) < tray.inside_width / 2 and _at_wall_height(cable, tray)


def _at_wall_height(cable: PlacedCable, tray: Tray) -> bool:
    above_floor = cable.axis[1] - tray.rests_at[1]
    return 0 < above_floor < tray.inside_height + cable.layers.outer_radius
