"""Multipole series against a filament method without a series, and its error estimate against the true error."""

import tracemalloc
from itertools import pairwise

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats
from fem.multipole import HIGHEST_ORDER, RoundPart, RoundSolution, solve_round_parts

COPPER = 5.8e7  # [S/m]


def wire(name: str, x: float, y: float, radius: float, sigma: float = COPPER, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), radius, 0.0, sigma, mu)


def tube(name: str, x: float, y: float, outer: float, inner: float, sigma: float, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), outer, inner, sigma, mu)


def loop_impedance(solution: RoundSolution, currents: list[complex]) -> complex:
    """sum u conj(i) for currents that add up to nothing, 1 A in the loop. [ohm/m]"""
    return complex(np.sum(np.linalg.solve(solution.admittance, currents) * np.conj(currents)))


def circle(centre: tuple[float, float], radius: float, count: int) -> tuple[Floats, Floats]:
    """Points of a circle and its outward normals. [m, -]"""
    angle = 2 * np.pi * np.arange(count) / count
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.asarray(centre) + radius * normal, normal


def filament_admittance(parts: list[RoundPart], frequency: float, far: float, size: float) -> Complexes:
    """Admittance of non-magnetic round parts cut into filaments of uniform current; no series, second order in size."""
    centres, areas, owners = [], [], []
    for number, part in enumerate(parts):
        layers = max(1, round((part.outer_radius - part.inner_radius) / size))
        edges = np.linspace(part.inner_radius, part.outer_radius, layers + 1)
        for low, high in pairwise(edges):
            count = max(3, round(np.pi * (low + high) / size))
            half = np.pi / count
            centroid = 2 / 3 * (high**3 - low**3) / (high**2 - low**2) * np.sin(half) / half
            centres.append(circle(part.centre, centroid, count)[0])
            areas.append(np.full(count, np.pi * (high**2 - low**2) / count))
            owners.append(np.full(count, number))
    points, area, owner = np.vstack(centres), np.concatenate(areas), np.concatenate(owners)
    apart = np.hypot(points[:, None, 0] - points[:, 0], points[:, None, 1] - points[:, 1])
    np.fill_diagonal(apart, np.sqrt(area / np.pi) * np.exp(-0.25))  # mean distance of a disc of the cell's area
    sigma = np.array([part.conductivity for part in parts])[owner]
    impedance = 1j * frequency * mu_0 * np.log(far / apart) + np.diag(1 / (sigma * area))
    member = (owner[:, None] == np.arange(len(parts))).astype(np.complex128)
    admittance: Complexes = member.T @ np.linalg.solve(impedance, member)
    return admittance


@pytest.mark.parametrize(
    "parts",
    [
        [wire("a", 0, 0, 8e-3), wire("b", 17.5e-3, 0, 8e-3)],
        [tube("t", 0, 0, 12e-3, 10e-3, 3e7), wire("in", 2e-3, 1.5e-3, 6e-3), wire("by", 21e-3, 3e-3, 8e-3)],
    ],
    ids=["two close wires", "eccentric wire in a tube beside a wire"],
)
def test_filaments_converge_to_the_series_at_second_order(parts: list[RoundPart]) -> None:
    frequency, far = 200.0, 1.0  # 1.7 skin depths to the wires' radius
    exact = solve_round_parts(parts, frequency, far).admittance
    scale = np.abs(exact).max()
    errors = [
        np.abs(filament_admittance(parts, frequency, far, size) - exact).max() / scale for size in (2e-3, 1e-3, 5e-4)
    ]
    assert (
        errors[-1] < (5e-4 / 4.67e-3) ** 2 / 12
    )  # cell over skin depth squared; 1/12 from a uniform cell's second moment
    assert np.log2(errors[1] / errors[2]) == pytest.approx(2, abs=0.3)  # regular cells, but they do not nest


def random_layout(seed: int) -> tuple[list[RoundPart], float]:
    rng = np.random.default_rng(seed)
    parts: list[RoundPart] = []
    while len(parts) < 4:
        x, y, outer = *rng.uniform(-0.05, 0.05, 2), rng.uniform(0.003, 0.02)
        inner = outer * rng.choice([0.0, 0.6, 0.95])
        candidate = tube(str(len(parts)), x, y, outer, inner, 10 ** rng.uniform(6, 7.8), rng.choice([1.0, 200.0]))
        clear = [np.hypot(x - p.centre[0], y - p.centre[1]) - outer - p.outer_radius for p in parts]
        if min(clear, default=1) > 5e-4:
            parts.append(candidate)
    return parts, float(10 ** rng.uniform(1, 4))


@pytest.mark.parametrize("seed", range(12))
def test_true_error_stays_below_the_estimate_and_the_estimate_below_the_tolerance(seed: int) -> None:
    parts, frequency = random_layout(seed)
    solution = solve_round_parts(parts, frequency, tolerance=1e-4)
    assert solution.error_estimate <= 1e-4
    finer = solve_round_parts(parts, frequency, order=min(2 * solution.order, HIGHEST_ORDER))
    own = np.sqrt(np.abs(np.diag(finer.admittance)))
    assert np.max(np.abs(solution.admittance - finer.admittance) / np.outer(own, own)) < solution.error_estimate
    points = np.vstack([circle(part.centre, 1.01 * part.outer_radius, 48)[0] for part in parts])
    for voltages in np.eye(4):
        field = finer.field(voltages, points)
        assert np.abs(solution.field(voltages, points) - field).max() < solution.error_estimate * np.abs(field).max()


def test_too_low_an_order_is_wrong_and_says_so() -> None:
    parts = [wire("a", 0, 0, 0.01), wire("b", 0.021, 0, 0.01)]
    good, poor = solve_round_parts(parts, 1e4), solve_round_parts(parts, 1e4, order=3)
    error = abs(loop_impedance(poor, [1, -1]) / loop_impedance(good, [1, -1]) - 1)
    assert 1e-2 < error < poor.error_estimate
    assert good.error_estimate < 1e-8


def test_a_gap_too_narrow_for_the_series_is_refused() -> None:
    with pytest.raises(RuntimeError, match="too close"):
        solve_round_parts([wire("a", 0, 0, 0.01), wire("b", 0.0200001, 0, 0.01)], 1e6)


def test_a_system_larger_than_allowed_is_refused_before_it_is_made() -> None:
    close = [wire(str(k), 0.0201 * (k % 6), 0.0201 * (k // 6), 0.01) for k in range(30)]
    tracemalloc.start()
    with pytest.raises(RuntimeError, match=r"needs \d{4} unknowns, more than the allowed 500"):
        solve_round_parts(close, 50.0, tolerance=1e-6, most_unknowns=500)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 1e6  # the first system of 3600 unknowns alone is 200 MB
