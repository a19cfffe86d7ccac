"""The highest field along a traverse, which may lie between its points."""

from __future__ import annotations

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.answers.fields.rows import TraversePeak
from studies.solve.solution import Solution, combined_error, root_sum_square

STEP = 0.25
"""Longest step between samples over the distance of the nearest solid: no hill there is narrower. [-]"""
LEAST_STEP = 1e-3
"""Shortest step over the length of the traverse, along which it may cross metal. [-]"""
FIRST = 32
"""Intervals at the least before steps are halved near solids."""
NEARLY = 0.9
"""Hills whose highest sample has this share of the highest are searched. [-]"""
MOST_HILLS = 5
"""Hills that are searched, the highest first."""
AROUND = np.linspace(-1.0, 1.0, 9)
"""Places in a round of the search, over half the interval that is left, about the highest; a round leaves a quarter."""
ROUNDS = 5


def traverse_peak(points: Floats, solutions: tuple[Solution, ...]) -> TraversePeak:
    """The highest resultant along the straight line of a traverse.

    points, shape (n, 2): Points of the traverse in their order on the line. [m]
    solutions: One for each frequency.
    Returns peak: Never below the highest of the points; inside metal, where the field jumps from element to element,
        the highest of samples a thousandth of the length apart.
    """
    start, way = points[0], points[-1] - points[0]
    shares = _samples(np.linspace(0.0, 1.0, len(points)), start, way, solutions)
    field = _field(shares, start, way, solutions)
    best = max((_summit(k, shares, start, way, solutions) for k in _hills(field)), key=lambda found: found[1])
    return _peak_at(best[0], start, way, solutions)


def _samples(shares: Floats, start: Floats, way: Floats, solutions: tuple[Solution, ...]) -> Floats:
    """The points of the traverse and enough between them, as shares of its length, shape (m,)."""
    length, probe = float(np.linalg.norm(way)), solutions[0].solved.probe
    shares = np.union1d(shares, np.linspace(0.0, 1.0, FIRST + 1))
    while True:
        clear = probe.free_distance(start + np.outer(shares, way))
        gaps = np.diff(shares)
        allowed = np.maximum(STEP * (np.minimum(clear[1:], clear[:-1])) / length, LEAST_STEP)
        wide = gaps > allowed
        if not wide.any():
            return shares
        shares = np.union1d(shares, shares[:-1][wide] + gaps[wide] / 2)


def _field(shares: Floats, start: Floats, way: Floats, solutions: tuple[Solution, ...]) -> Floats:
    points = start + np.outer(shares, way)
    return root_sum_square([resultant(s.solved.probe.flux_density(s.solved.nodal, points)) for s in solutions])


def _hills(field: Floats) -> list[int]:
    """Numbers of the samples that are above their neighbours and nearly the highest, the highest first."""
    beside = np.pad(field, 1, constant_values=-np.inf)
    tops = np.flatnonzero((field >= beside[:-2]) & (field >= beside[2:]) & (field >= NEARLY * field.max()))
    return [int(k) for k in tops[np.argsort(-field[tops], kind="stable")][:MOST_HILLS]]


def _summit(k: int, shares: Floats, start: Floats, way: Floats, solutions: tuple[Solution, ...]) -> tuple[float, float]:
    """Share of the length and field of the highest point between the samples beside one of them."""
    low, high = float(shares[max(k - 1, 0)]), float(shares[min(k + 1, len(shares) - 1)])
    at, half = float(shares[k]), max(shares[k] - low, high - shares[k])
    top = -np.inf
    for _ in range(ROUNDS):
        tried = np.clip(at + half * AROUND, low, high)
        field = _field(tried, start, way, solutions)
        at, top, half = float(tried[field.argmax()]), float(field.max()), half / 4
    return at, top


def _peak_at(share: float, start: Floats, way: Floats, solutions: tuple[Solution, ...]) -> TraversePeak:
    """Place and field with its error at a share of the length."""
    point = (start + share * way)[None]
    fields = [s.solved.probe.flux_density(s.solved.nodal, point) for s in solutions]
    errors = [s.estimate.of_field_at(point, field) for s, field in zip(solutions, fields, strict=True)]
    magnitudes = [resultant(field) for field in fields]
    return TraversePeak(
        distance_m=share * float(np.linalg.norm(way)),
        x_m=float(point[0, 0]),
        y_m=float(point[0, 1]),
        b_rms_t=float(root_sum_square(magnitudes)[0]),
        b_rms_error_t=float(combined_error(magnitudes, errors)[0]),
    )
