"""Closed loops of points: area, sense of rotation, points inside."""

from __future__ import annotations

import numpy as np

from geometry.arrays import Floats

Point = tuple[float, float]


def signed_area(loop: Floats) -> float:
    """Area within a loop (n, 2) [m], negative if the loop runs clockwise. [m^2]"""
    x, y = (loop - loop[0]).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def anticlockwise(loop: Floats) -> Floats:
    """The loop, reversed if it runs clockwise."""
    return loop if signed_area(loop) > 0 else loop[::-1]


def circle(centre: Point, radius: float) -> Floats:
    """Circle as a polygon of 256 sides. [m]"""
    angle = np.linspace(0, 2 * np.pi, 256, endpoint=False)
    return np.asarray(centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def is_inside(point: Floats, loop: Floats) -> bool:
    """Whether a point lies in a loop: an odd number of edges crosses the ray to its right."""
    (x, y), (px, py) = point, loop.T
    qx, qy = np.roll(px, -1), np.roll(py, -1)
    crosses = (py > y) != (qy > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_right = x < px + (y - py) * (qx - px) / (qy - py)
    return bool(np.count_nonzero(crosses & to_right) % 2)


def as_points(corners: Floats) -> tuple[Point, ...]:
    """Array (n, 2) as a tuple of points."""
    return tuple((float(x), float(y)) for x, y in corners)
