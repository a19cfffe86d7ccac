"""Cylinders against the exact solution; saturated and linear plates under a uniform field."""

import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.integrate import quad
from scipy.special import iv, kv

from studies.formulas.shielding import (
    cylinder_shielding_factor,
    saturated_depth,
    saturated_plate_loss,
    static_cylinder_shielding_factor,
    thin_cylinder_shielding_factor,
)


def exact_cylinder(a: float, b: float, sigma: float, f: float, mu_r: float) -> float:
    """Shielding factor of a tube by matching A at both faces, exactly. [-]

    Inside c r, wall d I1(kr) + e K1(kr), outside r + g/r, times sin(theta); A and (1/mu) dA/dr are continuous.
    """
    k = np.sqrt(2j * np.pi * f * mu_0 * mu_r * sigma)

    def slope_i(r: float) -> complex:
        return complex(k * (iv(0, k * r) - iv(1, k * r) / (k * r)))

    def slope_k(r: float) -> complex:
        return complex(-k * (kv(0, k * r) + kv(1, k * r) / (k * r)))

    matrix = np.array(
        [
            [a, -iv(1, k * a), -kv(1, k * a), 0],
            [1, -slope_i(a) / mu_r, -slope_k(a) / mu_r, 0],
            [0, iv(1, k * b), kv(1, k * b), -1 / b],
            [0, slope_i(b) / mu_r, slope_k(b) / mu_r, 1 / b**2],
        ]
    )
    return float(1 / abs(np.linalg.solve(matrix, np.array([0, 0, b, 1]))[0]))


CASES = [(5.8e7, 50, 1.0), (5.8e7, 1000, 1.0), (3.2e7, 50, 1.0), (6e6, 50, 200.0), (6e6, 50, 1000.0)]


@pytest.mark.parametrize(("sigma", "f", "mu_r"), CASES)
@pytest.mark.parametrize("ratio", [0.01, 0.02, 0.04])
def test_thin_wall_form_is_too_high_by_half_to_all_of_thickness_over_radius(
    sigma: float, f: float, mu_r: float, ratio: float
) -> None:
    # form from Kaden [M]; 0.5 t/a to 1.03 t/a high, measured over 1 to 58 MS/m, 10 Hz to 10 kHz, mu_r 1 to 5000 [D]
    a = 0.1
    t = ratio * a
    exact = exact_cylinder(a - t / 2, a + t / 2, sigma, f, mu_r)
    assert exact > 1.01  # it shields at all
    excess = cylinder_shielding_factor(a, t, sigma, f, mu_r) / exact - 1
    assert 0.5 * ratio < excess < 1.03 * ratio


@pytest.mark.parametrize("ratio", [0.005, 0.02, 0.04])
def test_thin_non_magnetic_form_within_half_a_skin_depth(ratio: float) -> None:
    a, sigma = 0.05, 5.8e7
    t = ratio * a
    f = 0.25 / (np.pi * mu_0 * sigma * t**2)  # t = delta/2
    exact = exact_cylinder(a - t / 2, a + t / 2, sigma, f, 1.0)
    assert thin_cylinder_shielding_factor(a, t, sigma, f) == pytest.approx(exact, rel=0.04)


def test_cylinder_forms_at_zero_frequency() -> None:
    a, t = 0.1, 0.001
    assert cylinder_shielding_factor(a, t, 6e6, 0.0, 300.0) == pytest.approx(1 + 300 * t / (2 * a), rel=1e-12)
    # continuous towards 0: (wall/skin depth)^2 = 2e-10 at 1e-6 Hz
    near = cylinder_shielding_factor(a, t, 6e6, 1e-6, 300.0)
    assert near == pytest.approx(1 + 300 * t / (2 * a), rel=1e-6)
    assert cylinder_shielding_factor(a, t, 0.0, 50.0) == pytest.approx(1 + t / (2 * a), rel=1e-12)


@pytest.mark.parametrize("mu_r", [1.0, 20.0, 5000.0])
def test_static_cylinder_is_the_low_frequency_limit_of_the_exact_one(mu_r: float) -> None:
    a, b = 0.05, 0.08
    # (b/delta)^2 stays below 1e-6 for 1e-12 Hz
    exact = exact_cylinder(a, b, 1e6, 1e-12, mu_r)
    assert static_cylinder_shielding_factor(a, b, mu_r) == pytest.approx(exact, rel=1e-6)


def test_saturated_plate_worked_values() -> None:
    # 50 Hz, 5 MS/m, 1.5 T, 5000 A/m [D]: no published worked number; half of the last digit
    assert saturated_depth(5000, 5e6, 50, 1.5) == pytest.approx(2.0601e-3, abs=0.00005e-3)
    assert saturated_plate_loss(5000, 5e6, 50, 1.5) == pytest.approx(2060.1, abs=0.05)
    # rms form 16 Hrms^2/(3 pi sigma delta)
    rms = 5000 / np.sqrt(2)
    assert saturated_plate_loss(5000, 5e6, 50, 1.5) == pytest.approx(
        16 * rms**2 / (3 * np.pi * 5e6 * saturated_depth(5000, 5e6, 50, 1.5)), rel=1e-12
    )


def test_saturated_plate_loss_is_the_heat_behind_its_front() -> None:
    # behind the front at x the current density is H/x: heat H^2/(sigma x); front speed from the flux 2 Bs it turns
    h0, sigma, f, bs = 3000.0, 6e6, 60.0, 1.6
    omega = 2 * np.pi * f
    depth = saturated_depth(h0, sigma, f, bs)
    assert depth**2 == pytest.approx(
        quad(lambda time: h0 * np.sin(omega * time) / (bs * sigma), 0, np.pi / omega)[0], rel=1e-9
    )  # x dx/dt = H/(2 Bs sigma), x^2 at the end of the half cycle
    mean = quad(lambda w: (h0 * np.sin(w)) ** 2 / (sigma * depth * np.sin(w / 2)), 0, np.pi)[0] / np.pi
    assert saturated_plate_loss(h0, sigma, f, bs) == pytest.approx(mean, rel=1e-9)


def test_saturated_over_linear_loss_at_equal_depth() -> None:
    # 16/(3 pi) = 1.6977 [D]
    h0, sigma, f, bs = 4000.0, 6e6, 50.0, 1.5
    depth = saturated_depth(h0, sigma, f, bs)
    linear = h0**2 / (2 * sigma * depth)  # loss of a linear half space with this skin depth, textbook [M]
    ratio = saturated_plate_loss(h0, sigma, f, bs) / linear
    assert ratio == pytest.approx(1.6977, abs=0.00005)
