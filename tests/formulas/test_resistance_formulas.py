"""Skin and proximity effect: published values, the standard's fits and the exact solutions against each other."""

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray
from scipy.constants import mu_0

from studies.formulas.resistance import (
    ac_resistance,
    dc_resistance,
    flat_proximity_spacing,
    proximity_factor_three,
    skin_argument,
    skin_factor,
)
from studies.formulas.round_conductor import round_conductor_internal_impedance, round_conductor_internal_inductance
from studies.formulas.tubular import (
    concentric_pipe_loss,
    tube_impedances,
)

RADIUS = 0.01
SIGMA = 5.8e7
MICRO_OHM = 1e-6


def exact_skin_factor(radius: float, sigma: float, frequency: ArrayLike) -> NDArray[np.float64]:
    """Ac over dc resistance of a solid round conductor."""
    impedance = round_conductor_internal_impedance(radius, sigma, frequency)
    return np.asarray(np.pi * radius**2 * sigma * impedance.real, dtype=np.float64)


def frequency_for(x: float) -> float:
    """Frequency at which a sqrt(w mu sigma) = x. [Hz]"""
    return float((x / RADIUS) ** 2 / (2 * np.pi * mu_0 * SIGMA))


@pytest.mark.parametrize(
    ("x", "resistance", "inductance"),
    [
        (0.5, 1.00033, 0.99984),
        (1, 1.00519, 0.99741),
        (1.5, 1.02582, 0.98711),
        (2, 1.07816, 0.96114),
        (2.5, 1.17538, 0.91347),
        (3, 1.31809, 0.84517),
        (4, 1.67787, 0.68632),
        (5, 2.04273, 0.55597),
        (6, 2.39359, 0.46521),
        (8, 3.09445, 0.35107),
        (10, 3.79858, 0.28162),
        (20, 7.32767, 0.14128),
    ],
)
def test_round_wire_reproduces_the_table_of_skin_effect_ratios(x: float, resistance: float, inductance: float) -> None:
    # exact ratios [D], which agree with National Bureau of Standards Circular 74 / Rosa and Grover [M];
    # half of the last printed digit
    f = frequency_for(x)
    assert exact_skin_factor(RADIUS, SIGMA, f) == pytest.approx(resistance, abs=0.51e-5)
    ratio = round_conductor_internal_inductance(RADIUS, SIGMA, f) / (mu_0 / (8 * np.pi))
    assert ratio == pytest.approx(inductance, abs=0.51e-5)


def test_skin_effect_of_a_published_point() -> None:
    # Neher and McGrath, AIEE Trans. 76 Pt III, 1957, Table III: x = 2.14 gives 10.05 % [C]
    exact = exact_skin_factor(RADIUS, SIGMA, frequency_for(2.14)) - 1
    x_squared = 2.14**2
    fit = skin_factor(8e-7 * np.pi * 50 / x_squared, 50)
    assert exact == pytest.approx(0.1005, abs=0.00005)
    assert fit == pytest.approx(0.1005, abs=0.00006)  # 10.045 %: the fit is 0.008 % of the resistance below
    assert exact == pytest.approx(0.10053, abs=0.000005)
    assert fit == pytest.approx(0.10045, abs=0.000005)


@pytest.mark.parametrize(
    ("low", "high", "stated"),
    [(0.01, 2.8, 0.0011), (2.8, 3.8, 0.0042), (3.8, 4.0, 0.0060), (4.0, 100.0, 0.0035)],
)
def test_the_standards_fit_stays_within_its_accuracy_of_the_bessel_solution(
    low: float, high: float, stated: float
) -> None:
    # 0.35 % from 4 to 100 and 0.04 % at 3 recomputed independently [D]; the others measured here and two-sided
    x = np.linspace(low, high, 4001)[1:]
    resistance = 1 / (np.pi * RADIUS**2 * SIGMA)
    f = x**2 * resistance / (8e-7 * np.pi)
    exact = exact_skin_factor(RADIUS, SIGMA, f)
    worst = np.max(np.abs((1 + skin_factor(resistance, f)) / exact - 1))
    assert 0.8 * stated < worst < stated


def test_the_standards_argument_is_that_of_the_round_wire() -> None:
    resistance = 1 / (np.pi * RADIUS**2 * SIGMA)
    # the standard writes 4 pi 1e-7 for mu0
    assert skin_argument(resistance, frequency_for(3.0)) == pytest.approx(3.0, rel=1e-9)


def test_round_wire_has_its_dc_values_at_zero_frequency() -> None:
    assert exact_skin_factor(RADIUS, SIGMA, 0.0) == pytest.approx(1, rel=1e-12)
    assert round_conductor_internal_inductance(RADIUS, SIGMA, 0.0, 40.0) == pytest.approx(40 * 5e-8, rel=1e-9)
    assert round_conductor_internal_impedance(RADIUS, SIGMA, 0.0) == pytest.approx(1 / (np.pi * RADIUS**2 * SIGMA))


