"""Layouts that the finite-element checks share, solved by finite elements and by the multipole series."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.checks import Checks, check_solution
from fem.field import FieldProbe
from fem.losses import Losses, losses
from fem.materials import Material, skin_depth
from fem.multipole import RoundPart, solve_round_parts
from fem.solve import UnitFields, solve_unit_voltages
from fem.ties import Drive, Tie, drive
from geometry.meshing import mesh_section
from geometry.section_mesh import SectionMesh
from geometry.shapes import Disc, Region, Section, Tube, Wall
from geometry.sizing import MeshSizes

COPPER = 5.8e7  # [S/m]
ALUMINIUM = 3.2e7  # [S/m]
STEEL = 6.0e6  # [S/m]
PHASES = tuple(np.exp(-2j * np.pi * k / 3) for k in range(3))  # positive sequence L1, L2, L3 [-]
REFERENCE = 1000.0  # radius on which a net current returns [m]


@dataclass(frozen=True)
class Layout:
    """A cross-section, its materials and what drives its parts."""

    section: Section
    materials: Mapping[str, Material]
    ties: tuple[Tie, ...]
    frequency: float  # [Hz]


@dataclass(frozen=True)
class Solution:
    """Fields of unit voltages and the state that the ties make of them."""

    layout: Layout
    mesh: SectionMesh
    fields: UnitFields
    drive: Drive
    losses: Losses
    checks: Checks

    @property
    def nodal(self) -> Complexes:
        """A at the mesh's nodes. [Wb/m]"""
        return self.fields.potential(self.drive.voltages)

    def field(self, points: Floats) -> Complexes:
        """(Bx, By) at points (q, 2) [m], shape (q, 2). [T]"""
        return FieldProbe(self.fields).flux_density(self.nodal, np.asarray(points, dtype=float))


@dataclass(frozen=True)
class Numbers:
    """What two methods are compared by."""

    losses: Floats  # of each part [W/m]
    currents: Complexes  # of each part [A]
    impedance: Complexes  # between the first part and each other one, zero net current, shape (N - 1, N - 1) [ohm/m]
    field: Complexes  # at points, shape (q, 2) [T]


def layout_of(
    rounds: Sequence[RoundPart],
    ties: Sequence[Tie],
    frequency: float,
    walls: Sequence[tuple[str, Wall, Material]] = (),
) -> Layout:
    """Layout of round parts and walls, each with its skin depth; parts in no tie are open."""
    solids: list[tuple[str, Disc | Tube | Wall, Material]] = [
        (part.name, _shape(part), Material(part.conductivity, part.relative_permeability)) for part in rounds
    ]
    solids += walls
    regions = tuple(Region(name, shape, skin_depth(material, frequency)) for name, shape, material in solids)
    materials = {name: material for name, _, material in solids}
    tied = {part for tie in ties for part in tie.parts}
    opened = tuple(Tie((name,)) for name, _, material in solids if name not in tied and material.conductivity > 0)
    return Layout(Section(regions), materials, (*ties, *opened), frequency)


def _shape(part: RoundPart) -> Disc | Tube:
    if part.inner_radius > 0:
        return Tube(part.centre, part.inner_radius, part.outer_radius)
    return Disc(part.centre, part.outer_radius)


def mesh_of(layout: Layout, fineness: float = 1.0, outer_ratio: float = MeshSizes.outer_ratio) -> SectionMesh:
    """Mesh of a layout."""
    return mesh_section(layout.section, MeshSizes(fineness=fineness, outer_ratio=outer_ratio))


def solve(layout: Layout, mesh: SectionMesh | float = 1.0, reference_radius: float = REFERENCE) -> Solution:
    """Solution on a mesh, or on the generated mesh of a fineness."""
    given = mesh if isinstance(mesh, SectionMesh) else mesh_of(layout, mesh)
    fields = solve_unit_voltages(given, layout.materials, layout.frequency, None, reference_radius)
    state = drive(fields.admittance, fields.part_names, layout.ties)
    loss, _ = losses(fields, state.voltages)
    return Solution(layout, given, fields, state, loss, check_solution(fields, state, loss))


