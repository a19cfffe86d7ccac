"""Saturating steel: the linear limit, a field known beforehand, hysteresis, and convergence."""

import numpy as np
import pytest

from fem.checks import check_solution
from fem.curve_data import CURVES
from fem.effective import RULES, effective_reluctivity
from fem.losses import losses
from fem.magnetisation import Steel
from fem.materials import Material
from fem.nonlinear import NotConverged, loss_angle, solve_saturating
from fem.solve import SolveError, solve_unit_voltages
from fem.ties import Tie, drive
from tests.fem.linear_curve import LinearCurve
from tests.fem.saturated_tray import FREQUENCY, STEEL, materials, pipe, three_phase, tray, tray_loss

MILD, BENCHMARK = (Steel(CURVES[f"{name}-steel-curve"].curve) for name in ("mild", "benchmark"))


@pytest.fixture(scope="module")
def mesh():
    return tray(fineness=0.6)


@pytest.fixture(scope="module")
def thin_pipe():
    return pipe(fineness=1.7, inner=0.049)


def saturated(mesh, current, steel=MILD, **choices):
    return solve_saturating(mesh, materials(), FREQUENCY, three_phase(current), {"tray": steel}, **choices)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("angle", [0.0, 0.4])
def test_a_linear_curve_gives_the_linear_solve(mesh, rule, angle):
    found = saturated(mesh, 800.0, Steel(LinearCurve(700.0), loss_angle=angle), rule=rule)
    permeability = 700 * np.exp(-1j * angle)
    assert loss_angle(permeability) == pytest.approx(angle, abs=1e-15)
    exact = solve_unit_voltages(mesh, {**materials(), "tray": Material(STEEL, permeability)}, FREQUENCY)
    state = drive(exact.admittance, exact.part_names, three_phase(800.0))
    assert found.solves == 1
    np.testing.assert_array_equal(found.drive.voltages, found.linear_drive.voltages)
    # rounding of the reluctivity and of the sparse solve
    np.testing.assert_allclose(found.fields.admittance, exact.admittance, atol=1e-9 * abs(exact.admittance).max())
    np.testing.assert_allclose(found.drive.voltages, state.voltages, rtol=1e-9)


@pytest.mark.parametrize("rule", RULES)
def test_a_linear_curve_is_reached_from_another_permeability(mesh, rule):
    found = saturated(mesh, 800.0, Steel(LinearCurve(700.0), stated_permeability=150.0), rule=rule, tolerance=1e-8)
    exact = saturated(mesh, 800.0, Steel(LinearCurve(700.0)))
    assert found.solves > 2
    assert tray_loss(found).joule == pytest.approx(tray_loss(exact).joule, rel=1e-7)
    linear = solve_unit_voltages(mesh, {**materials(), "tray": Material(STEEL, 150.0)}, FREQUENCY)
    np.testing.assert_allclose(found.linear_fields.admittance, linear.admittance, rtol=1e-9)


@pytest.mark.parametrize("current", [20.0, 300.0, 3000.0])
@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("steel", [MILD, BENCHMARK], ids=["mild", "benchmark"])
def test_the_field_in_a_pipe_is_that_of_the_curve_at_i_over_2_pi_r(thin_pipe, steel, rule, current):
    # no current flows in the pipe, so that H = I/(2 pi r) whatever its curve: exact and independent of the rule
    mesh = thin_pipe
    copper = Material(4.62e7)
    found = solve_saturating(
        mesh, {"a": copper}, FREQUENCY, [Tie(("a",), current)], {"pipe": steel}, rule=rule, tolerance=1e-5
    )
    own = mesh.regions == mesh.names.index("pipe")
    radius = np.linalg.norm(mesh.points[mesh.triangles[own]], axis=2).mean(axis=1)
    h = np.sqrt(2) * current / (2 * np.pi * radius)
    table = effective_reluctivity(steel.curve, rule)
    phasor = h / found.fields.reluctivity[own].real
    # triangles of 0.5 mm in 50 mm: H varies by one percent in one, its mean and that of nu by the square of that,
    # B and nu by as much times the steepness of the curve, 40 at the most
    np.testing.assert_allclose(table.reluctivity(phasor), found.fields.reluctivity[own].real, rtol=5e-3)
    np.testing.assert_allclose(found.triangle_peaks[own], table.peak(phasor), rtol=1e-3)
    assert np.all(found.triangle_peaks[~own] == 0)
    if rule == "equal-peak" or (rule == "fundamental-b" and current == 3000.0):
        # peak of H and peak of B belong together on the curve
        np.testing.assert_allclose(found.triangle_peaks[own], steel.curve.flux_density(h), rtol=1e-3)
    assert found.peaks["pipe"].largest == found.triangle_peaks.max()
    assert found.peaks["pipe"].mean < found.peaks["pipe"].largest


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("steel", [MILD, BENCHMARK], ids=["mild", "benchmark"])
def test_cables_in_a_channel_converge_in_under_fifteen_solves(mesh, steel, rule):
    found = saturated(mesh, 400.0, steel, rule=rule)
    assert found.solves < 15
    assert found.changes[-1].reluctivity < 1e-4
    assert found.changes[-1].loss < 1e-4
    exact = saturated(mesh, 400.0, steel, rule=rule, tolerance=1e-6)
    # the residual halves or better from solve to solve, so that what is left is about as large as the residual
    assert tray_loss(found).joule == pytest.approx(tray_loss(exact).joule, rel=3e-4)


