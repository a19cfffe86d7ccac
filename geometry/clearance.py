"""Distances between solids, and overlaps of solids."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from geometry.arrays import Floats
from geometry.network import Network
from geometry.polygons import Polygon
from geometry.shapes import Round, Shape, Tube, Wall, boundary_loops

TOUCHING = 1e-9
"""Distance below which two bodies touch, and depth below which an overlap does not count. [m]"""
VANISHING = 1e-15
"""Coordinates below this are zero. [m]"""


Straight = Wall | Network | Polygon
"""Solids with straight edges."""


@dataclass(frozen=True)
class Overlap:
    """Two bodies that overlap."""

    first: str
    second: str
    depth: float
    """Least move that parts them; for two solids with straight edges, the square root of the shared area. [m]"""


def overlaps(bodies: Sequence[tuple[str, Shape]], tolerance: float = TOUCHING) -> list[Overlap]:
    """All pairs of named bodies that overlap by more than a tolerance [m], worst first."""
    overlapping = []
    for (first, a), (second, b) in itertools.combinations(bodies, 2):
        gap = clearance(a, b)
        if gap < -tolerance:
            overlapping.append(Overlap(first, second, -gap))
    return sorted(overlapping, key=lambda overlap: -overlap.depth)


def clearance(a: Shape, b: Shape) -> float:
    """Free distance between two solids, negative if they overlap; exact for circles and straight edges. [m]

    For a solid in the bore of a tube, in a closed wall, in a pocket of a network or in the hole of a polygon, it is the
    distance from the wall of that bore, pocket or hole.
    """
    if isinstance(a, Straight):
        return _straight_to_straight(a, b) if isinstance(b, Straight) else _round_to_straight(b, a)
    if isinstance(b, Straight):
        return _round_to_straight(a, b)
    distance = math.dist(a.centre, b.centre)
    candidates = [distance - _outer(a) - _outer(b)]
    for tube, other in ((a, b), (b, a)):
        if isinstance(tube, Tube):
            candidates.append(tube.inner_radius - distance - _outer(other))
    return max(candidates)


def distance_to(shape: Shape, points: Floats) -> Floats:
    """Distance of points (n, 2) [m] from the metal of a solid, 0 inside it, shape (n,). [m]"""
    if isinstance(shape, Straight):
        distances: Floats = shapely.distance(polygon(shape), shapely.points(points))
        return distances
    radius: Floats = np.linalg.norm(points - np.asarray(shape.centre), axis=1)
    outside = radius - _outer(shape)
    if isinstance(shape, Tube):
        outside = np.maximum(outside, shape.inner_radius - radius)
    return np.asarray(np.maximum(outside, 0.0), dtype=np.float64)


@lru_cache(maxsize=256)
def polygon(shape: Shape) -> shapely.Polygon:
    """The solid as a polygon with its holes; circles have 256 sides."""
    outline, holes = boundary_loops(shape)
    # a coordinate whose square is below the smallest float lets an intersection fail
    outer, *inner = (np.where(np.abs(loop) < VANISHING, 0.0, loop) for loop in (outline, *holes))
    metal = shapely.Polygon(outer, inner)
    shapely.prepare(metal)
    return metal


def _outer(shape: Round) -> float:
    return shape.outer_radius if isinstance(shape, Tube) else shape.radius


def _straight_to_straight(a: Straight, b: Straight) -> float:
    shared = float(polygon(a).intersection(polygon(b)).area)
    return -math.sqrt(shared) if shared > TOUCHING**2 else float(polygon(a).distance(polygon(b)))


def _round_to_straight(round_part: Round, solid: Straight) -> float:
    metal = polygon(solid)
    centre = shapely.Point(round_part.centre)
    outside = float(metal.distance(centre))
    if outside == 0:
        outside = -float(metal.boundary.distance(centre))
    gap = outside - _outer(round_part)
    if isinstance(round_part, Tube):
        farthest = float(np.linalg.norm(boundary_loops(solid)[0] - round_part.centre, axis=1).max())
        gap = max(gap, round_part.inner_radius - farthest)
    return gap
