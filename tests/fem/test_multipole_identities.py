"""Laws that the multipole series must keep in a crowded layout: reciprocity, power, Ampere, conduction, continuity."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats
from fem.multipole import RoundPart, RoundSolution, solve_round_parts

COPPER = 5.8e7  # [S/m]
ROUNDING = 1e-10  # direct formulas and dense algebra in double precision, with room


def wire(name: str, x: float, y: float, radius: float, sigma: float = COPPER, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), radius, 0.0, sigma, mu)


def tube(name: str, x: float, y: float, outer: float, inner: float, sigma: float, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), outer, inner, sigma, mu)


# steel pipe with a wire, a screen and an eccentric hysteretic wire in the screen; beside it a non-conducting magnetic
# tube with a wire at its centre
CROWD = (
    tube("pipe", 0.10, 0.05, 0.080, 0.075, 6e6, 400 - 100j),
    wire("c1", 0.07, 0.05, 0.010),
    tube("screen", 0.12, 0.06, 0.020, 0.0195, COPPER),
    wire("c2", 0.121, 0.0605, 0.012, 3.5e7, 2 - 0.1j),
    tube("ferrite", 0.25, 0.05, 0.030, 0.010, 0.0, 500.0),
    wire("c3", 0.25, 0.05, 0.004, 1e7),
)
CROWD_VOLTAGES = np.array([1, -1j, 0.4, 0.2, 0.0, 0.3])


def driven(solution: RoundSolution, currents: list[complex]) -> Complexes:
    """Voltages that drive net currents through conducting parts. [V/m]"""
    return np.asarray(np.linalg.solve(solution.admittance, np.asarray(currents)), dtype=np.complex128)


def circle(centre: tuple[float, float], radius: float, count: int) -> tuple[Floats, Floats]:
    """Points of a circle and its outward normals. [m, -]"""
    angle = 2 * np.pi * np.arange(count) / count
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.asarray(centre) + radius * normal, normal


def circulation(solution: RoundSolution, voltages: Complexes, centre: tuple[float, float], radius: float) -> complex:
    """Integral of B/mu_0 around a circle, by the trapezoidal rule (exponentially accurate on a circle). [A]"""
    points, normal = circle(centre, radius, 256)
    field = solution.field(voltages, points)
    tangential = field[:, 1] * normal[:, 0] - field[:, 0] * normal[:, 1]
    return complex(2 * np.pi * radius * np.mean(tangential) / mu_0)


def test_admittance_is_symmetric_and_blind_to_the_place_of_the_layout() -> None:
    here = solve_round_parts(CROWD, 50.0, order=40)
    scale = np.abs(here.admittance).max()
    assert np.abs(here.admittance - here.admittance.T).max() < ROUNDING * scale
    move, turn = 3.0 - 2.0j, np.exp(0.7j)
    moved = []
    for part in CROWD:
        axis = complex(*part.centre) * turn + move
        moved.append(replace(part, centre=(axis.real, axis.imag)))
    order = [3, 5, 0, 4, 2, 1]
    there = solve_round_parts([moved[number] for number in order], 50.0, order=40)
    expected = here.admittance[np.ix_(order, order)]
    assert np.abs(there.admittance - expected).max() < ROUNDING * scale
    points = np.array([[0.0, 0.2], [0.121, 0.0605], [0.178, 0.05], [0.265, 0.05], [0.06, 0.02]])
    z = (points[:, 0] + 1j * points[:, 1]) * turn + move
    before = here.field(CROWD_VOLTAGES, points)
    after = there.field(CROWD_VOLTAGES[order], np.stack([z.real, z.imag], axis=1))
    rotation = np.array([[turn.real, -turn.imag], [turn.imag, turn.real]])
    # coordinates of some metres keep 1e-15 m of the layout's 1e-2 m
    assert np.abs(after - before @ rotation.T).max() < 1e-9 * np.abs(before).max()


def test_nothing_depends_on_the_reference_radius_without_a_net_current() -> None:
    parts = [part for part in CROWD if part.conductivity > 0]
    currents: list[complex] = [0, 1, 0, -0.4 + 0.2j, -0.6 - 0.2j]
    near, far = (solve_round_parts(parts, 50.0, radius) for radius in (0.5, 1e5))
    assert driven(near, currents) == pytest.approx(driven(far, currents), rel=1e-9)
    assert near.admittance != pytest.approx(far.admittance, rel=1e-3)  # a net current does depend on it


def test_far_potential_is_that_of_the_net_current_with_its_return_on_the_reference_circle() -> None:
    solution = solve_round_parts(CROWD, 50.0, 1000.0)
    net = np.sum(solution.admittance @ CROWD_VOLTAGES)
    # the next term, the dipole, vanishes in the mean over a circle about any point
    points, _ = circle((0.1, 0.05), 30.0, 64)
    mean = np.mean(solution.vector_potential(CROWD_VOLTAGES, points))
    assert mean == pytest.approx(mu_0 / (2 * np.pi) * net * np.log(1000 / 30), rel=ROUNDING)


@pytest.mark.parametrize("frequency", [0.0, 1e-6, 50.0, 3000.0, 1e6])
def test_power_fed_in_is_the_loss_integrated_over_the_metal(frequency: float) -> None:
    solution = solve_round_parts(CROWD, frequency)
    currents = solution.admittance @ CROWD_VOLTAGES
    joule, magnetic = solution.losses(CROWD_VOLTAGES), solution.magnetic_losses(CROWD_VOLTAGES)
    assert np.all(joule >= 0)
    assert list(np.nonzero(joule == 0)[0]) == [4]  # the part that does not conduct
    hysteretic = [0, 3] if frequency > 0 else []
    assert list(np.nonzero(magnetic)[0]) == hysteretic
    power = float(np.sum(CROWD_VOLTAGES * currents.conj()).real)
    # holds at any order; the quadrature over the skin depth keeps 12 digits of A, 1e-2 of its n = 0 part at 1 MHz
    assert np.sum(joule + magnetic) == pytest.approx(power, rel=1e-10)


@pytest.mark.parametrize("frequency", [0.0, 50.0, 2e4])
def test_circulation_of_the_field_is_the_enclosed_current(frequency: float) -> None:
    solution = solve_round_parts(CROWD, frequency)
    currents = solution.admittance @ CROWD_VOLTAGES
    scale = ROUNDING * np.abs(currents).max()
    for number, radius in ((1, 0.0105), (3, 0.0150), (5, 0.0070), (2, 0.0215), (0, 0.0850)):
        inside = {2: [2, 3], 0: [0, 1, 2, 3]}.get(number, [number])
        enclosed = circulation(solution, CROWD_VOLTAGES, CROWD[number].centre, radius)
        assert enclosed == pytest.approx(np.sum(currents[inside]), abs=scale)


@pytest.mark.parametrize("frequency", [0.0, 50.0, 1000.0])
def test_current_is_the_integral_of_the_conduction_law_over_the_section(frequency: float) -> None:
    solution = solve_round_parts(CROWD, frequency)
    currents = solution.admittance @ CROWD_VOLTAGES
    nodes, weights = np.polynomial.legendre.leggauss(24)  # wall and radius are at most 5 skin depths
    for number in (0, 2, 3, 5):
        part = CROWD[number]
        middle, half = (part.outer_radius + part.inner_radius) / 2, (part.outer_radius - part.inner_radius) / 2
        total = 0j
        for node, weight in zip(nodes, weights, strict=True):
            radius = middle + half * node
            points, _ = circle(part.centre, radius, 128)
            field = CROWD_VOLTAGES[number] - 2j * np.pi * frequency * solution.vector_potential(CROWD_VOLTAGES, points)
            total += weight * half * 2 * np.pi * radius * complex(np.mean(field))
        assert part.conductivity * total == pytest.approx(currents[number], rel=1e-8, abs=1e-10 * abs(currents).max())


def test_potential_normal_field_and_tangential_h_are_continuous_at_every_surface() -> None:
    solution = solve_round_parts(CROWD, 50.0, tolerance=1e-10)
    step = 1e-9  # relative distance from the surface; fields vary over 1e-2 of a radius at the least
    for part in CROWD:
        for radius, metal_within in ((part.outer_radius, True), (part.inner_radius, False)):
            if radius == 0:
                continue
            sides = []
            for side in (-step, step):
                points, normal = circle(part.centre, radius * (1 + side), 12)
                field = solution.field(CROWD_VOLTAGES, points)
                mu = part.relative_permeability if metal_within == (side < 0) else 1.0
                h = (field[:, 1] * normal[:, 0] - field[:, 0] * normal[:, 1]) / mu
                potential = solution.vector_potential(CROWD_VOLTAGES, points)
                sides.append([potential, np.sum(field * normal, axis=1), h])
            for within, without in zip(*sides, strict=True):
                assert within == pytest.approx(without, abs=1e-6 * np.abs(within).max())  # 100 steps, and the series
