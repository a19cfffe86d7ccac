"""The highest field along a traverse, which may lie between its points."""

from __future__ import annotations

import numpy as np

from fem.arrays import Floats
from studies.answers.fields.rows import TraversePeak
from studies.answers.limits.judged_field import JudgedField

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


def traverse_peak(points: Floats, field: JudgedField) -> TraversePeak:
    """The highest resultant along the straight line of a traverse.

    points, shape (n, 2): Points of the traverse in their order on the line. [m]
    field: Of all frequencies.
    Returns peak: Never below the highest of the points; inside metal, where the field jumps from element to element,
        the highest of samples a thousandth of the length apart.
    """
    start, way = points[0], points[-1] - points[0]
    shares = _samples(np.linspace(0.0, 1.0, len(points)), start, way, field)
    hills = _hills(field.value(start + np.outer(shares, way)))
    best = max((_summit(k, shares, start, way, field) for k in hills), key=lambda found: found[1])
    return _peak_at(best[0], start, way, field)


def _samples(shares: Floats, start: Floats, way: Floats, field: JudgedField) -> Floats:
    """The points of the traverse and enough between them, as shares of its length, shape (m,)."""
    length, probe = float(np.linalg.norm(way)), field.solutions[0].solved.probe
    shares = np.union1d(shares, np.linspace(0.0, 1.0, FIRST + 1))
    while True:
        clear = probe.free_distance(start + np.outer(shares, way))
        gaps = np.diff(shares)
        allowed = np.maximum(STEP * (np.minimum(clear[1:], clear[:-1])) / length, LEAST_STEP)
        wide = gaps > allowed
        if not wide.any():
            return shares
        shares = np.union1d(shares, shares[:-1][wide] + gaps[wide] / 2)


def _hills(field: Floats) -> list[int]:
    """Numbers of the samples that are above their neighbours and nearly the highest, the highest first."""
    beside = np.pad(field, 1, constant_values=-np.inf)
    tops = np.flatnonzero((field >= beside[:-2]) & (field >= beside[2:]) & (field >= NEARLY * field.max()))
    return [int(k) for k in tops[np.argsort(-field[tops], kind="stable")][:MOST_HILLS]]


def _summit(k: int, shares: Floats, start: Floats, way: Floats, field: JudgedField) -> tuple[float, float]:
    """Share of the length and field of the highest point between the samples beside one of them."""
    low, high = float(shares[max(k - 1, 0)]), float(shares[min(k + 1, len(shares) - 1)])
    at, half = float(shares[k]), max(shares[k] - low, high - shares[k])
    top = -np.inf
    for _ in range(ROUNDS):
        tried = np.clip(at + half * AROUND, low, high)
        found = field.value(start + np.outer(tried, way))
        at, top, half = float(tried[found.argmax()]), float(found.max()), half / 4
    return at, top


def _peak_at(share: float, start: Floats, way: Floats, field: JudgedField) -> TraversePeak:
    """Place and field with its error at a share of the length."""
    point = (start + share * way)[None]
    value, error = field.value_and_error(point)
    return TraversePeak(
        distance_m=share * float(np.linalg.norm(way)),
        x_m=float(point[0, 0]),
        y_m=float(point[0, 1]),
        b_rms_t=float(value[0]),
        b_rms_error_t=float(error[0]),
    )
