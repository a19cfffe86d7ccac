"""Short-circuit currents and forces: printed factors against forces in time."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from studies.formulas.forces import (
    FLAT_MIDDLE_FACTOR_EXACT,
    FLAT_OUTER_FACTOR_EXACT,
    TREFOIL_FACTOR_EXACT,
    alternating_line_force,
    flat_middle_force,
    flat_outer_force,
    mean_line_force,
    peak_current,
    peak_factor,
    trefoil_force,
    two_conductor_force,
)
from studies.formulas.line_field import line_field

KILOAMPERE = 1e3
A = np.exp(2j * np.pi / 3)
BALANCED = np.array([1, A**2, A]) * KILOAMPERE / np.sqrt(2)  # rms, so that each amplitude is 1 kA
FLAT = np.array([[-1.0, 0], [0, 0], [1.0, 0]])
TREFOIL = np.array([[0, 0], [1, 0], [0.5, np.sqrt(0.75)]])
ANGLE = np.linspace(0, 2 * np.pi, 7201)
MU0_DIGITS = 1e-9


@pytest.mark.parametrize(
    ("ratio", "kappa"), [(0.05, 1.8635), (0.1, 1.7460), (0.2, 1.5578), (0.3, 1.4184), (0.5, 1.2387), (1, 1.0688)]
)
def test_peak_factor(ratio: float, kappa: float) -> None:
    # IEC 60909-0 formula [C], values [D]; half of the last printed digit
    assert peak_factor(ratio) == pytest.approx(kappa, abs=0.00005)


def test_peak_factor_without_resistance_is_two() -> None:
    assert peak_factor(0.0) == pytest.approx(2.0)


def test_peak_current_of_ten_kiloamperes() -> None:
    assert peak_current(10e3, 1.8) == pytest.approx(25.456e3, abs=0.5)


@pytest.mark.parametrize(
    ("form", "printed"),
    [(trefoil_force, 0.17), (flat_middle_force, 0.17), (flat_outer_force, 0.16), (two_conductor_force, 0.2)],
)
def test_standard_forces_have_the_printed_factors(form: Callable[..., NDArray[np.float64]], printed: float) -> None:
    # IEC 61914, ip in kA, S in m: trefoil [C], flat and two conductors [M]
    assert form(50 * KILOAMPERE, 0.05) == pytest.approx(printed * 50**2 / 0.05, rel=MU0_DIGITS)


def force_in_time(axes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Components on each conductor over a cycle, shape (angle, conductor, 2)."""
    mean, double = mean_line_force(axes, BALANCED), alternating_line_force(axes, BALANCED)
    return np.asarray(mean + np.real(double * np.exp(2j * ANGLE)[:, None, None]), dtype=np.float64)


def test_exact_factors_are_the_extremes_in_time() -> None:
    # unit spacing, amplitude 1 kA; 7200 steps a cycle catch a crest to 1e-6
    trefoil = np.max(np.linalg.norm(force_in_time(TREFOIL), axis=2), axis=0)
    flat = np.max(np.abs(force_in_time(FLAT)[:, :, 0]), axis=0)
    assert trefoil == pytest.approx(np.full(3, trefoil_force(KILOAMPERE, 1.0, TREFOIL_FACTOR_EXACT)), rel=1e-6)
    assert flat[1] == pytest.approx(flat_middle_force(KILOAMPERE, 1.0, FLAT_MIDDLE_FACTOR_EXACT), rel=1e-6)
    assert flat[[0, 2]] == pytest.approx(
        np.full(2, flat_outer_force(KILOAMPERE, 1.0, FLAT_OUTER_FACTOR_EXACT)), rel=1e-6
    )
    # symbolic values 0.17321 and 0.16160 [D]
    assert trefoil[0] == pytest.approx(0.17321, abs=0.000005)
    assert flat[1] == pytest.approx(0.17321, abs=0.000005)
    assert flat[0] == pytest.approx(0.16160, abs=0.000005)


def test_an_outer_conductor_in_flat_formation_is_mostly_pushed_outwards() -> None:
    # [D]: +0.0116 towards the middle and -0.1616 away from it
    force = force_in_time(FLAT)[:, 0, 0]
    assert np.max(force) == pytest.approx(0.0116, abs=0.00005)
    assert np.min(force) == pytest.approx(-0.1616, abs=0.00005)


def test_printed_factors_lie_at_most_two_per_cent_below_the_exact_ones() -> None:
    for form, exact in (
        (trefoil_force, TREFOIL_FACTOR_EXACT),
        (flat_middle_force, FLAT_MIDDLE_FACTOR_EXACT),
        (flat_outer_force, FLAT_OUTER_FACTOR_EXACT),
    ):
        assert 0.98 < form(1.0, 1.0) / form(1.0, 1.0, exact) < 1.0


def five_lines() -> tuple[np.ndarray, np.ndarray]:
    """Axes [m] and currents [A] of five lines."""
    rng = np.random.default_rng(11)
    return rng.uniform(-1, 1, (5, 2)), rng.normal(size=5) + 1j * rng.normal(size=5)


def test_line_forces_are_current_times_the_field_of_the_others() -> None:
    axes, currents = five_lines()
    mean = mean_line_force(axes, currents)
    for k in range(5):
        rest = [n for n in range(5) if n != k]
        bx, by = line_field(axes[k : k + 1], axes[rest], currents[rest])[0]
        # F = I z x B, mean of rms phasors
        expected = np.real(currents[k] * np.conj([-by, bx]))
        assert mean[k] == pytest.approx(expected, rel=1e-9)


def test_line_forces_sum_to_zero() -> None:
    axes, currents = five_lines()
    mean = mean_line_force(axes, currents)
    assert np.abs(np.sum(mean, axis=0)).max() < 1e-12 * np.abs(mean).max()
    assert np.abs(np.sum(alternating_line_force(axes, currents), axis=0)).max() < 1e-12 * np.abs(mean).max()


def test_a_conductor_repels_its_return() -> None:
    mean = mean_line_force([[0.0, 0.0], [0.05, 0.0]], [10.0, -10.0])
    assert mean[1, 0] > 0
    # crest of a sinusoid is twice its mean
    assert 2 * mean[1, 0] == pytest.approx(two_conductor_force(10 * np.sqrt(2), 0.05), rel=MU0_DIGITS)
