"""Line currents over an infinite plate: limits, an independent wall solution and a plate cut into strips."""

import time
import tracemalloc
from typing import Literal

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.constants import mu_0
from scipy.integrate import quad

from studies.formulas.infinite_plate import plate_field, plate_loss, plate_waves
from studies.formulas.line_field import line_field
from studies.formulas.line_impedance import phase_impedance_matrix

A = np.exp(2j * np.pi / 3)
CURRENTS = 400 * np.array([1, A**2, A])
AXES = np.array([[-0.056, 0.028], [0, 0.028], [0.056, 0.028]])
F = 50.0
OMEGA = 2 * np.pi * F
POINTS = np.array([[x, y] for x in (-2.0, -0.3, 0.0, 0.1, 1.0) for y in (1.0, 0.2, 0.0, -0.003, -0.1, -1.0)])
THICKNESS = 0.003
STEEL = (6e6, 300.0)
ALUMINIUM = (3.2e7, 1.0)


def test_plate_of_air_is_transparent() -> None:
    result = plate_field(POINTS, AXES, CURRENTS, THICKNESS, 0.0, F)
    free = line_field(POINTS, AXES, CURRENTS)
    # beyond it the whole field comes from the integral, so this tests the quadrature too; 1e-12 of the largest
    assert np.max(np.abs(result.field - free)) < 1e-12 * np.max(np.abs(free))
    assert plate_loss(AXES, CURRENTS, THICKNESS, 0.0, F).loss == 0
    assert plate_loss(AXES, CURRENTS, THICKNESS, 6e6, 0.0, 300.0).loss == 0
    u = np.array([0.1, 10.0, 1000.0])
    assert plate_waves(u, THICKNESS, 0.0, F).transmission == pytest.approx(np.exp(-u * THICKNESS), rel=1e-12)
    assert np.all(plate_waves(u, THICKNESS, 0.0, F).reflection == 0)


@pytest.mark.parametrize(("sigma", "mu_r"), [STEEL, ALUMINIUM], ids=["steel", "aluminium"])
def test_waves_match_at_both_faces(sigma: float, mu_r: float) -> None:
    # transfer matrix of the wall instead of the closed form: (A, H) at the far face from those at the near one
    for u in (0.01, 1.0, 30.0, 500.0):
        g = np.sqrt(u**2 + 1j * OMEGA * mu_0 * mu_r * sigma)
        p = g / mu_r
        c, s = np.cosh(g * THICKNESS), np.sinh(g * THICKNESS)
        rho, transmitted = plate_waves(u, THICKNESS, sigma, F, mu_r)
        near = np.array([1 + rho, u * (1 - rho)])
        far = np.array([[c, -s / p], [-p * s, c]]) @ near  # towards -y
        assert far == pytest.approx(
            np.array([transmitted, u * transmitted]), rel=1e-9, abs=1e-12 * abs(near[0] * p * s)
        )


def test_perfect_conductor_gives_the_opposite_image() -> None:
    above = POINTS[POINTS[:, 1] >= 0]
    result = plate_field(above, AXES, CURRENTS, 1.0, 1e15, F)
    image = line_field(above, AXES * [1, -1], -CURRENTS)
    # the image plane is a skin depth (2 um) of 28 mm deep
    expected = line_field(above, AXES, CURRENTS) + image
    assert np.max(np.abs(result.field - expected)) < 3e-4 * np.max(np.abs(expected))


def test_thick_static_magnetic_plate_gives_the_like_image() -> None:
    above = POINTS[POINTS[:, 1] >= 0]
    mu_r = 50.0
    result = plate_field(above, AXES, CURRENTS, 1000.0, 0.0, F, mu_r)
    image = line_field(above, AXES * [1, -1], CURRENTS * (mu_r - 1) / (mu_r + 1))
    expected = line_field(above, AXES, CURRENTS) + image
    # waves of 1 km and longer pass: (28 mm/1 km) of the image
    assert np.max(np.abs(result.field - expected)) < 1e-4 * np.max(np.abs(expected))


