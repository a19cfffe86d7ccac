"""The run-time checks: rounding where an identity holds, falling with the mesh where none does, and able to fail."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.checks import check_solution, circulations
from fem.materials import Material
from fem.ties import Drive, Tie
from geometry.shapes import wall_along
from tests.fem.layouts import (
    FLAT,
    STEEL,
    TREFOIL,
    Layout,
    balanced,
    layout_of,
    screened,
    solve,
    three_wires,
    tube,
)

BOX = wall_along([(-0.12, 0.08), (-0.12, -0.05), (0.12, -0.05), (0.12, 0.08)], 1.5e-3, side="right", closed=True)
LAYOUTS = {
    "flat": layout_of(three_wires(FLAT), balanced(), 50.0),
    "bonded screens": layout_of(screened(TREFOIL), [*balanced(), Tie(("sa", "sb", "sc"))], 400.0),
    "steel box": layout_of(three_wires(FLAT), balanced(), 50.0, [("box", BOX, Material(STEEL, 300.0))]),
    "hysteresis": layout_of([*three_wires(FLAT), tube("t", 0, 0, 0.07, 0.072, STEEL, 300 - 90j)], balanced(), 50.0),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_identities_of_the_discrete_system_hold_to_rounding(name: str) -> None:
    checks = solve(LAYOUTS[name]).checks
    assert checks.reciprocity < 1e-12
    assert checks.power_balance < 1e-10


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_residual_of_amperes_law_falls_with_the_square_of_the_size(name: str) -> None:
    residuals = [solve(LAYOUTS[name], fineness).checks.ampere_law for fineness in (1.0, 1.75, 3.0)]
    # slopes of quadratics: second order; at the corners of a steel box less, and sizes do not halve exactly
    assert residuals[0] < 0.05
    assert 1.4 < np.log(residuals[0] / residuals[2]) / np.log(3) < 2.8
    assert residuals[1] < residuals[0] / 1.5


def test_the_circulation_around_each_part_is_its_own_current() -> None:
    solution = solve(LAYOUTS["bonded screens"], 3.0)
    found = circulations(solution.fields, solution.nodal)
    # screens by both surfaces, so that the current of the core inside them does not count
    assert np.abs(found - solution.drive.currents).max() < 3e-3 * np.abs(solution.drive.currents).max()
    assert np.abs(solution.drive.currents[3:]).min() > 10  # amperes circulate, there is something to tell apart


def test_the_circulation_of_a_quadratic_potential_around_straight_walls_is_exact() -> None:
    solution = solve(LAYOUTS["steel box"])
    x, y = solution.mesh.points.T
    found = circulations(solution.fields, (x**2 + 3 * y**2 + 4 * x * y).astype(complex))
    # curl H = -laplacian(A)/mu0 = -8/mu0, over the wall's own area; triangles along straight walls hold quadratics
    # exactly, and all but the last digits of the 1/mu0 area of the whole box cancel between its two surfaces
    area = solution.mesh.region_areas()["box"]
    assert found[3] == pytest.approx(-8 / mu_0 * area, rel=1e-9)


def test_a_wrong_current_a_lost_loss_and_an_unequal_admittance_are_seen() -> None:
    solution = solve(LAYOUTS["bonded screens"])
    state, loss, fields = solution.drive, solution.losses, solution.fields
    doubled = check_solution(fields, Drive(state.voltages, 2 * state.currents), loss)
    assert doubled.power_balance == pytest.approx(1, rel=1e-6)
    assert doubled.ampere_law == pytest.approx(0.5, abs=0.02)
    conjugated = check_solution(fields, Drive(state.voltages, state.currents.conj()), loss)
    assert conjugated.power_balance > 0.1
    assert conjugated.ampere_law > 0.1
    lost = check_solution(fields, state, replace(loss, joule=np.append(loss.joule[:-1], 0.0)))
    assert lost.power_balance == pytest.approx(loss.joule[-1] / (loss.total.sum() - loss.joule[-1]), rel=1e-6)
    y = fields.admittance.copy()
    y[0, 1] *= 1.001
    assert check_solution(replace(fields, admittance=y), state, loss).reciprocity > 1e-5


def test_nothing_driven_has_no_residuals() -> None:
    layout = Layout(LAYOUTS["flat"].section, LAYOUTS["flat"].materials, tuple(Tie((n,)) for n in "abc"), 50.0)
    checks = solve(layout).checks
    assert (checks.power_balance, checks.ampere_law) == (0.0, 0.0)
