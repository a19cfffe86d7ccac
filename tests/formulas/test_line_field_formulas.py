"""Field of line currents: exact forms, far forms and moments held against each other."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from studies.formulas.far_field import (
    field_decay_exponent,
    flat_far_field,
    multipole_field_magnitude,
    multipole_moments,
    net_current_far_field,
    trefoil_far_field,
)
from studies.formulas.line_field import flat_field, line_field, trefoil_field

A = np.exp(2j * np.pi / 3)
BALANCED = np.array([1, A**2, A])
SPACING = 0.05
FLAT = np.array([[-SPACING, 0], [0, 0], [SPACING, 0]])
RADIUS = SPACING / np.sqrt(3)
TREFOIL = np.array([[-SPACING / 2, -RADIUS / 2], [SPACING / 2, -RADIUS / 2], [0, RADIUS]])
ABOVE = np.array([0, 0.2])
DISTANCES = np.array([0.1, 0.2, 0.5, 1.0])
ROUNDING = 1e-12  # some hundred roundings of double precision


def resultant(field: NDArray[np.complex128]) -> NDArray[np.float64]:
    return np.asarray(np.linalg.norm(field, axis=1), dtype=np.float64)


def random_points(count: int) -> NDArray[np.float64]:
    return np.random.default_rng(7).uniform(-0.3, 0.3, (count, 2))


def test_one_line_gives_a_fifth_of_a_microtesla_per_ampere_and_metre() -> None:
    # law of Biot and Savart, B = 0.2 I/r uT [C]
    assert line_field([[2.0, 0.0]], [[0.0, 0.0]], [100.0])[0] == pytest.approx([0, 10e-6], rel=1e-9, abs=1e-20)
    assert line_field([[0.0, 2.0]], [[0.0, 0.0]], [100.0])[0] == pytest.approx([-10e-6, 0], rel=1e-9, abs=1e-20)
    assert net_current_far_field(2.0, 100.0) == pytest.approx(10e-6, rel=1e-9)


def test_field_has_the_circulation_of_the_enclosed_current_and_no_sources() -> None:
    angle = 2 * np.pi * np.arange(720) / 720
    circle = 0.2 * np.stack((np.cos(angle), np.sin(angle)), axis=1) + [0.01, 0.02]
    tangent = np.stack((-np.sin(angle), np.cos(angle)), axis=1)
    normal = np.stack((np.cos(angle), np.sin(angle)), axis=1)
    currents = [3 + 1j, -1.0, 2j]
    field = line_field(circle, FLAT, currents)
    step = 0.2 * 2 * np.pi / 720
    # the trapezium rule on a circle is exact up to (0.06/0.2)^720
    assert np.sum(field * tangent) * step == pytest.approx(4e-7 * np.pi * (2 + 3j), rel=1e-9)
    assert abs(np.sum(field * normal) * step) < 1e-18


@pytest.mark.parametrize(
    ("form", "across", "published"),
    [
        (flat_field, False, [2403.701, 466.6667, 70.09839, 17.37115]),
        (flat_field, True, [1442.221, 411.7647, 68.71030, 17.28451]),
        (trefoil_field, False, [1274.386, 309.3578, 49.07138, 12.25255]),
        (trefoil_field, True, [1306.177, 310.2923, 49.08082, 12.25285]),
    ],
)
def test_exact_forms_reproduce_tabulated_values(
    form: Callable[..., NDArray[np.float64]], across: bool, published: list[float]
) -> None:
    # 1 A, 50 mm, nT, recomputed independently [D]; half of the last printed digit of each
    x, y = (0 * DISTANCES, DISTANCES) if across else (DISTANCES, 0 * DISTANCES)
    digits = [0.5e-3 if v > 1000 else 0.5e-4 if v > 100 else 0.5e-5 for v in published]
    assert np.all(np.abs(form(x, y, SPACING, 1.0) * 1e9 - published) <= np.array(digits) * 1.02)


def test_exact_forms_equal_the_superposition_everywhere() -> None:
    points = random_points(200)
    x, y = points.T
    for currents in (BALANCED, BALANCED.conj()):  # either sequence
        flat = resultant(line_field(points, FLAT, 7 * currents))
        trefoil = resultant(line_field(points, TREFOIL, 7 * currents))
        assert flat_field(x, y, SPACING, 7.0) == pytest.approx(flat, rel=ROUNDING)
        assert trefoil_field(x, y, SPACING, 7.0) == pytest.approx(trefoil, rel=ROUNDING)


@pytest.mark.parametrize(
    ("far", "exact", "angle", "coefficient"),
    [
        (flat_far_field, flat_field, 0.0, 7 / 6),
        (flat_far_field, flat_field, np.pi / 2, -5 / 6),
        (trefoil_far_field, trefoil_field, 0.0, 1 / 6),
        (trefoil_far_field, trefoil_field, np.pi, 1 / 6),
    ],
)
def test_far_forms_tend_to_the_exact_ones_with_the_square_of_the_distance(
    far: Callable[..., NDArray[np.float64]], exact: Callable[..., NDArray[np.float64]], angle: float, coefficient: float
) -> None:
    r = SPACING * np.array([10.0, 20.0, 40.0])
    excess = exact(r * np.cos(angle), r * np.sin(angle), SPACING, 1.0) / far(r, SPACING, 1.0) - 1
    # second order, and the stated coefficient; what is left over is of the next order, (s/r)^2 of it or less
    assert np.log2(excess[1] / excess[2]) == pytest.approx(2, abs=0.01)
    assert excess[2] * (r[2] / SPACING) ** 2 == pytest.approx(coefficient, rel=0.01)


def test_trefoil_far_form_misses_a_third_order_term_towards_the_apex() -> None:
    r = SPACING * np.array([20.0, 40.0, 80.0])
    excess = trefoil_field(0 * r, r, SPACING, 1.0) / trefoil_far_field(r, SPACING, 1.0) - 1 - (SPACING / r) ** 2 / 6
    # 1/(r1 r2 r3) = 1/(r^3 - a^3) in the direction of a line
    assert excess[2] * (r[2] / SPACING) ** 3 == pytest.approx(3**-1.5, rel=0.02)


@pytest.mark.parametrize(
    ("axes", "far"), [(FLAT, flat_far_field), (TREFOIL, trefoil_far_field)], ids=["flat", "trefoil"]
)
def test_far_forms_are_the_first_moment(axes: NDArray[np.float64], far: Callable[..., NDArray[np.float64]]) -> None:
    moments = multipole_moments(axes, BALANCED, 1, [0.0, 0.0])
    assert np.allclose(moments[0], 0, atol=1e-15)
    assert multipole_field_magnitude(2.0, moments[1], 1) == pytest.approx(far(2.0, SPACING, 1.0), rel=ROUNDING)


@pytest.mark.parametrize("order", [0, 1, 2, 3])
def test_first_moment_that_is_not_zero_is_the_field_far_away(order: int) -> None:
    # currents with binomial weights on a row have no lower moment: (1), (1, -1), (1, -2, 1), (1, -3, 3, -1)
    weights = np.polynomial.polynomial.polypow([1.0, -1.0], order)
    axes = np.stack((SPACING * np.arange(order + 1), np.zeros(order + 1)), axis=1)
    moment = multipole_moments(axes, weights, order, [0.0, 0.0])[order]
    directions = np.array([[np.cos(t), np.sin(t)] for t in (0.1, 1.2, 4.0)])
    centre = [order * SPACING / 2, 0.0]  # about it the next moment is zero: the error is of order (size/r)^2
    exact = resultant(line_field(centre + 100.0 * directions, axes, weights))
    size = order * SPACING / 100.0
    assert exact == pytest.approx(np.full(3, multipole_field_magnitude(100.0, moment, order)), rel=1e-9 + 2 * size**2)


def test_lowest_moment_does_not_depend_on_the_centre() -> None:
    here = multipole_moments(FLAT, BALANCED, 1, [0, 0])
    there = multipole_moments(FLAT, BALANCED, 1, [3.0, -2.0])
    assert here.shape == there.shape == (2, 2)
    # the net current, zero to 1e-16 A, stands on an arm of 4 m
    assert there[1] == pytest.approx(here[1], rel=1e-12, abs=1e-14)
    # the dipole moment of a flat circuit, sum of i x [A m]
    assert here[1] == pytest.approx(np.array([SPACING * (A - 1), 0]), rel=1e-12)


@pytest.mark.parametrize(
    ("axes", "currents", "exponent"),
    [
        (FLAT, [1.0, 1.0, 1.0], 1),  # net current
        (FLAT, BALANCED, 2),
        (TREFOIL, BALANCED, 2),
        (np.vstack((FLAT, FLAT + ABOVE)), np.concatenate((BALANCED, BALANCED)), 2),  # same order in both circuits
        (np.vstack((FLAT, FLAT + ABOVE)), np.concatenate((BALANCED, BALANCED[::-1])), 3),  # low-reactance order
        (FLAT, [1.0, -2.0, 1.0], 3),  # the highest that three lines can reach
        (FLAT, [0.0, 0.0, 0.0], 0),
    ],
)
def test_field_falls_with_the_stated_power_of_the_distance(
    axes: NDArray[np.float64], currents: NDArray[np.complex128], exponent: int
) -> None:
    # two circuits: 1/r^2 with like orders, 1/r^3 in the low-reactance order (Pettersson 1996 [M])
    assert field_decay_exponent(axes, currents) == exponent
    if exponent:
        direction = np.array([np.cos(0.4), np.sin(0.4)])
        near, far = resultant(line_field(np.array([20.0, 40.0])[:, None] * direction, axes, currents))
        assert np.log2(near / far) == pytest.approx(exponent, abs=0.02)  # next order: 0.2 m in 20 m


def test_many_lines_far_apart_overflow_nothing() -> None:
    # the highest moment of 400 lines 40 m apart is 40^399 A m^399
    axes = np.stack((np.linspace(-40.0, 40.0, 400), np.zeros(400)), axis=1)
    with np.errstate(over="raise", invalid="raise", divide="raise"):
        assert field_decay_exponent(axes, np.tile([1.0, -1.0], 200)) == 2
        assert field_decay_exponent(1e-3 * axes, np.ones(400)) == 1


def test_a_point_on_an_axis_is_refused_by_its_number() -> None:
    with pytest.raises(ValueError, match="points: number 1"):
        line_field([[1, 1], [0, 0]], FLAT, BALANCED)


def test_the_flat_field_on_an_axis_is_infinite() -> None:
    assert np.isinf(flat_field(0.0, 0.0, SPACING, 1.0))


def test_a_centre_of_another_shape_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^centre must have the shape \(2,\): \(3,\)$"):
        multipole_moments(FLAT, BALANCED, 1, [0.0, 0.0, 0.0])