@pytest.mark.parametrize("current", [10e3, 100e3])
@pytest.mark.parametrize("steel", [MILD, BENCHMARK], ids=["mild", "benchmark"])
def test_extreme_currents_converge(mesh, steel, current):
    found = saturated(mesh, current, steel)
    assert found.solves <= 30
    assert found.peaks["tray"].largest > 1.9


@pytest.mark.parametrize("steel", [MILD, BENCHMARK], ids=["mild", "benchmark"])
def test_tiny_currents_see_the_initial_permeability(mesh, steel):
    found = saturated(mesh, 1e-6, steel)
    linear, _ = losses(found.linear_fields, found.linear_drive.voltages)
    assert tray_loss(found).joule == pytest.approx(linear.joule[3], rel=1e-6)
    assert found.solves <= 2


def test_no_current_at_all_is_no_failure(mesh):
    assert tray_loss(saturated(mesh, 0.0)).joule == 0


def test_loss_and_peak_rise_with_the_current(mesh):
    found = [saturated(mesh, current) for current in (100.0, 400.0, 1600.0, 6400.0)]
    assert np.all(np.diff([tray_loss(each).joule for each in found]) > 0)
    assert np.all(np.diff([each.peaks["tray"].largest for each in found]) > 0)
    # more than the square: the skin depth grows as the steel saturates, while the tray is thinner than it
    per_square = [tray_loss(each).joule / current**2 for each, current in zip(found, (100, 400, 1600), strict=False)]
    assert np.all(np.diff(per_square) > 0)


def test_hysteresis_adds_its_loss_and_balances_the_power(mesh):
    lossless = saturated(mesh, 800.0, MILD, tolerance=1e-6)
    assert tray_loss(lossless).magnetic == 0
    seen = []
    for angle in (1e-4, 0.2):
        found = saturated(mesh, 800.0, Steel(MILD.curve, loss_angle=angle), tolerance=1e-6)
        own = mesh.regions == mesh.names.index("tray")
        np.testing.assert_allclose(np.angle(found.fields.reluctivity[own]), angle, rtol=1e-9)
        loss, _ = losses(found.fields, found.drive.voltages)
        assert check_solution(found.fields, found.drive, loss).power_balance < 1e-9  # rounding
        seen.append(tray_loss(found))
    # w Im(nu) B^2 is linear in a small angle; 0.2 rad changes the field by a few percent
    assert seen[1].magnetic / seen[0].magnetic == pytest.approx(np.sin(0.2) / 1e-4, rel=0.1)
    assert seen[0].joule == pytest.approx(tray_loss(lossless).joule, rel=1e-3)


def test_too_few_solves_raise_with_advice(mesh):
    with pytest.raises(NotConverged, match=r"after 3 solves the reluctivity still changes by .* allow more solves"):
        saturated(mesh, 5000.0, most_solves=3)
    assert issubclass(NotConverged, SolveError)


def test_bad_choices_are_refused(mesh):
    with pytest.raises(ValueError, match="loss_angle of a steel"):
        Steel(MILD.curve, loss_angle=1.6)
    with pytest.raises(ValueError, match="stated_permeability"):
        Steel(MILD.curve, stated_permeability=-2.0)
    with pytest.raises(ValueError, match="lid"):
        solve_saturating(mesh, materials(), FREQUENCY, three_phase(1.0), {"lid": MILD})
    with pytest.raises(ValueError, match="none is given"):
        solve_saturating(mesh, materials(), FREQUENCY, three_phase(1.0), {})
    with pytest.raises(ValueError, match="tolerance"):
        saturated(mesh, 1.0, tolerance=0.0)
    with pytest.raises(ValueError, match="most_solves"):
        saturated(mesh, 1.0, most_solves=1)


def test_the_gap_of_the_rules_follows_the_saturation_of_the_tray(mesh):
    low, high = (saturated(mesh, current, BENCHMARK).rule_gaps["tray"] for current in (20.0, 400.0))
    assert low < 0.01
    assert high == pytest.approx(0.072, abs=0.005)  # change detector: the table of fem.effective