def numbers(solution: Solution, points: Floats) -> Numbers:
    """What finite elements give."""
    return Numbers(
        solution.losses.total,
        solution.drive.currents,
        loop_impedances(solution.fields.admittance),
        solution.field(points),
    )


def multipole_numbers(rounds: Sequence[RoundPart], layout: Layout, points: Floats) -> Numbers:
    """What the multipole series gives for a layout of round parts, all conducting."""
    exact = solve_round_parts(rounds, layout.frequency, REFERENCE)
    state = drive(exact.admittance, [part.name for part in rounds], layout.ties)
    loss = exact.losses(state.voltages) + exact.magnetic_losses(state.voltages)
    return Numbers(
        loss, state.currents, loop_impedances(exact.admittance), exact.field(state.voltages, np.asarray(points))
    )


def loop_impedances(admittance: Complexes) -> Complexes:
    """Impedance matrix of the loops out through part k and back through part 0; no net current. [ohm/m]"""
    n = len(admittance)
    loops = np.vstack([-np.ones(n - 1), np.eye(n - 1)])
    return np.asarray(loops.T @ np.linalg.inv(admittance) @ loops, dtype=np.complex128)


def differences(found: Numbers, exact: Numbers) -> dict[str, float]:
    """Largest relative difference of each kind of number: each against itself, currents against the largest. [-]"""
    size = np.linalg.norm(exact.field, axis=1)
    result = {
        "loss": np.abs(found.losses / exact.losses - 1).max(),
        "current": np.abs(found.currents - exact.currents).max() / np.abs(exact.currents).max(),
        "field": (np.linalg.norm(found.field - exact.field, axis=1) / size).max(),
    }
    if exact.impedance.size:
        result["impedance"] = np.abs(found.impedance / exact.impedance - 1).max()
    return {name: float(value) for name, value in result.items()}


def assert_within(found: Mapping[str, float], bounds: Mapping[str, float]) -> None:
    """Every difference is within its bound, and every bound has a difference."""
    missed = {name: (found[name], bound) for name, bound in bounds.items() if not found[name] <= bound}
    assert not missed, f"(difference, bound): {missed}"


def wire(name: str, x: float, y: float, radius: float = 0.009, sigma: float = COPPER) -> RoundPart:
    """A solid conductor; lengths [m], conductivity [S/m]."""
    return RoundPart(name, (x, y), radius, 0.0, sigma)


def tube(
    name: str, x: float, y: float, inner: float, outer: float, sigma: float = COPPER, mu: complex = 1.0
) -> RoundPart:
    """A tube; lengths [m], conductivity [S/m]."""
    return RoundPart(name, (x, y), outer, inner, sigma, mu)


def three_wires(axes: Sequence[tuple[float, float]], radius: float = 0.009) -> list[RoundPart]:
    """Three conductors a, b and c."""
    return [wire(name, *axis, radius) for name, axis in zip("abc", axes, strict=True)]


def balanced(current: float = 100.0, names: Sequence[str] = "abc") -> list[Tie]:
    """A positive sequence of currents. [A]"""
    return [Tie((name,), current * turn) for name, turn in zip(names, PHASES, strict=True)]


FLAT = ((-0.056, 0.0), (0.0, 0.0), (0.056, 0.0))  # [m]
TREFOIL = tuple(
    (0.0125 / math.sin(math.pi / 3) * math.cos(t), 0.0125 / math.sin(math.pi / 3) * math.sin(t))
    for t in (7 * math.pi / 6, -math.pi / 6, math.pi / 2)
)  # cables of 25 mm that touch [m]


def screened(axes: Sequence[tuple[float, float]], wall: float = 2e-4) -> list[RoundPart]:
    """Three conductors in screens sa, sb and sc of a thickness. [m]"""
    cores = three_wires(axes)
    return cores + [tube("s" + core.name, *core.centre, 0.0107, 0.0107 + wall) for core in cores]
