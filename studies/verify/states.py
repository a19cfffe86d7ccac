"""A cross-section solved by finite elements or, where all is round, by the series: voltages, currents, losses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.earth import EarthReturn
from fem.field import FieldProbe
from fem.losses import losses
from fem.materials import Material, skin_depth
from fem.mesh import RegionMesh
from fem.multipole import RoundPart, solve_round_parts
from fem.polarisation import resultant
from fem.solve import UnitFields, solve_unit_voltages
from fem.ties import Drive, Tie, drive
from geometry.meshing import mesh_section
from geometry.shapes import Disc, Region, Section, Tube
from geometry.sizing import MeshSizes

FINENESS = 2.0
"""Fineness of the meshes of the checks: that of a study's second or third mesh."""
FINE = 3.0
"""Fineness where the skin depth is a small part of the metal, and of a wide plate."""

MESH = 5e-4
"""Accepted error of a mesh: a tenth of the 0.5 % that a study is held to. [-]"""
MESH_REASON = "a tenth of the 0.5 % that a study is held to; the meshes keep well below it"
"""Why."""


@dataclass(frozen=True)
class State:
    """Electrical state of named parts."""

    names: tuple[str, ...]
    state: Drive
    losses: Floats
    """Loss of each part, shape (N,). [W/m]"""

    def voltage(self, part: str) -> complex:
        """Voltage drop per metre of a part. [V/m]"""
        return complex(self.state.voltages[self.names.index(part)])

    def current(self, part: str) -> complex:
        """Current of a part. [A]"""
        return complex(self.state.currents[self.names.index(part)])

    def impedance(self, part: str) -> complex:
        """Voltage over current of a part. [ohm/m]"""
        return self.voltage(part) / self.current(part)

    def loss(self, part: str) -> float:
        """Loss of a part. [W/m]"""
        return float(self.losses[self.names.index(part)])

    def resistance(self, part: str) -> float:
        """Loss of a part over its current squared. [ohm/m]"""
        return self.loss(part) / abs(self.current(part)) ** 2


@dataclass(frozen=True)
class ElementState(State):
    """The same with the finite-element solution behind it."""

    fields: UnitFields

    def field(self, points: Floats) -> Complexes:
        """Flux density (Bx, By) at points (q, 2) [m], shape (q, 2). [T]"""
        return FieldProbe(self.fields).flux_density(self.fields.potential(self.state.voltages), points)

    def magnitude(self, points: Floats) -> Floats:
        """Resultant rms flux density at points (q, 2) [m], shape (q,). [T]"""
        return resultant(self.field(points))


def solve_mesh(
    mesh: RegionMesh,
    materials: Mapping[str, Material],
    frequency: float,
    ties: Sequence[Tie],
    reference_radius: float | None = None,
    earth: EarthReturn | None = None,
) -> ElementState:
    """Solve a mesh with the given ties of its conducting regions."""
    fields = solve_unit_voltages(mesh, materials, frequency, reference_radius=reference_radius, earth=earth)
    state = drive(fields.admittance, fields.part_names, ties)
    return ElementState(fields.part_names, state, losses(fields, state.voltages)[0].total, fields)


def elements(
    parts: Sequence[RoundPart],
    frequency: float,
    ties: Sequence[Tie],
    fineness: float = FINENESS,
    reference_radius: float | None = None,
    earth: EarthReturn | None = None,
) -> ElementState:
    """Solve round parts by finite elements on a mesh made as a study's."""
    materials = {part.name: Material(part.conductivity, part.relative_permeability) for part in parts}
    mesh = mesh_section(Section(round_regions(parts, materials, frequency)), MeshSizes(fineness=fineness))
    return solve_mesh(mesh, materials, frequency, ties, reference_radius, earth)


def series(
    parts: Sequence[RoundPart], frequency: float, ties: Sequence[Tie], reference_radius: float = 1000.0
) -> State:
    """Solve round parts by the multipole series."""
    solution = solve_round_parts(parts, frequency, reference_radius)
    names = tuple(part.name for part in parts)
    state = drive(solution.admittance, names, ties)
    return State(names, state, solution.losses(state.voltages) + solution.magnetic_losses(state.voltages))


def wires(axes: Floats, radius: float, conductivity: float) -> list[RoundPart]:
    """Round wires "1", "2" ... of a radius [m] and a conductivity [S/m] at axes (n, 2) [m]."""
    return [
        RoundPart(f"{k}", (float(x), float(y)), radius, 0.0, conductivity) for k, (x, y) in enumerate(axes, start=1)
    ]


def round_regions(
    parts: Sequence[RoundPart], materials: Mapping[str, Material], frequency: float
) -> tuple[Region, ...]:
    """Round parts as regions to be meshed for their skin depths."""
    return tuple(
        Region(
            part.name,
            Tube(part.centre, part.inner_radius, part.outer_radius)
            if part.inner_radius > 0
            else Disc(part.centre, part.outer_radius),
            skin_depth(materials[part.name], frequency),
        )
        for part in parts
    )


def balanced(names: Sequence[str], current: float = 1.0) -> tuple[Tie, ...]:
    """Ties that drive three parts with a balanced positive-sequence current [A]: L1, L2, L3."""
    turns = np.exp(-2j * np.pi / 3 * np.arange(3))
    return tuple(Tie((name,), complex(current * turn)) for name, turn in zip(names, turns, strict=True))
