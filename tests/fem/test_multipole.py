"""Multipole series for round parts against closed forms and published tables."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.special import iv, ive, jve, kv, kve

from fem.arrays import Complexes
from fem.multipole import RoundPart, RoundSolution, solve_round_parts
from fem.round_metal import Metal, decaying, growing

COPPER = 5.8e7  # [S/m]
ROUNDING = 1e-10  # direct formulas and dense algebra in double precision, with room


def wire(name: str, x: float, y: float, radius: float, sigma: float = COPPER, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), radius, 0.0, sigma, mu)


def tube(name: str, x: float, y: float, outer: float, inner: float, sigma: float, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), outer, inner, sigma, mu)


def driven(solution: RoundSolution, currents: list[complex]) -> Complexes:
    """Voltages that drive net currents through conducting parts. [V/m]"""
    return np.asarray(np.linalg.solve(solution.admittance, np.asarray(currents)), dtype=np.complex128)


def loop_impedance(solution: RoundSolution, currents: list[complex]) -> complex:
    """sum u conj(i) for currents that add up to nothing, 1 A in the loop. [ohm/m]"""
    return complex(np.sum(driven(solution, currents) * np.conj(currents)))


def schelkunoff(part: RoundPart, frequency: float) -> tuple[complex, complex, complex]:
    """Za, Zb and Zab of a tube [ohm/m] by plain Bessel functions; S. A. Schelkunoff, Bell Syst. Tech. J., 1934 [M]."""
    a, b, rho = part.inner_radius, part.outer_radius, 1 / part.conductivity
    m = np.sqrt(2j * np.pi * frequency * mu_0 * part.relative_permeability / rho)
    below = iv(1, m * b) * kv(1, m * a) - iv(1, m * a) * kv(1, m * b)
    za = rho * m / (2 * np.pi * a) * (iv(0, m * a) * kv(1, m * b) + kv(0, m * a) * iv(1, m * b)) / below
    zb = rho * m / (2 * np.pi * b) * (iv(0, m * b) * kv(1, m * a) + kv(0, m * b) * iv(1, m * a)) / below
    return complex(za), complex(zb), complex(rho / (2 * np.pi * a * b) / below)


@pytest.mark.parametrize("size", [0.5, 3.0, 19.9, 20.1, 300.0, 1e4])  # |k| b below, about and above the order
def test_radial_functions_match_library_bessel_functions(size: float) -> None:
    order, sigma, inner, outer = 20, 5e6, 0.7, 1.0
    metal = Metal(inner, outer, sigma, 1.0, size**2 / (2 * np.pi * mu_0 * sigma))
    n, radius = np.arange(1, order + 1)[:, None], np.array([0.7, 0.9, 0.99, 1.0])
    x, at_b, at_a = metal.k * radius, metal.k * outer, metal.k * inner
    grown, grow_excess = growing(metal, radius, order)
    fallen, fall_excess = decaying(metal, radius, order)
    expected = ive(n, x) / ive(n, at_b) * np.exp((x - at_b).real)
    # the library's own phase is exp(j Im x), good to 1e-16 |x|
    assert np.abs(grown - expected).max() < 1e-12 + 1e-15 * size
    assert np.abs(fallen - kve(n, x) / kve(n, at_a) * np.exp(at_a - x)).max() < 1e-12 + 1e-15 * size
    # r dP/dr = (n + e) P with the derivatives I_n' = I_{n+1} + n I_n/x and K_n' = -K_{n-1} - n K_n/x
    assert grow_excess == pytest.approx(x * ive(n + 1, x) / ive(n, x), rel=1e-12)
    assert fall_excess == pytest.approx(x * kve(n - 1, x) / kve(n, x), rel=1e-12)


@pytest.mark.parametrize(
    ("x", "resistance_ratio", "inductance_ratio"),
    # Rosa & Grover, NBS Bulletin 8, 1912 and NBS Circular 74, 1924 [M]; digits recomputed from the Bessel ratio [D]
    [
        (0.5, 1.00033, 0.99984),
        (1, 1.00519, 0.99741),
        (2, 1.07816, 0.96114),
        (3, 1.31809, 0.84517),
        (5, 2.04273, 0.55597),
        (10, 3.79858, 0.28162),
        (20, 7.32767, 0.14128),
    ],
)
def test_single_wire_matches_the_published_skin_effect_table(
    x: float, resistance_ratio: float, inductance_ratio: float
) -> None:
    radius, far = 0.01, 50.0
    omega = (x / radius) ** 2 / (mu_0 * COPPER)
    solution = solve_round_parts([wire("w", 0.3, -0.2, radius)], omega / (2 * np.pi), far)
    impedance = complex(1 / solution.admittance[0, 0])
    internal = impedance.imag / omega - mu_0 / (2 * np.pi) * np.log(far / radius)
    half_digit = 0.5e-5  # of the table
    assert impedance.real * COPPER * np.pi * radius**2 == pytest.approx(resistance_ratio, abs=half_digit)
    assert internal / (mu_0 / (8 * np.pi)) == pytest.approx(inductance_ratio, abs=half_digit)


@pytest.mark.parametrize("frequency", [1e-3, 50.0, 1e4, 1e7])
@pytest.mark.parametrize("mu", [1.0, 300.0, 300 - 120j])
def test_single_wire_matches_the_bessel_impedance_for_any_permeability(frequency: float, mu: complex) -> None:
    radius, sigma, far, omega = 0.006, 6e6, 1000.0, 2 * np.pi * frequency
    ka = np.sqrt(-1j * omega * mu_0 * mu * sigma) * radius
    internal = ka / (2 * np.pi * radius**2 * sigma) * jve(0, ka) / jve(1, ka)
    expected = internal + 1j * omega * mu_0 / (2 * np.pi) * np.log(far / radius)
    solution = solve_round_parts([wire("w", 0.0, 0.0, radius, sigma, mu)], frequency, far)
    assert abs(1 / solution.admittance[0, 0] / expected - 1) < ROUNDING


@pytest.mark.parametrize("frequency", [0.1, 50.0, 5000.0])
@pytest.mark.parametrize("mu", [1.0, 50 - 20j])
def test_wire_in_tube_matches_the_surface_impedances_of_the_tube(frequency: float, mu: complex) -> None:
    screen, core, far = tube("s", 0.0, 0.0, 0.014, 0.012, 2e7, mu), wire("c", 0.0, 0.0, 0.009), 1000.0
    za, zb, zab = schelkunoff(screen, frequency)
    reactance = 2j * np.pi * frequency * mu_0 / (2 * np.pi)
    solution = solve_round_parts([core, screen], frequency, far)
    alone = complex(1 / solve_round_parts([core], frequency, far).admittance[0, 0])
    core_internal = alone - reactance * np.log(far / core.outer_radius)
    outside = zb + reactance * np.log(far / screen.outer_radius)
    # u_k per unit currents: the core's flux outside the tube links both; the tube's wall couples by Za, Zb, Zab
    core_self = core_internal + reactance * np.log(0.012 / 0.009) + za - 2 * zab + outside
    expected = np.array([[core_self, outside - zab], [outside - zab, outside]])
    assert np.abs(np.linalg.inv(solution.admittance) / expected - 1).max() < ROUNDING
    open_screen = driven(solution, [1, 0])
    loss = float((solution.losses(open_screen) + solution.magnetic_losses(open_screen))[1])
    assert loss == pytest.approx((za + zb - 2 * zab).real, rel=1e-8)  # four terms cancel to 1e-3 of each at 0.1 Hz


def test_bonding_the_screens_of_two_cables_matches_the_circulating_current_formula() -> None:
    distance, mean, wall, frequency = 0.5, 0.0125, 1e-4, 50.0
    parts = [wire("c1", 0, 0, 0.005), tube("s1", 0, 0, mean + wall / 2, mean - wall / 2, COPPER)]
    parts += [replace(part, name=part.name + "'", centre=(distance, 0.0)) for part in parts]
    solution = solve_round_parts(parts, frequency)
    # screens open, then both at one voltage with the currents adding up to nothing; cores carry 1 A and -1 A
    opened = driven(solution, [1, 0, -1, 0])
    impedance = np.linalg.inv(solution.admittance)
    loop = np.array([0, 1, 0, -1])
    circulating = -(loop @ impedance @ np.array([1, 0, -1, 0])) / (loop @ impedance @ loop)
    bonded = driven(solution, [1, circulating, -1, -circulating])
    assert bonded[1] == pytest.approx(bonded[3], abs=1e-12 * abs(opened[1]))
    # IEC 60287-1-1, two single-core cables: lambda1' R = Rs/(1 + (Rs/X)^2), X = 2 w 1e-7 ln(2 s/d) [C]
    rs, x = 1 / (COPPER * 2 * np.pi * mean * wall), 4 * np.pi * frequency * 1e-7 * np.log(distance / mean)
    # the formula has a thin wall (t/3d of the internal inductance, 2.7e-3 of ln) and no proximity ((d/2s)^2 = 6e-4)
    assert solution.losses(bonded)[1] == pytest.approx(rs / (1 + (rs / x) ** 2), rel=2 * 2.7e-3 / np.log(40))
    assert abs(opened[1]) == pytest.approx(x, rel=2.7e-3 / np.log(40))
    assert solution.losses(opened)[1] < 1e-3 * solution.losses(bonded)[1]  # eddy currents alone
    far_point = [[0.25, 3.0]]
    weakened = np.linalg.norm(solution.field(bonded, far_point)) / np.linalg.norm(solution.field(opened, far_point))
    assert weakened == pytest.approx(abs(1 + circulating), rel=1e-3)  # (d/2s)^2 from the eddy dipoles


def test_low_frequency_inductances_are_those_of_mean_distances() -> None:
    far, frequency = 100.0, 1e-3
    parts = [wire("a", 0, 0, 0.010), wire("b", 0.03, 0, 0.012, 3e7), tube("c", 0.01, 0.04, 0.015, 0.005, COPPER)]
    impedance = np.linalg.inv(solve_round_parts(parts, frequency, far).admittance)
    b, a = 0.015, 0.005  # mean distance of an annulus from itself: J. C. Maxwell, Treatise, art. 692 [M]
    annulus = np.log(b) - a**4 / (b**2 - a**2) ** 2 * np.log(b / a) + (3 * a**2 - b**2) / (4 * (b**2 - a**2))
    own = [np.log(0.010) - 0.25, np.log(0.012) - 0.25, annulus]
    x, y = (np.array([part.centre[axis] for part in parts]) for axis in (0, 1))
    logs = np.log(np.hypot(x[:, None] - x, y[:, None] - y) + np.eye(3))
    expected = mu_0 / (2 * np.pi) * (np.log(far) - logs - np.diag(own))
    # the skin effect at (b/delta)^2 = 1e-4 moves inductances by its square; the imaginary parts of Z, at 1e-2 of
    # the real parts, keep 14 digits less 2
    assert np.abs(impedance.imag / (2 * np.pi * frequency) / expected - 1).max() < 1e-8


@pytest.mark.parametrize("ratio", [2.2, 3.0, 6.0])  # distance over radius
def test_two_wires_tend_to_the_full_skin_limits_in_proportion_to_the_skin_depth(ratio: float) -> None:
    radius, errors = 0.01, []
    depths = np.array([4e-5, 2e-5, 1e-5])  # [m]
    for depth in depths:
        frequency = 1 / (np.pi * mu_0 * COPPER * depth**2)
        solution = solve_round_parts([wire("a", 0, 0, radius), wire("b", ratio * radius, 0, radius)], frequency)
        impedance, omega = loop_impedance(solution, [1, -1]), 2 * np.pi * frequency
        # values from the classical two-wire line: L = (mu0/pi) arccosh(D/2a), RHF/Rskin = 1/sqrt(1 - (2a/D)^2) [M]
        inductance = mu_0 / np.pi * np.arccosh(ratio / 2)
        internal = impedance.real / omega  # equal to the internal inductance in the limit
        skin = 2 / (2 * np.pi * radius * depth * COPPER)
        resistance = skin / np.sqrt(1 - (2 / ratio) ** 2)
        errors.append([abs(impedance.imag / omega / inductance - 1), abs(impedance.real / resistance - 1)])
        # without the internal part only the second order is left, in the depth against the smallest length
        smallest = min(1.0, ratio - 2) * radius
        assert (impedance.imag / omega - internal) / inductance == pytest.approx(1, abs=(depth / smallest) ** 2)
    order = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert order == pytest.approx(1, abs=0.05)  # first order in the depth, with 0.05 from the next term
    assert errors[-1][1] < 3 * depths[-1] / smallest  # a coefficient of order 1


def test_static_field_is_the_sum_of_uniform_round_currents() -> None:
    parts = [wire("a", 0, 0, 0.01), wire("b", 0.025, 0.005, 0.008, 3e7), tube("c", -0.03, 0, 0.015, 0.01, 2e7)]
    solution = solve_round_parts(parts, 0.0)
    assert solution.admittance == pytest.approx(
        np.diag([p.conductivity * np.pi * (p.outer_radius**2 - p.inner_radius**2) for p in parts]), rel=1e-12
    )
    currents = np.array([1.0, 2.0, -0.5])
    points = np.array([[0.004, -0.003], [0.028, 0.001], [-0.018, 0.002], [-0.03, 0.001], [0.1, 0.2], [0.0, 0.0]])
    expected = np.zeros((6, 2))
    for part, current in zip(parts, currents, strict=True):
        x, y = (points - part.centre).T
        r = np.hypot(x, y)
        a, b = part.inner_radius, part.outer_radius
        share = np.clip((r**2 - a**2) / (b**2 - a**2), 0, 1) / np.maximum(r, 1e-12) ** 2
        expected += mu_0 * current / (2 * np.pi) * share[:, None] * np.stack([-y, x], axis=1)
    field = solution.field(driven(solution, list(currents)), points)
    # the bore's field is a power series of the others' fields; 1e-8 is the tolerance of the solve
    assert np.abs(field - expected).max() < 1e-8 * np.abs(expected).max()


def test_widely_spaced_wires_tend_to_line_currents_with_the_square_of_radius_over_spacing() -> None:
    points, currents = np.array([[0.3, 0.4], [-0.2, 0.1], [1.0, -2.0]]), [1, np.exp(-2j * np.pi / 3), 0.3j]
    errors = []
    for radius in (0.008, 0.004, 0.002):
        axes = [(-0.1, 0.0), (0.0, 0.02), (0.1, 0.0)]
        solution = solve_round_parts([wire(str(n), *axis, radius) for n, axis in enumerate(axes)], 1e6)
        field = solution.field(driven(solution, currents), points)
        lines = np.zeros_like(field)
        for axis, current in zip(axes, currents, strict=True):
            x, y = (points - axis).T
            lines += mu_0 * current / (2 * np.pi * (x**2 + y**2))[:, None] * np.stack([-y, x], axis=1)
        errors.append(np.abs(field / lines - 1).max())
    assert errors[-1] < (0.002 / 0.1) ** 2 * 2  # eddy dipoles of two neighbours
    assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(2, abs=0.1)  # next term (a/s)^4


@pytest.mark.parametrize(("mu", "inner"), [(50.0, 0.09), (1000.0, 0.098), (20000.0, 0.05)])
def test_static_magnetic_tube_shields_a_transverse_field_by_the_closed_form(mu: float, inner: float) -> None:
    outer, far, current = 0.1, 40.0, 1.0
    parts = [tube("shield", 0, 0, outer, inner, 0.0, mu), wire("l", -far, 0, 1e-3), wire("r", far, 0, 1e-3)]
    solution = solve_round_parts(parts, 0.0)
    voltages = np.array([0, current, -current]) / (COPPER * np.pi * 1e-6)
    inside = solution.field(voltages, [[0.0, 0.0]])[0]
    unshielded = mu_0 * current / (np.pi * far)
    # textbook form, e.g. W. R. Smythe, Static and Dynamic Electricity [M]
    factor = ((mu + 1) ** 2 - (mu - 1) ** 2 * (inner / outer) ** 2) / (4 * mu)
    # at the axis only the uniform part of the incident field is left; the lines are at 0 V m = dc currents: exact
    assert inside[1] == pytest.approx(unshielded / factor, rel=1e-9)
    assert abs(inside[0]) < 1e-9 * abs(inside[1])


@pytest.mark.parametrize("frequency", [50.0, 5000.0])
def test_thin_conducting_tube_shields_a_transverse_field_by_the_sheet_form(frequency: float) -> None:
    radius, wall, far, sigma = 0.1, 1e-5, 40.0, 3.5e7
    shell = tube("shell", 0, 0, radius + wall / 2, radius - wall / 2, sigma)
    solution = solve_round_parts([shell, wire("l", -far, 0, 1e-3), wire("r", far, 0, 1e-3)], frequency)
    inside = solution.field(driven(solution, [0, 1, -1]), [[0.0, 0.0]])[0, 1]
    factor = 1 + 2j * np.pi * frequency * mu_0 * sigma * radius * wall / 2  # sheet of conductance sigma t [M]
    # the wall is 1e-4 of the radius and at most 0.0083 skin depths; lines act as dipoles by (1e-3/80)^2
    assert inside * factor == pytest.approx(mu_0 / (np.pi * far), rel=3e-4)


def test_static_line_beside_and_inside_magnetic_cylinders_has_its_images() -> None:
    mu, radius, distance, current = 80.0, 0.05, 0.12, 3.0
    reflect = (mu - 1) / (mu + 1)
    solution = solve_round_parts([wire("core", 0, 0, radius, 0.0, mu), wire("line", distance, 0, 1e-3)], 0.0)
    voltages = np.array([0, current / (COPPER * np.pi * 1e-6)])
    point = np.array([[-0.03, 0.08]])
    # image +reflect at radius^2/distance and -reflect on the axis; method of images, Smythe [M]
    lines = [(distance, 1.0), (radius**2 / distance, reflect), (0.0, -reflect)]
    x, y = point[0]
    expected = [
        mu_0 * current / (2 * np.pi) * sum(share * part / ((x - at) ** 2 + y**2) for at, share in lines)
        for part in (-y, 0)
    ]
    expected[1] = mu_0 * current / (2 * np.pi) * sum(s * (x - at) / ((x - at) ** 2 + y**2) for at, s in lines)
    assert solution.field(voltages, point)[0] == pytest.approx(np.array(expected), rel=1e-8)  # tolerance of the solve
    # wall of a magnetic tube about its wire carries mu times the field of the line
    coaxial = solve_round_parts([wire("line", 0, 0, 1e-3), tube("t", 0, 0, 0.03, 0.02, 0.0, mu)], 0.0)
    wall = coaxial.field(voltages[::-1], [[0.025, 0.0], [0.04, 0.0]])[:, 1]
    assert wall == pytest.approx(mu_0 * current / (2 * np.pi) / np.array([0.025 / mu, 0.04]), rel=ROUNDING)


def test_thick_metal_at_high_frequency_and_faint_metal_at_low_frequency_stay_finite() -> None:
    thick = [wire("a", 0, 0, 0.3, COPPER, 1000.0), tube("t", 0, 0, 0.6, 0.4, COPPER, 1000.0)]
    impedance = np.linalg.inv(solve_round_parts(thick, 1e8).admittance)
    depth = 1 / np.sqrt(np.pi * 1e8 * mu_0 * 1000 * COPPER)
    surface = 1 / (2 * np.pi * 0.3 * depth * COPPER) + 1 / (2 * np.pi * 0.4 * depth * COPPER)
    loop = np.array([1, -1]) @ impedance @ np.array([1, -1])
    assert loop.real == pytest.approx(surface, rel=1e-6)  # next term: depth/radius = 2e-7
    faint = solve_round_parts([wire("a", 0, 0, 0.01, 1e-9), tube("t", 0, 0, 0.03, 0.02, 1e-9)], 1e-9).admittance
    assert faint == pytest.approx(np.diag([1e-9 * np.pi * 1e-4, 1e-9 * np.pi * 5e-4]), rel=1e-12)
