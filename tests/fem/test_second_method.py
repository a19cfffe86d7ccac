"""Finite elements against the multipole series, an exact method without a mesh; the harness against wrong numbers."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import spsolve

from fem.arrays import Complexes
from fem.exterior import exterior_of
from fem.multipole import RoundPart
from fem.ties import Tie, drive
from tests.fem.layouts import (
    FLAT,
    REFERENCE,
    STEEL,
    TREFOIL,
    Numbers,
    Solution,
    assert_within,
    balanced,
    differences,
    layout_of,
    loop_impedances,
    multipole_numbers,
    numbers,
    screened,
    solve,
    three_wires,
    tube,
    wire,
)

POINTS = np.array([(0.03, 0.02), (0.0, 0.05), (-0.09, 0.01), (0.15, 0.1), (0.5, -0.3), (3.0, 1.0)])  # in air [m]
BONDED = [*balanced(), Tie(("sa", "sb", "sc"))]
PAIR = [Tie(("a",), 100.0), Tie(("b",), -100.0)]
CASES: Mapping[str, tuple[list[RoundPart], list[Tie]]] = {
    "two wires 4 mm apart": ([wire("a", -0.011, 0), wire("b", 0.011, 0)], PAIR),
    "flat": (three_wires(FLAT), balanced()),
    "touching trefoil": (three_wires(TREFOIL), balanced()),
    "flat, open screens": (screened(FLAT), balanced()),
    "flat, bonded screens": (screened(FLAT), BONDED),
    "trefoil, bonded screens": (screened(TREFOIL), BONDED),
}


def steel_pipe(mu: complex) -> list[RoundPart]:
    """A conductor off the axis of a steel pipe, its return outside."""
    return [wire("a", 0.004, 0.002), tube("pipe", 0, 0, 0.02, 0.023, STEEL, mu), wire("b", 0.08, 0)]


def bounds_at(fineness: float, thick: bool) -> dict[str, float]:
    """What the mesh promises.

    Elements of 1.2 skin depths over the fineness at the surfaces: losses, quadratic in the field, 0.005 (h/delta)^4 as
    for a lone wire, a tenth of it where solids are thinner than a skin depth or two; impedances half of that, of which
    losses are a part; currents are shared by impedances; the field in air is of third order on the mesh of the air.
    """
    share = (1.5 / fineness) ** 3.3
    return {
        "loss": (2e-3 if thick else 2e-4) * share,
        "impedance": (1e-3 if thick else 1e-4) * share,
        "current": 1e-4 * share,
        "field": 3e-4 * share,
    }


@pytest.mark.parametrize("frequency", [50.0, 400.0, 2500.0])
@pytest.mark.parametrize("name", CASES)
def test_round_parts_have_the_losses_impedances_and_field_of_the_series(name: str, frequency: float) -> None:
    parts, ties = CASES[name]
    layout = layout_of(parts, ties, frequency)
    exact = multipole_numbers(parts, layout, POINTS)
    found = numbers(solve(layout, 1.5), POINTS)  # the coarsest mesh that a study reports from
    assert_within(differences(found, exact), bounds_at(1.5, thick=frequency > 1000))


@pytest.mark.parametrize("name", ["two wires 4 mm apart", "trefoil, bonded screens"])
def test_a_mesh_twice_as_fine_is_ten_times_closer_to_the_series(name: str) -> None:
    parts, ties = CASES[name]
    for frequency in (50.0, 2500.0):
        layout = layout_of(parts, ties, frequency)
        exact = multipole_numbers(parts, layout, POINTS)
        # 2^3.3 = 10: fourth order would be 16, third 8; every kind of number together
        found = numbers(solve(layout, 3.0), POINTS)
        assert_within(differences(found, exact), bounds_at(3.0, thick=frequency > 1000))


@pytest.mark.parametrize("mu", [300.0, 300 - 120j])
def test_a_magnetic_pipe_around_a_line_has_the_losses_of_the_series(mu: complex) -> None:
    parts = steel_pipe(mu)
    layout = layout_of(parts, PAIR, 50.0)
    exact = multipole_numbers(parts, layout, POINTS)
    for fineness in (1.5, 3.0):
        solution = solve(layout, fineness)
        assert_within(differences(numbers(solution, POINTS), exact), bounds_at(fineness, thick=True))
        hysteresis = bool(solution.losses.magnetic[1] > 0.1 * solution.losses.joule[1])
        assert hysteresis is isinstance(mu, complex)


def first_order(solution: Solution) -> Numbers:
    """The same layout by straight triangles and linear elements on the corners of a mesh: a method of lower order."""
    mesh, fields, omega = solution.mesh, solution.fields, solution.fields.omega
    used, corners = np.unique(mesh.triangles[:, :3], return_inverse=True)
    corners = corners.reshape(-1, 3)
    place = mesh.points[used][corners]
    along = np.roll(place, -1, axis=1) - np.roll(place, 1, axis=1)  # edge opposite each corner, turned to its slope
    area = 0.5 * (along[:, 0, 0] * along[:, 1, 1] - along[:, 0, 1] * along[:, 1, 0])
    nu = np.array([material.reluctivity for material in fields.materials])[mesh.regions]
    sigma = np.array([material.conductivity for material in fields.materials])[mesh.regions]
    stiffness = np.einsum("tai,tbi,t->tab", along, along, nu / (4 * area))
    mass = (1 + np.eye(3)) * (sigma * area / 12)[:, None, None]
    rows, columns = np.repeat(corners, 3, axis=1).ravel(), np.tile(corners, 3).ravel()
    size = len(used)
    system = sparse.csc_matrix(((stiffness + 1j * omega * mass).ravel(), (rows, columns)), shape=(size, size))
    ends = mesh.circle_edges()
    exterior = exterior_of(mesh, REFERENCE)
    to_corners = np.zeros((len(exterior.nodes), size))
    row = np.searchsorted(exterior.nodes, ends)
    column = np.searchsorted(used, ends[:, :2])
    to_corners[row[:, 0], column[:, 0]] = 1
    to_corners[row[:, 2], column[:, 0]] = to_corners[row[:, 2], column[:, 1]] = 0.5
    system = system + sparse.csc_matrix(to_corners.T @ exterior.block() @ to_corners)
    sources = np.zeros((size, len(fields.part_names)))
    for k, name in enumerate(fields.part_names):
        own = mesh.regions == mesh.names.index(name)
        np.add.at(sources[:, k], corners[own].ravel(), np.repeat(sigma[own] * area[own] / 3, 3))
    potentials: Complexes = spsolve(system.tocsc(), sources.astype(complex)).reshape(size, -1)
    admittance = np.diag(sources.sum(axis=0)) - 1j * omega * sources.T @ potentials
    state = drive(admittance, fields.part_names, solution.layout.ties)
    circle = exterior.functionals @ to_corners @ potentials @ state.voltages / np.pi
    circle[0] /= 2
    electric = state.voltages[np.maximum(fields.part_of_region()[mesh.regions], 0)]
    corner_field = electric[:, None] - 1j * omega * (potentials @ state.voltages)[corners]
    joule = np.einsum("ta,tab,tb->t", corner_field.conj(), mass, corner_field).real
    losses = [joule[mesh.regions == mesh.names.index(name)].sum() for name in fields.part_names]
    far = fields.exterior.field(circle, POINTS)
    return Numbers(np.array(losses), state.currents, loop_impedances(admittance), far)


@pytest.fixture(scope="module")
def compared() -> tuple[Solution, Numbers, Numbers]:
    """A solution, its numbers and the exact ones; points beyond the mesh alone count."""
    parts, ties = CASES["trefoil, bonded screens"]
    layout = layout_of(parts, ties, 400.0)
    solution = solve(layout, 1.5)
    return solution, numbers(solution, POINTS), multipole_numbers(parts, layout, POINTS)


def test_the_harness_accepts_the_right_numbers(compared: tuple[Solution, Numbers, Numbers]) -> None:
    assert_within(differences(compared[1], compared[2]), bounds_at(1.5, thick=True))


@pytest.mark.parametrize("kind", ["loss", "impedance", "current", "field"])
def test_the_harness_refuses_a_factor_of_two_and_a_wrong_sign(
    kind: str, compared: tuple[Solution, Numbers, Numbers]
) -> None:
    _, found, exact = compared
    name = {"loss": "losses", "impedance": "impedance", "current": "currents", "field": "field"}[kind]
    for factor in (2.0, 0.5, -1.0, 1.01):
        wrong = differences(replace(found, **{name: factor * getattr(found, name)}), exact)
        with pytest.raises(AssertionError, match=kind):
            assert_within(wrong, bounds_at(1.5, thick=True))


def test_the_harness_refuses_a_wrong_sign_of_the_frequency(compared: tuple[Solution, Numbers, Numbers]) -> None:
    solution, found, exact = compared
    backward = drive(solution.fields.admittance.conj(), solution.fields.part_names, solution.layout.ties)
    wrong = replace(found, currents=backward.currents, impedance=found.impedance.conj())
    with pytest.raises(AssertionError, match="impedance") as caught:
        assert_within(differences(wrong, exact), bounds_at(1.5, thick=True))
    assert "current" in str(caught.value)


def test_the_harness_refuses_a_first_order_solution(compared: tuple[Solution, Numbers, Numbers]) -> None:
    solution, found, exact = compared
    wrong = differences(first_order(solution), exact)
    for kind, bound in bounds_at(1.5, thick=True).items():
        with pytest.raises(AssertionError, match=kind):
            assert_within({**differences(found, exact), kind: wrong[kind]}, {kind: bound})
    # and is a proper solution of its order: sigma is lost with the corners cut off the circles, theta^2/6 = 1 %
    assert 0.003 < wrong["impedance"] < 0.1
    assert 0.01 < wrong["loss"] < 0.3


def test_a_bound_without_its_number_is_refused() -> None:
    with pytest.raises(KeyError):
        assert_within({"loss": 0.0}, {"loss": 1e-3, "field": 1e-3})
    with pytest.raises(AssertionError):
        assert_within({"loss": float("nan")}, {"loss": 1e-3})
