"""Capacitances by finite elements against exact ones."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.constants import epsilon_0

from fem.electrostatic import (
    UnitPotentials,
    nodes_of,
    nodes_within,
    solve_unit_potentials,
)
from geometry.meshing import mesh_section
from geometry.shapes import Disc, Point, Region, Section, Tube, Wall
from geometry.sizing import MeshSizes


def bare_wires(places: list[Point], radius: float, fineness: float = 1.0, earth: Wall | None = None) -> UnitPotentials:
    regions = [Region(f"w{k}", Disc(place, radius)) for k, place in enumerate(places)]
    regions += [Region("earth", earth)] if earth is not None else []
    mesh = mesh_section(Section(tuple(regions)), MeshSizes(fineness=fineness))
    earthed = nodes_of(mesh, ("earth",)) if earth is not None else None
    return solve_unit_potentials(
        mesh, np.ones(len(mesh.triangles)), {f"w{k}": nodes_of(mesh, (f"w{k}",)) for k in range(len(places))}, earthed
    )


def coaxial(fineness: float, permittivity: float = 2.5) -> float:
    """Conductor of 10 mm radius in a screen of 20 to 21 mm. [F/m]"""
    insulation = Region("insulation", Tube((0.1, 0.2), 0.01, 0.0199))
    screen = Region("screen", Tube((0.1, 0.2), 0.02, 0.021))
    mesh = mesh_section(Section((insulation, screen)), MeshSizes(fineness=fineness))
    # the hair between insulation and screen is insulation too
    potentials = solve_unit_potentials(
        mesh,
        np.full(len(mesh.triangles), permittivity),
        {"core": nodes_within(mesh, (0.1, 0.2), 0.01)},
        nodes_of(mesh, ("screen",)),
    )
    return float(potentials.capacitance[0, 0])


def pair_capacitance(found: UnitPotentials) -> float:
    """Capacitance between two wires that carry opposite charges. [F/m]"""
    inverse = np.linalg.inv(found.capacitance)
    return float(1 / (inverse[0, 0] - inverse[0, 1] - inverse[1, 0] + inverse[1, 1]))


def test_coaxial_cable_tends_to_its_formula_at_fourth_order() -> None:
    exact = 2 * np.pi * epsilon_0 * 2.5 / np.log(2)
    errors = [coaxial(fineness) / exact - 1 for fineness in (1.0, 2.0, 4.0)]
    # the energy of quadratic elements with quadratic arcs is of fourth order; the layers' spacing is not quite halved
    assert np.log2(abs(errors[1] / errors[2])) == pytest.approx(4, abs=0.5)
    assert abs(errors[2]) < 1e-6


@pytest.mark.parametrize("spacing", [0.03, 0.1, 0.5])
def test_two_wires_have_their_exact_capacitance(spacing: float) -> None:
    exact = np.pi * epsilon_0 / np.arccosh(spacing / 0.02)
    coarse, fine = (
        pair_capacitance(bare_wires([(0.0, 0.0), (spacing, 0.0)], 0.01, fineness)) / exact - 1
        for fineness in (1.0, 2.0)
    )
    # seen 8e-5 at most on the ordinary mesh; half the size takes a factor above 4 off
    assert abs(coarse) < 3e-4
    assert abs(fine) < abs(coarse) / 4


def test_wire_over_a_plane_tends_to_arccosh_with_the_width_of_the_plane() -> None:
    exact = 2 * np.pi * epsilon_0 / np.arccosh(0.05 / 0.01)
    errors = []
    for half in (0.25, 0.5):
        plane = Wall(((half, -0.002), (-half, -0.002)), ((half, 0.0), (-half, 0.0)))
        errors.append(float(bare_wires([(0.0, 0.05)], 0.01, 2.0, plane).capacitance[0, 0] / exact - 1))
    # what a plane of half-width W leaves out at height h is of order (h/W)^2
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.1)
    # the next order, and 1e-4 of the mesh at the edges of the plane
    assert abs((4 * errors[1] - errors[0]) / 3) < 5e-4


def test_maxwell_matrix_is_symmetric_with_charges_of_the_sign_of_an_earthed_body() -> None:
    plane = Wall(((0.3, -0.02), (-0.3, -0.02)), ((0.3, 0.0), (-0.3, 0.0)))
    c = bare_wires([(-0.06, 0.03), (0.0, 0.03), (0.04, 0.06)], 0.01, 1.0, plane).capacitance
    assert np.abs(c - c.T).max() < 1e-12 * c.max()  # rounding
    # charges induced on an earthed body have the opposite sign, and together are less than the charge that induces them
    between = c - np.diag(np.diag(c))
    assert np.all(between <= 0)
    assert np.all(between[~np.eye(3, dtype=bool)] < 0)
    assert np.all(np.diag(c) > -between.sum(axis=1))


def test_capacitance_of_an_enclosed_field_is_in_proportion_to_the_permittivity() -> None:
    # exact in the discrete system, rounding only; the outside of the screen has no part in it
    assert coaxial(1.0, 5.0) == pytest.approx(2 * coaxial(1.0, 2.5), rel=1e-12)


def test_layers_in_series_have_the_capacitance_of_the_series() -> None:
    mesh = mesh_section(
        Section(
            (
                Region("inner", Tube((0.0, 0.0), 0.01, 0.014)),
                Region("outer", Tube((0.0, 0.0), 0.0142, 0.0199)),
                Region("screen", Tube((0.0, 0.0), 0.02, 0.021)),
            )
        ),
        MeshSizes(fineness=2.0),
    )
    permittivity = np.where(mesh.regions == mesh.names.index("inner"), 2.5, 8.0)
    found = solve_unit_potentials(
        mesh, permittivity, {"core": nodes_within(mesh, (0.0, 0.0), 0.01)}, nodes_of(mesh, ("screen",))
    )
    exact = 2 * np.pi * epsilon_0 / (np.log(1.4) / 2.5 + np.log(2 / 1.4) / 8)
    # the interface is an arc of the mesh: as good as one layer
    assert found.capacitance[0, 0] == pytest.approx(exact, rel=1e-4)


def test_far_earth_matters_only_to_a_lone_charge() -> None:
    mesh = mesh_section(Section((Region("a", Disc((0.0, 0.0), 0.01)), Region("b", Disc((0.1, 0.0), 0.01)))))
    electrodes = {name: nodes_of(mesh, (name,)) for name in ("a", "b")}
    near, far = (
        solve_unit_potentials(mesh, np.ones(len(mesh.triangles)), electrodes, None, radius) for radius in (10.0, 1e4)
    )
    assert pair_capacitance(near) == pytest.approx(pair_capacitance(far), rel=1e-9)
    lone = [np.linalg.inv(found.capacitance)[0, 0] for found in (near, far)]
    # moving the earth out by a factor of 1000 adds ln(1000)/(2 pi eps0) to the potential of a charge
    assert lone[1] - lone[0] == pytest.approx(np.log(1000) / (2 * np.pi * epsilon_0), rel=1e-3)


def test_impossible_inputs_are_refused() -> None:
    mesh = mesh_section(Section((Region("a", Disc((0.0, 0.0), 0.01)),)))
    nodes, ones = nodes_of(mesh, ("a",)), np.ones(len(mesh.triangles))
    with pytest.raises(ValueError, match="at least one electrode"):
        solve_unit_potentials(mesh, ones, {})
    with pytest.raises(ValueError, match="above 0"):
        solve_unit_potentials(mesh, 0 * ones, {"a": nodes})
    with pytest.raises(ValueError, match="shape"):
        solve_unit_potentials(mesh, ones[:-1], {"a": nodes})
    with pytest.raises(ValueError, match="no node in common"):
        solve_unit_potentials(mesh, ones, {"a": nodes, "b": nodes[:3]})
    with pytest.raises(ValueError, match="no nodes"):
        solve_unit_potentials(mesh, ones, {"a": nodes[:0]})
    with pytest.raises(ValueError, match="no regions b"):
        nodes_of(mesh, ("b",))