def test_round_wire_has_its_surface_impedance_at_very_high_frequency() -> None:
    # thousands of skin depths: (1 + j)/(2 pi a sigma delta) (1 + delta/(2a) ...)
    f = 1e14
    depth = 1 / np.sqrt(np.pi * f * mu_0 * SIGMA)
    z = round_conductor_internal_impedance(RADIUS, SIGMA, f)
    assert z * 2 * np.pi * RADIUS * SIGMA * depth == pytest.approx(1 + 1j, rel=depth / RADIUS)


def test_internal_inductance_is_continuous_where_its_series_ends() -> None:
    border = 0.1  # |ma|
    below, above = (
        round_conductor_internal_inductance(RADIUS, SIGMA, frequency_for(border * s)) for s in (0.999, 1.001)
    )
    # slope of -x^4/384 over the step: 2e-9; a wrong series would jump by 1e-7 or more
    assert below / above - 1 == pytest.approx(4 * 0.002 * border**4 / 384, abs=1e-11)


def test_resistance_and_inductance_are_linked_by_the_slope_of_the_thickness() -> None:
    # energy and loss of the same field: Z = R + jwL obeys the Riccati equation of the radius,
    # dZ/da = j w mu/(2 pi a) - 2 pi a sigma Z^2, an equation independent of Bessel functions
    f, step = 400.0, 1e-6
    z = round_conductor_internal_impedance(np.array([RADIUS - step, RADIUS, RADIUS + step]), SIGMA, f)
    slope = (z[2] - z[0]) / (2 * step)
    expected = 2j * np.pi * f * mu_0 / (2 * np.pi * RADIUS) - 2 * np.pi * RADIUS * SIGMA * z[1] ** 2
    assert slope == pytest.approx(expected, rel=1e-6)  # (step/a)^2 = 1e-8


def test_dc_resistance_rises_by_the_temperature_coefficient() -> None:
    # IEC 60287-1-1 with the copper coefficient 3.93e-3 [C]: 50 K add 19.65 %
    assert dc_resistance(75.4 * MICRO_OHM, 3.93e-3, 70.0) == pytest.approx(75.4e-6 * 1.1965, rel=1e-12)


def test_dc_resistance_has_the_published_correction_factors() -> None:
    # IEC 60228 temperature correction factors of copper, 0.820 at 75 degC and 0.781 at 90 degC [C]; they follow from a
    # rounded coefficient of 4e-3 [D]; half of the last printed digit
    assert 1 / dc_resistance(1.0, 4e-3, 75.0) == pytest.approx(0.820, abs=0.0005)
    assert 1 / dc_resistance(1.0, 4e-3, 90.0) == pytest.approx(0.781, abs=0.0005)


def test_ac_resistance_adds_skin_and_proximity_factor() -> None:
    assert ac_resistance(1e-4, 0.02, 0.03) == pytest.approx(1.05e-4, rel=1e-12)


def test_dc_resistance_below_absolute_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="temperature"):
        dc_resistance(1e-4, 3.93e-3, -300.0)


def test_proximity_factor_begins_as_eddy_loss_of_a_wire_in_its_neighbours_field() -> None:
    # a round wire in a weak uniform transverse field loses pi w^2 B^2 sigma a^4/4; the mean over three cables at s is
    # B^2 = 1.5 (mu0 I/2 pi s)^2, hence 1.5/64 x^4 (dc/s)^2 [D]; the standard's fit begins 3 % below
    x, ratio = 0.2, 0.05
    resistance = 8e-7 * np.pi * 50 / x**2
    begin = 1.5 / 64 * x**4 * ratio**2
    fit = proximity_factor_three(resistance, 50, 0.02, 0.02 / ratio)
    assert fit / begin == pytest.approx(0.97, abs=0.02)


def test_proximity_factor_of_three_falls_with_the_square_of_the_spacing() -> None:
    near, far = proximity_factor_three(1e-4, 50, 0.02, np.array([0.4, 0.8]))
    assert near / far == pytest.approx(4, rel=2e-3)  # 0.312 (dc/s)^2 beside 1.18/(F + 0.27) > 1


def test_proximity_spacing_of_a_flat_row_is_its_geometric_mean() -> None:
    assert flat_proximity_spacing(0.04, 0.09) == pytest.approx(0.06)


def test_proximity_factor_of_three_refuses_overlapping_conductors() -> None:
    with pytest.raises(ValueError, match="spacing"):
        proximity_factor_three(1e-4, 50, 0.02, 0.019)


def test_tube_without_bore_is_the_solid_wire() -> None:
    for f in (0.0, 50.0, 1e4, 1e9):
        solid = round_conductor_internal_impedance(RADIUS, SIGMA, f, 3.0)
        # the bore takes (1e-7/1e-2)^2 of the area
        assert tube_impedances(1e-9, RADIUS, SIGMA, f, 3.0).outer == pytest.approx(solid, rel=1e-10)