def wall_loss(u: float, sigma: float, mu_r: float) -> float:
    """w^2 sigma int abs(A)^2 dy through the wall for an incident A = 1/u at the near face, by collocation.

    The wall's equation A'' = g^2 A with the outgoing waves as boundary conditions; no closed form is used.
    """
    degree = 60
    t = np.cos(np.pi * np.arange(degree + 1) / degree)
    basis = np.polynomial.chebyshev.chebvander(t, degree)
    unit = np.eye(degree + 1)
    per_length = 2 / THICKNESS
    first = np.polynomial.chebyshev.chebval(t, np.polynomial.chebyshev.chebder(unit)).T * per_length
    second = np.polynomial.chebyshev.chebval(t, np.polynomial.chebyshev.chebder(unit, 2)).T * per_length**2
    system = second - (u**2 + 1j * OMEGA * mu_0 * mu_r * sigma) * basis
    right = np.zeros(degree + 1, dtype=np.complex128)
    system[0] = first[0] / mu_r + u * basis[0]  # near face: A'/mu_r + u A = 2 u A0
    right[0] = 2.0
    system[-1] = first[-1] / mu_r - u * basis[-1]  # far face: A'/mu_r = u A
    scale = np.max(np.abs(system), axis=1)
    found = np.linalg.solve(system / scale[:, None], right / scale)
    nodes, weights = np.polynomial.legendre.leggauss(80)
    field = np.polynomial.chebyshev.chebval(nodes, found)
    return float(OMEGA**2 * sigma * THICKNESS / 2 * np.sum(weights * np.abs(field) ** 2))


@pytest.mark.parametrize(("sigma", "mu_r"), [STEEL, ALUMINIUM], ids=["steel", "aluminium"])
def test_plate_loss_is_the_joule_heat_of_an_independent_wall_solution(sigma: float, mu_r: float) -> None:
    def heat(u: float) -> float:
        spectrum = [CURRENTS @ np.exp(-u * AXES[:, 1] + sign * 1j * u * AXES[:, 0]) for sign in (1, -1)]
        # Parseval: 2 pi (mu0/4 pi)^2 for the two sides of the spectrum
        return float(mu_0**2 / (8 * np.pi) * sum(abs(s) ** 2 for s in spectrum) * wall_loss(u, sigma, mu_r))

    total = quad(heat, 1e-9, 700, points=[1, 10, 30, 100, 300], epsrel=1e-9, limit=200)[0]
    result = plate_loss(AXES, CURRENTS, THICKNESS, sigma, F, mu_r)
    # quad 1e-9, tail exp(-2*700*0.028) = 1e-17, collocation 1e-9
    assert result.loss == pytest.approx(total, rel=1e-7)
    assert result.error < 1e-9 * result.loss


def test_loss_of_a_single_line_over_a_thin_sheet_has_its_closed_integral() -> None:
    # thin sheet: rho = -j uc/(u + j uc), uc = w mu0 sigma t/2 [D]
    height, thickness, sigma = 0.3, 1e-4, 3.2e7
    uc = OMEGA * mu_0 * sigma * thickness / 2
    integral = quad(lambda u: uc / (u**2 + uc**2) * np.exp(-2 * u * height), 0, 100, points=[uc], limit=200)[0]
    result = plate_loss([[0.4, height]], [100.0], thickness, sigma, F)
    # thickness over height 3e-4, (t/delta)^2 = 7e-5
    assert result.loss == pytest.approx(OMEGA * mu_0 * 1e4 / (2 * np.pi) * integral, rel=1e-3)


def test_thick_plate_is_the_half_space() -> None:
    sigma, mu_r = STEEL
    depth = 1 / np.sqrt(np.pi * F * mu_0 * mu_r * sigma)

    def absorbed(u: float) -> float:
        p = np.sqrt(u**2 + 1j * OMEGA * mu_0 * mu_r * sigma) / mu_r
        rho = (u - p) / (u + p)
        both = sum(abs(CURRENTS @ np.exp(-u * AXES[:, 1] + s * 1j * u * AXES[:, 0])) ** 2 for s in (1, -1))
        return float(OMEGA * mu_0 / (4 * np.pi) * both * -rho.imag / u)

    half_space = quad(absorbed, 1e-9, 700, points=[1, 3, 10, 30, 100, 300], limit=300)[0]
    # exp(-2*20) of the wave comes back
    assert plate_loss(AXES, CURRENTS, 20 * depth, sigma, F, mu_r).loss == pytest.approx(half_space, rel=1e-8)
    # and a plate of one skin depth is clearly not one
    assert abs(plate_loss(AXES, CURRENTS, depth, sigma, F, mu_r).loss / half_space - 1) > 0.02


