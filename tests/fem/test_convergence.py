"""Orders of convergence on meshes that are halved, and what the corners of steel sheet leave of them."""

import numpy as np
import pytest

from fem.arrays import Floats
from fem.materials import Material
from fem.mesh import gradients_at, shape_values
from fem.multipole import solve_round_parts
from fem.ties import Tie
from tests.channels import channel
from tests.fem.layouts import (
    FLAT,
    REFERENCE,
    STEEL,
    Layout,
    Solution,
    balanced,
    layout_of,
    mesh_of,
    solve,
    three_wires,
    wire,
)

# a quadrature of six points on the triangle, exact for fourth degree (Strang and Fix) [M]
_A, _B = 0.445948490915965, 0.091576213509771
RULE = np.array([[_A, _A], [1 - 2 * _A, _A], [_A, 1 - 2 * _A], [_B, _B], [1 - 2 * _B, _B], [_B, 1 - 2 * _B]])
WEIGHTS = np.repeat([0.223381589678011, 0.109951743655322], 3) / 2
FINENESS = (1.0, 2.0, 4.0)


def orders(errors: list[float]) -> Floats:
    """Order from each halving. [-]"""
    return -np.diff(np.log2(errors))


@pytest.fixture(scope="module")
def pair() -> list[Solution]:
    """Two close wires at two skin depths, go and return, solved on three meshes."""
    parts = [wire("a", -0.012, 0.0), wire("b", 0.012, 0.0)]
    ties = [Tie(("a",), 100.0), Tie(("b",), -100.0)]
    return [solve(layout_of(parts, ties, 200.0), fineness) for fineness in FINENESS]


def potential_error(solution: Solution) -> float:
    """Error of A in the mean square over the metal, over its size. [-]"""
    parts = [wire("a", -0.012, 0.0), wire("b", 0.012, 0.0)]
    exact = solve_round_parts(parts, solution.layout.frequency, REFERENCE)
    state = np.linalg.solve(exact.admittance, solution.drive.currents)
    metal = solution.mesh.regions > 0
    nodes = solution.mesh.points[solution.mesh.triangles[metal]]
    values = solution.nodal[solution.mesh.triangles[metal]]
    error, size = 0.0, 0.0
    for local, weight in zip(RULE, WEIGHTS, strict=True):
        _, jacobian = gradients_at(nodes, np.broadcast_to(local, (len(nodes), 2)))
        shapes = shape_values(local)
        places = np.einsum("n,tni->ti", shapes, nodes)
        true = exact.vector_potential(state, places)
        error += float(np.sum(weight * jacobian * np.abs(values @ shapes - true) ** 2))
        size += float(np.sum(weight * jacobian * np.abs(true - true.mean()) ** 2))
    return float(np.sqrt(error / size))


def test_the_potential_converges_at_third_order_in_the_mean_square(pair: list[Solution]) -> None:
    errors = [potential_error(solution) for solution in pair]
    # quadratic elements; meshes of air are not quite halved
    assert orders(errors) == pytest.approx(3, abs=0.5)
    assert errors[-1] < 5e-5


def test_losses_of_smooth_layouts_converge_at_fourth_order(pair: list[Solution]) -> None:
    parts = [wire("a", -0.012, 0.0), wire("b", 0.012, 0.0)]
    exact = solve_round_parts(parts, 200.0, REFERENCE)
    voltages = np.linalg.solve(exact.admittance, pair[0].drive.currents)
    true = exact.losses(voltages)
    energy = complex(voltages @ pair[0].drive.currents.conj())
    powers = [complex(s.drive.voltages @ s.drive.currents.conj()) for s in pair]
    # the complex power, active and reactive, is quadratic in the field. Errors of losses alone change sign, and numbers
    # of rings and layers are whole: the order is taken over both halvings
    errors = [abs(power / energy - 1) for power in powers]
    assert orders(errors).mean() == pytest.approx(4, abs=0.5)
    assert np.abs(pair[-1].losses.total / true - 1).max() < 2e-5  # 3e-3 (1.2/4)^4


def test_the_field_beyond_the_mesh_converges_at_fourth_order(pair: list[Solution]) -> None:
    parts = [wire("a", -0.012, 0.0), wire("b", 0.012, 0.0)]
    exact = solve_round_parts(parts, 200.0, REFERENCE)
    voltages = np.linalg.solve(exact.admittance, pair[0].drive.currents)
    points = np.array([[0.1, 0.05], [1.0, -1.0], [0.0, 5.0]])
    true = exact.field(voltages, points)
    errors = [float(np.linalg.norm(s.field(points) - true) / np.linalg.norm(true)) for s in pair]
    # coefficients of the series are averages of A, functionals of the field of twice its order
    assert np.log2(errors[0] / errors[2]) / 2 > 3.3
    assert errors[0] < 5e-4


def steel_channel() -> Layout:
    wall = channel(0.2, 0.06, 1.5e-3, origin=(0.0, -0.0125))
    return layout_of(three_wires(FLAT), balanced(), 50.0, [("tray", wall, Material(STEEL, 300.0))])


@pytest.fixture(scope="module")
def steel() -> list[Solution]:
    """The same steel tray on three meshes."""
    return [solve(steel_channel(), fineness) for fineness in (1.0, 1.75, 3.0)]


FAR = np.array([[0.5, 0.3], [3.0, 1.0], [0.0, -0.5]])  # [m]


@pytest.mark.slow
def test_corners_of_a_steel_tray_converge_more_slowly(steel: list[Solution]) -> None:
    # no closed form: against the finest mesh. The field is singular at corners of iron; meshes are graded towards them,
    # which leaves losses and far field of a tray about second order in place of fourth
    *coarse, finest = steel
    true = finest.field(FAR)
    loss = [abs(s.losses.total[3] / finest.losses.total[3] - 1) for s in coarse]
    field = [float(np.linalg.norm(s.field(FAR) - true) / np.linalg.norm(true)) for s in coarse]
    assert loss[0] < 5e-4
    assert field[0] < 5e-4
    assert loss[1] < loss[0] / 1.75**1.5
    assert field[1] < field[0] / 1.75**1.5
    assert np.log(field[0] / field[1]) / np.log(1.75) < 3.5  # were it of fourth order, the corners would not matter
    conductors = np.abs(coarse[1].losses.total[:3] / finest.losses.total[:3] - 1)
    assert conductors.max() < 1e-5  # which the corners hardly touch


@pytest.mark.slow
def test_the_averaged_field_near_a_sheet_converges_too(steel: list[Solution]) -> None:
    points = np.array([[0.03, 0.02], [0.09, 0.03], [0.0, -0.03]])
    fields = [s.field(points) for s in steel]
    last = [float(np.linalg.norm(field - fields[2]) / np.linalg.norm(fields[2])) for field in fields[:2]]
    assert last[0] < 1e-3  # as the field far away
    assert last[1] < last[0] / 1.75**1.5


def test_fineness_multiplies_the_unknowns_by_its_square() -> None:
    counts = [len(mesh_of(layout, fineness).points) for layout in (steel_channel(),) for fineness in (1.0, 2.0)]
    assert np.diff(np.log2(counts)) == pytest.approx(2, abs=0.3)  # whole numbers of layers