def test_tube_impedances_are_continuous_at_zero_frequency() -> None:
    dc = 1 / (np.pi * (0.012**2 - 0.01**2) * SIGMA)
    for exact, near in zip(
        tube_impedances(0.01, 0.012, SIGMA, 0.0), tube_impedances(0.01, 0.012, SIGMA, 1e-3), strict=True
    ):
        assert exact == pytest.approx(dc, rel=1e-12)
        # (t/delta)^2 = 5e-9 at 1e-3 Hz
        assert near == pytest.approx(dc, rel=1e-6)


def test_thick_tube_does_not_overflow() -> None:
    f = 1e12
    depth = 1 / np.sqrt(np.pi * f * mu_0 * SIGMA)  # 66 nm in a wall of 5 mm
    surface = (1 + 1j) / (2 * np.pi * SIGMA * depth)
    tube = tube_impedances(0.01, 0.015, SIGMA, f)
    assert tube.inner == pytest.approx(surface / 0.01, rel=2 * depth / 0.01)
    assert tube.outer == pytest.approx(surface / 0.015, rel=2 * depth / 0.01)
    assert tube.transfer == 0


@pytest.mark.parametrize(("mu_r", "sigma", "f"), [(1.0, 5.8e7, 50.0), (1.0, 5.8e7, 2000.0), (200.0, 6e6, 50.0)])
def test_tube_impedances_and_pipe_loss_agree_with_direct_integration_of_the_wall(
    mu_r: float, sigma: float, f: float
) -> None:
    # E'' + E'/r = j w mu sigma E, with H = I/(2 pi r) prescribed at the faces; solved without Bessel functions
    a, b = 0.02, 0.023
    square = 2j * np.pi * f * mu_0 * mu_r * sigma
    mu_omega = 2j * np.pi * f * mu_0 * mu_r
    # collocation at Chebyshev points: 40 of them resolve a wall of ten skin depths to rounding
    degree = 40
    t = np.cos(np.pi * np.arange(degree + 1) / degree)
    r = (a + b) / 2 + (b - a) / 2 * t
    basis = np.polynomial.chebyshev.chebvander(t, degree)
    unit = np.eye(degree + 1)
    first = np.polynomial.chebyshev.chebval(t, np.polynomial.chebyshev.chebder(unit)).T * 2 / (b - a)
    second = np.polynomial.chebyshev.chebval(t, np.polynomial.chebyshev.chebder(unit, 2)).T * 4 / (b - a) ** 2

    def solve(inside: float, total: float) -> tuple[complex, complex, float]:
        """Fields at both faces and loss for H(a) = inside/(2 pi a), H(b) = total/(2 pi b)."""
        system = (second + first / r[:, None] - square * basis).astype(np.complex128)
        right = np.zeros(degree + 1, dtype=np.complex128)
        system[0], right[0] = first[0], mu_omega * total / (2 * np.pi * b)
        system[-1], right[-1] = first[-1], mu_omega * inside / (2 * np.pi * a)
        scale = np.max(np.abs(system), axis=1)
        found = np.linalg.solve(system / scale[:, None], right / scale)
        nodes, weights = np.polynomial.legendre.leggauss(60)
        where = (a + b) / 2 + (b - a) / 2 * nodes
        inner_field = np.polynomial.chebyshev.chebval(nodes, found)
        loss = (b - a) / 2 * np.sum(weights * sigma * np.abs(inner_field) ** 2 * 2 * np.pi * where)
        return complex(basis[-1] @ found), complex(basis[0] @ found), float(loss)

    tube = tube_impedances(a, b, sigma, f, mu_r)
    # E is in the direction of the current, the tube's own current is total - inside
    at_a, at_b, _ = solve(0.0, 1.0)  # returns outside
    assert tube.outer == pytest.approx(at_b, rel=1e-7)
    assert tube.transfer == pytest.approx(at_a, rel=1e-7)
    at_a, at_b, _ = solve(-1.0, 0.0)  # returns inside
    assert tube.inner == pytest.approx(at_a, rel=1e-7)
    assert tube.transfer == pytest.approx(at_b, rel=1e-7)
    _, _, loss = solve(1.0, 1.0)  # no net current in the wall
    assert concentric_pipe_loss(100.0, a, b, sigma, f, mu_r) == pytest.approx(1e4 * loss, rel=1e-6)


def test_thin_pipe_loss_begins_with_the_fourth_power_of_the_thickness() -> None:
    # (t/delta)^4/3 of the loss I^2 R of the wall [D]: the standard's term (beta1 ts)^4/(12e12)
    t = 0.2e-3
    a, b = 0.02 - t / 2, 0.02 + t / 2
    for f in (50.0, 400.0):
        depth = 1 / np.sqrt(np.pi * f * mu_0 * SIGMA)
        wall = 1 / (np.pi * (b**2 - a**2) * SIGMA)
        # curvature adds (t/a)^2, the cancelling difference some 1e-16 a/t (delta/t)^4
        assert concentric_pipe_loss(1.0, a, b, SIGMA, f) / wall == pytest.approx((t / depth) ** 4 / 3, rel=1e-3)
