"""Rails as thin strips: against strips cut into filaments, symmetry and a hand calculation."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.constants import mu_0

from studies.formulas.rails import rail_loop_current, rail_loss

TURN = np.exp(2j * np.pi / 3)
CURRENTS = 400 * np.array([1, TURN**2, TURN])
AXES = np.array([[-0.07, 0.012], [0, 0.012], [0.07, 0.012]])
HEIGHT, THICKNESS, F = 0.1, 1e-3, 50.0
OMEGA = 2 * np.pi * F
RAILS = np.array([[[x, 0.0], [x, HEIGHT]] for x in (-0.15, 0.15)])
RESISTANCE = 1 / (2.03e7 * HEIGHT * THICKNESS)


def filaments(joined: bool, count: int = 60) -> tuple[NDArray[np.complex128], NDArray[np.float64]]:
    """Currents [A] and losses [W/m] of the two rails, each cut into filaments of one current density."""
    width = HEIGHT / count
    y = (np.arange(count) + 0.5) * width
    points = np.array([(x, each) for x in (-0.15, 0.15) for each in y])
    distances = np.linalg.norm(points[:, None] - points, axis=2)
    np.fill_diagonal(distances, 0.2235 * (width + THICKNESS))
    impedance = -1j * OMEGA * mu_0 / (2 * np.pi) * np.log(distances)
    impedance[np.diag_indices_from(impedance)] += RESISTANCE * count
    driving = -1j * OMEGA * mu_0 / (2 * np.pi) * np.log(np.linalg.norm(points[:, None] - AXES, axis=2)) @ CURRENTS
    rails = np.kron(np.eye(2), np.ones((count, 1)))
    ties = rails.sum(axis=1, keepdims=True) if joined else rails  # what shares one voltage, with no net current
    n = ties.shape[1]
    system = np.block([[impedance, -ties], [ties.T, np.zeros((n, n))]])
    found: NDArray[np.complex128] = np.linalg.solve(system, np.concatenate([-driving, np.zeros(n)]))[: 2 * count]
    losses: NDArray[np.float64] = rails.T @ (np.abs(found) ** 2) * RESISTANCE * count
    return rails.T @ found, losses


def test_joined_rails_agree_with_strips_of_filaments() -> None:
    currents, losses = filaments(joined=True)
    loop = rail_loop_current(AXES, CURRENTS, RAILS, THICKNESS, RESISTANCE, F)
    # the formula leaves out the strips' own eddy currents, of the order of (mu0 f/R)^2 = 1.6 %
    assert loop == pytest.approx(currents[0], rel=0.01)
    found = rail_loss(AXES, CURRENTS, RAILS, RESISTANCE, F, [loop, -loop])
    assert found == pytest.approx(losses, rel=0.02)


def test_insulated_rails_have_the_eddy_loss_of_strips_of_filaments() -> None:
    _, losses = filaments(joined=False)
    found = rail_loss(AXES, CURRENTS, RAILS, RESISTANCE, F, [0, 0])
    assert found == pytest.approx(losses, rel=0.02)  # as above


def test_currents_that_are_the_same_seen_from_both_rails_drive_no_loop() -> None:
    loop = rail_loop_current([[0.0, 0.02]], [100.0], RAILS, THICKNESS, RESISTANCE, F)
    assert abs(loop) < 1e-12


def test_low_rails_are_two_line_conductors() -> None:
    low = np.array([[[x, 0.0], [x, 1e-4]] for x in (-0.15, 0.15)])
    # by hand: E = w (mu0/2 pi) 100 A ln(0.25/0.05), two resistances; at 1 ohm/m the reactance is nothing
    loop = rail_loop_current([[0.1, 0.0]], [100.0], low, 1e-4, 1.0, F)
    assert abs(loop) == pytest.approx(OMEGA * 2e-7 * 100 * np.log(5) / 2, rel=1e-5)


def test_eddy_loss_in_an_even_field_has_its_closed_form() -> None:
    # a far line current: B = mu0 i/(2 pi d) across the strips; w^2 B^2 h^2/(12 R) [D]
    far = 100.0
    across = mu_0 * 1e5 / (2 * np.pi * far)
    # at the height of a line its B runs along y, across strips that lie flat
    flat = np.array([[[x, 0.0], [x + HEIGHT, 0.0]] for x in (-0.15, 0.05)])
    found = rail_loss([[far, 0.0]], [1e5], flat, RESISTANCE, F, [0, 0])
    assert found == pytest.approx(OMEGA**2 * across**2 * HEIGHT**2 / (12 * RESISTANCE), rel=4e-3)  # 2 x/d


def test_the_current_of_one_rail_drives_eddies_in_the_other_as_a_line_would() -> None:
    middle = RAILS[1].mean(axis=0)
    found = rail_loss([[0.0, 9.0]], [0.0], RAILS, RESISTANCE, F, [0, 100])
    line = rail_loss([middle], [100.0], RAILS[[0, 0]], RESISTANCE, F, [0, 0])
    assert found == pytest.approx(
        [line[0], RESISTANCE * 100**2], rel=0.1
    )  # (h/D)^2 = 0.11, of the strip seen as a line
