"""Currents out of place: lines in air exactly, and against the mesh of the moved conductor beside a plate."""

import numpy as np
import pytest

from fem.constants import mu_0
from fem.field import FieldProbe
from fem.materials import Material
from fem.moved_currents import ORDERS, Movable, move_powers, moved_currents
from fem.solve import UnitFields, solve_unit_voltages
from geometry.meshing import mesh_section
from geometry.shapes import Disc, Region, Section, wall_along
from geometry.sizing import MeshSizes

AXES = np.array([[0.0, 0.0], [0.05, 0.02]])
RADIUS, BELOW = 5e-3, -12e-3
"""Of the conductors; height of the plate. [m]"""
COPPER, STEEL = Material(58e6), Material(6e6, 200.0)
POINTS = np.array([[0.3, 0.1], [-0.05, 0.04]])
GROUPS = (Movable("a", ("a",)), Movable("b", ("b",)))


def solved(axes: np.ndarray, with_plate: bool) -> UnitFields:
    regions = [Region(name, Disc((x, y), RADIUS), 9e-3) for name, (x, y) in zip("ab", axes.tolist(), strict=True)]
    materials = {"a": COPPER, "b": COPPER}
    if with_plate:
        regions.append(Region("plate", wall_along([(-0.06, BELOW), (0.1, BELOW)], 2e-3), 2e-3))
        materials["plate"] = STEEL
    mesh = mesh_section(Section(tuple(regions)), MeshSizes(fineness=1.5))
    return solve_unit_voltages(mesh, materials, 50.0, {name: (name,) for name in materials})


def field_of(fields: UnitFields, currents: tuple[float, ...]) -> np.ndarray:
    voltages = np.linalg.solve(fields.admittance, np.array(currents)).astype(np.complex128)
    return FieldProbe(fields).flux_density(fields.potential(voltages), POINTS)


def test_in_air_a_moved_current_is_a_moved_line() -> None:
    fields = solved(AXES, with_plate=False)
    moved = moved_currents(fields, GROUPS, AXES)
    move = 2e-3 + 1e-3j
    powers = move_powers(np.array([move, 0]))[0]
    assert len(powers) == 2 * ORDERS
    nodal = np.ascontiguousarray(moved.potentials[:, 0] @ powers)
    change = FieldProbe(fields).flux_density(nodal, POINTS)

    def line(x: float, y: float) -> np.ndarray:
        away = POINTS - (x, y)
        turned = np.stack([-away[:, 1], away[:, 0]], axis=1)
        return np.asarray(mu_0 / (2 * np.pi) * turned / (away**2).sum(axis=1)[:, None])

    exact = line(move.real, move.imag) - line(0.0, 0.0)
    # the next multipole is (d/D)^3 of the first, D = 64 mm; elements
    assert np.linalg.norm(change - exact, axis=1) == pytest.approx(0, abs=2e-3 * np.linalg.norm(exact, axis=1).min())
    between, to_fixed = moved.linkage_changes(np.array([[move, 0]]))
    assert to_fixed.shape == (1, 2, 0)
    logarithm = -mu_0 / (2 * np.pi) * np.log(abs(0.05 + 0.02j - move) / abs(0.05 + 0.02j))
    assert between[0] == pytest.approx(np.array([[0, logarithm], [logarithm, 0]]), abs=2e-3 * abs(logarithm))


def test_beside_a_plate_it_is_what_the_moved_mesh_has() -> None:
    fields = solved(AXES, with_plate=True)
    moved = moved_currents(fields, GROUPS, AXES)
    move = 1e-3 + 2e-3j
    again = solved(AXES + np.array([(move.real, move.imag), (0.0, 0.0)]), with_plate=True)
    powers = move_powers(np.array([move, 0]))[0]
    nodal = np.ascontiguousarray(moved.potentials[:, 0] @ powers)
    currents = (1.0, -1.0, 0.0)
    change = field_of(again, currents) - field_of(fields, currents)
    found = FieldProbe(fields).flux_density(nodal, POINTS)
    # eddy currents of the conductors, (r/skin depth)^2 of their metal's field, and the meshes
    assert np.linalg.norm(found - change, axis=1).max() < 0.03 * np.linalg.norm(change, axis=1).max()
    between, to_fixed = moved.linkage_changes(np.array([[move, 0]]))
    impedance = np.linalg.inv(again.admittance) - np.linalg.inv(fields.admittance)
    reactive = 2j * np.pi * 50 * np.block([[between[0], to_fixed[0]], [to_fixed[0].T, np.zeros((1, 1))]])
    own, other = 2j * np.pi * 50 * between[0, 0, 0], impedance[0, 0]
    assert abs(own - other) < 0.12 * abs(other)  # proximity of the conductor to the steel is left out
    assert abs(reactive[0, 2] - impedance[0, 2]) < 0.05 * abs(impedance[0, 2])
    assert moved.fixed == ("plate",)
