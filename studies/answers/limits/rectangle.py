"""The rectangle around all solids, from which distances are measured, and the rays that leave it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats, Ints


@dataclass(frozen=True)
class Rectangle:
    """Upright rectangle that encloses every solid."""

    low: tuple[float, float]
    """Lower left corner. [m]"""
    high: tuple[float, float]
    """Upper right corner. [m]"""

    def __post_init__(self) -> None:
        (x0, y0), (x1, y1) = self.low, self.high
        if not (np.all(np.isfinite([x0, y0, x1, y1])) and x1 >= x0 and y1 >= y0 and (x1 > x0 or y1 > y0)):
            raise ValueError(f"a rectangle needs a corner low and one high above it: {self.low}, {self.high}")

    @property
    def centre(self) -> Floats:
        """Its middle, shape (2,). [m]"""
        return np.add(self.low, self.high) / 2

    @property
    def half(self) -> Floats:
        """Half of width and height, shape (2,). [m]"""
        return np.subtract(self.high, self.low) / 2

    @property
    def diagonal(self) -> float:
        """From corner to corner. [m]"""
        return float(2 * np.hypot(*self.half))

    def distance(self, points: Floats) -> Floats:
        """Least distance of points (n, 2) [m] from it, 0 inside, shape (n,). [m]"""
        away = np.maximum(np.abs(points - self.centre) - self.half, 0.0)
        return np.asarray(np.hypot(away[:, 0], away[:, 1]))


@dataclass(frozen=True)
class Rays:
    """Straight lines out of a rectangle."""

    origins: Floats
    """On the rectangle, shape (n, 2). [m]"""
    directions: Floats
    """Unit vectors, shape (n, 2)."""

    def points(self, lengths: Floats) -> Floats:
        """Points at lengths (n,) [m] along each ray, shape (n, 2). [m]"""
        return np.asarray(self.origins + lengths[:, None] * self.directions)

    def chosen(self, which: Ints) -> Rays:
        """Some of the rays, by number."""
        return Rays(self.origins[which], self.directions[which])


def side_rays(rectangle: Rectangle) -> Rays:
    """Rays from the middle of each side straight out, in the order of `DIRECTIONS`."""
    return perimeter_rays(rectangle, np.array([0.5, 2.5, 4.5, 6.5]))


def perimeter_rays(rectangle: Rectangle, places: Floats) -> Rays:
    """Rays whose length is the distance from the rectangle, at places (n,) around it.

    A place counts from 0 to 8 and around again: even steps run along a side, whose rays leave at right angles, odd
    steps turn a quarter about a corner; 0 to 1 is the right side upwards, 1 to 2 the upper right corner. Every point
    outside lies on one of these rays, the one from its nearest point of the rectangle.
    """
    step, part = np.divmod(np.mod(places, 8.0), 1.0)
    side = step // 2 % 4  # a place just below 0 is 8 after rounding, which is 0 again
    corner = step % 2 == 1
    angle = (side + np.where(corner, part, 0.0)) * np.pi / 2
    directions = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    along = np.where(corner, 1.0, 2 * part - 1)  # of the half side, counter-clockwise
    # the side that looks to (n_x, n_y) runs along (-n_y, n_x)
    normal = np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]])[side.astype(np.int64)]
    run = np.stack([-normal[:, 1], normal[:, 0]], axis=1)
    return Rays(rectangle.centre + (normal + along[:, None] * run) * rectangle.half, directions)
