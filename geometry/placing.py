"""Solids turned and moved into place."""

from __future__ import annotations

import math

import numpy as np

from geometry.arrays import Floats
from geometry.loops import Point, as_points
from geometry.network import Network
from geometry.polygons import Polygon
from geometry.shapes import Disc, Shape, Tube, Wall

QUARTER = math.pi / 2
"""A right angle. [rad]"""


def placed(shape: Shape, origin: Point = (0.0, 0.0), angle: float = 0.0) -> Shape:
    """The solid turned about the origin of its axes, then moved.

    origin: New place of the origin of its axes. [m]
    angle: Angle of rotation, anticlockwise; multiples of a right angle keep upright faces exactly upright. [rad]
    Returns shape: A solid of the same kind.
    """
    if not all(math.isfinite(value) for value in (*origin, angle)):
        raise ValueError(f"origin and angle of a placed solid must be finite: {origin} m, {angle} rad")
    turn = _turn(angle)

    def moved(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return as_points(np.asarray(points, dtype=float) @ turn.T + np.asarray(origin))

    match shape:
        case Disc(centre, radius):
            return Disc(moved((centre,))[0], radius)
        case Tube(centre, inner_radius, outer_radius):
            return Tube(moved((centre,))[0], inner_radius, outer_radius)
        case Wall(left, right, closed):
            return Wall(moved(left), moved(right), closed)
        case Network(corners, quads):
            return Network(moved(corners), quads)
        case Polygon(outer, holes):
            return Polygon(moved(outer), tuple(moved(hole) for hole in holes))


def _turn(angle: float) -> Floats:
    """Rotation matrix, exact for right angles."""
    quarters = round(angle / QUARTER)
    if abs(angle - quarters * QUARTER) < 1e-12 * max(1.0, abs(angle)):
        cosine, sine = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][quarters % 4]
    else:
        cosine, sine = math.cos(angle), math.sin(angle)
    return np.array([[cosine, -sine], [sine, cosine]])