def strip_solution(
    width: float, count: int, thickness: float, sigma: float
) -> tuple[NDArray[np.float64], NDArray[np.complex128], float]:
    """A non-magnetic thin plate cut into strips side by side: positions, currents and loss, in real space."""
    step = width / count
    x = (np.arange(count) + 0.5) * step - width / 2
    strips = np.stack((x, np.full(count, -thickness / 2)), axis=1)
    # geometric mean radius of a flat strip: w exp(-3/2)
    radii = np.concatenate((np.full(count, step * np.exp(-1.5)), np.full(len(AXES), 1e-3)))
    ohms = np.concatenate((np.full(count, 1 / (sigma * step * thickness)), np.zeros(len(AXES))))
    matrix = phase_impedance_matrix(np.vstack((strips, AXES)), radii, ohms, F, 100.0)
    currents = np.linalg.solve(matrix[:count, :count], -matrix[:count, count:] @ CURRENTS).astype(np.complex128)
    return strips, currents, float(np.sum(ohms[:count] * np.abs(currents) ** 2))


def test_loss_and_field_agree_with_a_plate_cut_into_strips() -> None:
    # a second method in real space; strips of 5 mm under lines 28 mm up, 3 m wide, eddies return within decimetres
    sigma, thickness = ALUMINIUM[0], 0.001
    strips, currents, loss = strip_solution(3.0, 600, thickness, sigma)
    assert plate_loss(AXES, CURRENTS, thickness, sigma, F).loss == pytest.approx(
        loss, rel=0.002
    )  # 0.08 % seen, a quarter of it with half the strips' width
    points = np.array([[x, y] for x in (-0.3, 0.0, 0.04, 0.25) for y in (-0.1, -0.4, 0.15, 0.5)])
    result = plate_field(points, AXES, CURRENTS, thickness, sigma, F)
    by_strips = line_field(points, np.vstack((AXES, strips)), np.concatenate((CURRENTS, currents)))
    # edges of the 3 m plate and (5 mm/128 mm)^2 of the strips: 0.05 % seen; the plate changes these
    # fields by half
    assert np.max(np.abs(result.field - by_strips)) < 0.001 * np.max(np.abs(by_strips))
    assert np.max(np.abs(line_field(points, AXES, CURRENTS) - by_strips)) > 0.1 * np.max(np.abs(by_strips))


@pytest.mark.parametrize("x", [0.0, 0.5, 5.0, 20.0])
def test_stated_quadrature_error_covers_a_second_quadrature(x: float) -> None:
    height, below = 0.05, 0.02
    result = plate_field([[x, -THICKNESS - below]], [[0.0, height]], [100.0], THICKNESS, ALUMINIUM[0], F)

    def transmitted(u: float, part: str) -> float:
        wave = plate_waves(u, THICKNESS, ALUMINIUM[0], F).transmission * np.exp(-u * (height + below))
        return float(getattr(wave, part))

    def integral(part: str, turn: Literal["cos", "sin"]) -> float:
        # quadrature made for oscillation; exp(-600*0.07) is nothing
        pieces = ((1e-12, 1.0), (1.0, 30.0), (30.0, 600.0))
        total = 0.0
        for low, high in pieces:
            total += quad(transmitted, low, high, args=(part,), weight=turn, wvar=x, limit=400, epsabs=1e-15)[0]
        return total

    expected = [
        integral("real", "cos") + 1j * integral("imag", "cos"),
        integral("real", "sin") + 1j * integral("imag", "sin"),
    ]
    difference = np.max(np.abs(result.field[0] - 2e-5 * np.array(expected)))
    # the second quadrature itself stops at 1e-13 T here
    assert difference <= result.error + 1e-13
    assert result.error < 1e-6 * np.max(np.abs(result.field))


