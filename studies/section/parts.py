"""Contents of a cross-section: placed cables, conducting parts, phases."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from fem.earth import EarthReturn
from fem.magnetisation import Steel
from fem.materials import Material, skin_depth
from fem.ties import Tie
from geometry.cable import CableConstruction
from geometry.groups import placed_groups
from geometry.shapes import Point, Region, Section, Shape
from studies.study.parts import CONDUCTOR
from studies.study.phases import PHASE_COLOURS

TRAY = "tray"
METALWORK = "metalwork"
KINDS = ("conductor", "screen", "sheath", "armour", TRAY, METALWORK)
"""Kinds of parts, in the order in which tables list them."""

GROUPED_FROM = 24
"""Solids from which on groups far apart have meshes of their own; one mesh costs little for fewer."""


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
        """Its name in messages and figures."""
        return f"{self.circuit}.{self.position}"


@dataclass(frozen=True)
class StudyPart:
    """A conducting part of the study."""

    name: str
    kind: str
    """One of `KINDS`."""
    shape: Shape
    material: Material
    """With the permeability at low field if it saturates."""
    dc_resistance: float
    """Per metre, at its temperature. [ohm/m]"""
    source: str
    """Source of the resistance or conductivity."""
    cable: PlacedCable | None = None
    steel: Steel | None = None
    """Its saturation; None if it does not saturate."""
    skin_coefficient: float = 1.0
    """ks of IEC 60287-1-1, of conductors. [-]"""
    proximity_coefficient: float = 1.0
    """kp of IEC 60287-1-1, of conductors. [-]"""
    open_area: float = 0.0
    """Share of holes in a homogenised sheet. [-]"""


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
class CrossBond:
    """Screens transposed in three equal minor sections, by position in each of their circuits."""

    parts: tuple[str, ...]
    """Three parts; each loop runs through all three of them."""
    impedance: complex | None = None
    """Impedance for the return of the sum of the loop currents; None if they sum to zero. [ohm/m]"""


@dataclass(frozen=True)
class CrossSection:
    """Everything that is meshed and solved."""

    cables: tuple[PlacedCable, ...]
    parts: tuple[StudyPart, ...]
    ties: tuple[Tie, ...]
    phases: tuple[PhaseTie, ...]
    frequency: float
    """[Hz]"""
    cross_bonds: tuple[CrossBond, ...] = ()
    earth: EarthReturn | None = None
    rungs: tuple[tuple[str, ...], ...] = ()
    """Pairs of rails that the rungs of a ladder join along the run, each within one tie."""
    phase_colours: str = next(iter(PHASE_COLOURS))
    """Scheme of the colours of the phases in figures."""
    one_mesh: str = ""
    """What all solids share one mesh for, however far apart they are; empty if they need not."""
    labels: dict[str, str] = field(default_factory=dict, compare=False)
    """Names of parts in messages, if clearer than their own."""

    @property
    def apart(self) -> bool:
        """Whether groups of solids far from each other have meshes of their own."""
        return not self.one_mesh and len(self.parts) >= GROUPED_FROM

    def far_groups(self) -> int:
        """Number of groups of solids far from each other; 1 where the solids are too few to be parted."""
        return len(placed_groups(self.section())) if len(self.parts) >= GROUPED_FROM else 1

    def section(self) -> Section:
        """The solids, each with the skin depth for the mesh to resolve."""
        return Section(
            tuple(Region(part.name, part.shape, skin_depth(part.material, self.frequency)) for part in self.parts)
        )

    def materials(self) -> dict[str, Material]:
        """Material of each solid."""
        return {part.name: part.material for part in self.parts}

    def steels(self) -> dict[str, Steel]:
        """Saturating steel by solid."""
        return {part.name: part.steel for part in self.parts if part.steel is not None}

    def part(self, name: str) -> StudyPart:
        """The part of a name."""
        return next(part for part in self.parts if part.name == name)

    def return_radius(self) -> complex | None:
        """Complex radius at which line formulas return a net current through the earth; None without an earth. [m]"""
        return None if self.earth is None else self.earth.equivalent_radius(2 * math.pi * self.frequency)

    def conductors(self) -> tuple[StudyPart, ...]:
        """The cables' conductors, in order."""
        return tuple(part for part in self.parts if part.kind == CONDUCTOR)

    def net_current(self) -> complex:
        """Sum of all given currents, which returns far away. [A]"""
        return complex(sum(tie.current for tie in self.ties))


def parallel_conductors(section: CrossSection) -> frozenset[str]:
    """Names of the conductors that share their phase's current with others."""
    ties = [section.ties[phase.tie] for phase in section.phases]
    return frozenset(part for tie in ties if len(tie.parts) > 1 for part in tie.parts)


def is_of(part: str, owner: str) -> bool:
    """Whether a part is the tray or metalwork of a name, or a piece of it."""
    return part == owner or part.startswith(f"{owner}.")
