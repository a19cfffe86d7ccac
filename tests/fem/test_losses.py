"""Losses of parts and of triangles against closed forms and against each other."""

import itertools
import math

import numpy as np
import pytest

from fem.arrays import Floats, Ints
from fem.losses import losses
from fem.materials import Material
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS
from fem.ties import Tie
from studies.formulas.round_conductor import round_conductor_internal_impedance
from tests.fem.layouts import COPPER, FLAT, STEEL, balanced, layout_of, screened, solve, three_wires, tube, wire

ROUNDING = 1e-9


def areas(points: Floats, triangles: Ints) -> Floats:
    """Areas of six-node triangles by their corners and the parabolic segments on their edges. [m^2]"""
    nodes = points[triangles]
    loop = nodes[:, [0, 3, 1, 4, 2, 5]]
    x, y = loop[..., 0], loop[..., 1]
    straight = 0.5 * np.sum(x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1), axis=1)
    corner = nodes[:, :3]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    through_corners = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    result: Floats = through_corners + (straight - through_corners) * 4 / 3  # Archimedes: 4/3 of the inner triangle
    return result


def test_the_loss_of_a_lone_wire_is_its_resistance_times_the_current_squared() -> None:
    solution = solve(layout_of([wire("w", 0, 0)], [Tie(("w",), 30 - 40j)], 400.0), 2.0)
    resistance = round_conductor_internal_impedance(0.009, COPPER, 400.0).real
    # 0.6 skin depths an element: 0.002 (h/delta)^4 = 3e-4
    assert solution.losses.total[0] == pytest.approx(resistance * 2500, rel=3e-4)


def test_losses_are_the_sum_of_the_densities_of_their_triangles() -> None:
    parts = [*screened(FLAT), tube("steel", 0.03, 0.06, 0.012, 0.015, STEEL, 300 - 90j)]
    solution = solve(layout_of(parts, balanced(), 50.0))
    loss, elements = losses(solution.fields, solution.drive.voltages)
    by_triangle = elements.loss_density * areas(solution.mesh.points, solution.mesh.triangles)
    by_region = np.bincount(solution.mesh.regions, weights=by_triangle)
    assert by_region[0] == 0  # air
    assert by_region[1:] == pytest.approx(loss.total, rel=1e-7)  # areas by rule and by formula: bowed edges
    assert np.all(elements.loss_density >= 0)
    assert np.all(elements.current_density[solution.mesh.regions == 0] == 0)


def test_current_densities_add_up_to_the_parts_currents() -> None:
    solution = solve(layout_of(three_wires(FLAT), balanced(), 50.0), 2.0)
    _, elements = losses(solution.fields, solution.drive.voltages)
    area = areas(solution.mesh.points, solution.mesh.triangles)
    for k in range(3):
        own = solution.mesh.regions == k + 1
        total = np.sum(elements.current_density[own] * area[own])
        # one point a triangle, where the density varies by a quarter of itself over five elements: second order
        assert total == pytest.approx(solution.drive.currents[k], rel=5e-3)


def test_only_a_material_with_hysteresis_has_magnetic_loss_wherever_it_lies() -> None:
    core = wire("core", 0, 0)
    lossless = tube("pipe", 0, 0, 0.02, 0.022, STEEL, 300.0)
    plain = solve(layout_of([core, lossless], [Tie(("core",), 100.0)], 50.0))
    assert plain.losses.magnetic == pytest.approx([0, 0], abs=1e-15 * plain.losses.joule.max())
    assert plain.losses.elsewhere == 0
    # a laminated pipe: hysteresis but no current, and therefore no part
    laminated = tube("pipe", 0, 0, 0.02, 0.022, 0.0, 300 - 90j)
    hollow = solve(layout_of([core, laminated], [Tie(("core",), 100.0)], 50.0))
    assert hollow.fields.part_names == ("core",)
    # H = I/(2 pi r), loss density w mu'' H^2: P = w mu0 90 I^2 ln(b/a)/(2 pi), exact by symmetry
    expected = 2 * np.pi * 50 * 4e-7 * np.pi * 90 * 100**2 * np.log(0.022 / 0.02) / (2 * np.pi)
    # quadratics for a logarithm over two layers of a tenth of the radius, arcs of 2 pi/16
    assert hollow.losses.elsewhere == pytest.approx(expected, rel=5e-4)
    assert hollow.checks.power_balance < ROUNDING


def test_losses_depend_only_on_the_square_of_the_voltages() -> None:
    solution = solve(layout_of(screened(FLAT), balanced(), 50.0))
    turned, _ = losses(solution.fields, solution.drive.voltages * 3 * np.exp(0.8j))
    assert turned.total == pytest.approx(9 * solution.losses.total, rel=ROUNDING)


@pytest.mark.parametrize(("mu", "nu"), [(1.0, 795774.7), (300 - 90j, 2433.6 + 730.1j)])
def test_reluctivity_is_one_over_the_permeability(mu: complex, nu: complex) -> None:
    # 1/(4e-7 pi) = 795 774.7; 1/(300 - 90j) = (300 + 90j)/98 100: hysteresis has a positive imaginary part
    assert Material(0.0, mu).reluctivity == pytest.approx(nu, rel=1e-4)


def test_the_quadrature_is_exact_up_to_the_fourth_degree():
    x, y = QUADRATURE_POINTS.T
    for a, b in itertools.product(range(5), repeat=2):
        if a + b <= 4:
            exact = math.factorial(a) * math.factorial(b) / math.factorial(a + b + 2)  # over the reference triangle
            assert QUADRATURE_WEIGHTS @ (x**a * y**b) == pytest.approx(exact, rel=1e-14)