@pytest.mark.parametrize("x", [50.0, 999.0])
def test_far_along_the_floor_the_field_is_that_of_a_line_with_its_image(x: float) -> None:
    # thin sheet: rho = -1 + u/(j uc) + u^2/uc^2 - ..., uc = w mu0 sigma t/2, each power of u a power of 1/x [D]:
    # on the near face int (1 - rho) exp(-uh) cos ux du = 2h/r^2 - Re[1/(j uc z^2)] - ..., z = h - jx in the plane
    height, thickness, sigma, current = 0.028, 1e-4, 3.2e8, 100.0
    uc = OMEGA * mu_0 * sigma * thickness / 2
    power = [(1 / (height - 1j * x) ** n) for n in (1, 2)]
    along = 2 * power[0].real + 1j / uc * power[1].real
    across = -1j / uc * power[1].imag  # int (1 + rho) exp(-uh) sin ux du
    expected = 2e-7 * current * np.array([along, across])
    result = plate_field([[x, 0.0]], [[0.0, height]], [current], thickness, sigma, F)
    # the next power is 2/(uc x) of the second one; half of the thickness over the height 2e-3; the line's own field of
    # 1/x, a thousand times this at 50 m, cancels
    assert np.max(np.abs(result.field[0] - expected)) < (0.002 + 2 / (uc * x)) * np.max(np.abs(expected))
    assert result.error < 1e-6 * np.max(np.abs(expected))


@pytest.mark.parametrize("x", [0.1, 50.0, 999.0])
def test_the_work_does_not_grow_with_the_distance(x: float) -> None:
    axes = AXES - np.array([0.0, 0.014])
    tracemalloc.start()
    before = time.process_time()
    plate_field([[x, 0.0]], axes, CURRENTS, THICKNESS, *STEEL[:1], F, STEEL[1])
    plate_loss(np.vstack((axes, axes + np.array([x, 0.0]))), np.tile(CURRENTS, 2), THICKNESS, *ALUMINIUM[:1], F)
    spent, (_, peak) = time.process_time() - before, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # 1400 nodes, 7 ms and 1 MB seen; along the real axis 50 m took 4 s and 760 MB
    assert spent < 0.1
    assert peak < 20e6


def test_the_loss_of_groups_far_apart_is_the_sum_of_their_own() -> None:
    two = np.vstack((AXES, AXES * [1, 2] + [40.0, 0.0]))
    apart = [plate_loss(two[k], CURRENTS, THICKNESS, *ALUMINIUM[:1], F).loss for k in (slice(3), slice(3, 6))]
    together = plate_loss(two[[4, 0, 5, 2, 1, 3]], np.tile(CURRENTS, 2)[[4, 0, 5, 2, 1, 3]], THICKNESS, ALUMINIUM[0], F)
    # dipoles of 56 mm: their eddies reach each other as (0.1 m/40 m)^2
    assert together.loss == pytest.approx(sum(apart), rel=1e-5)


def test_field_is_continuous_across_the_plate_in_its_normal_component() -> None:
    # transparent at low spatial frequency only: By of the thin sheet is the same on both faces
    x = np.linspace(-0.2, 0.2, 9)
    t = 1e-6
    near = plate_field(np.stack((x, 0 * x), axis=1), AXES, CURRENTS, t, 3.2e10, F).field
    far = plate_field(np.stack((x, 0 * x - t), axis=1), AXES, CURRENTS, t, 3.2e10, F).field
    assert near[:, 1] == pytest.approx(far[:, 1], rel=1e-3)  # thickness over the 28 mm
    # and Bx jumps by mu0 times the sheet current
    assert np.max(np.abs(near[:, 0] - far[:, 0])) > 0.3 * np.max(np.abs(near[:, 0]))


@pytest.mark.parametrize(("along", "times"), [(7.0, 1.0), (0.0, 3.0)], ids=["moved", "three times the current"])
def test_loss_depends_on_the_square_of_the_current_alone(along: float, times: float) -> None:
    sigma, mu_r = STEEL
    first = plate_loss(AXES, CURRENTS, THICKNESS, sigma, F, mu_r).loss
    other = plate_loss(AXES + np.array([along, 0.0]), times * CURRENTS, THICKNESS, sigma, F, mu_r).loss
    assert other == pytest.approx(times**2 * first, rel=1e-9)


def test_a_line_below_the_plate_is_refused() -> None:
    with pytest.raises(ValueError, match="axes: number 1"):
        plate_loss([[0, 0.1], [0, -0.1]], [1, -1], THICKNESS, 1e7, F)


def test_a_point_inside_the_plate_is_refused() -> None:
    with pytest.raises(ValueError, match="points: number 0"):
        plate_field([[0, -0.001]], AXES, CURRENTS, THICKNESS, 1e7, F)
