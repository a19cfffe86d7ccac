"""Distances between solids, and which of them overlap."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.shapes import Disc, Shape, Tube, Wall, outlines

TOUCHING = 1e-9
"""Two bodies closer than this touch; an overlap smaller than this is none. [m]"""


@dataclass(frozen=True)
class Overlap:
    """Two bodies that claim the same space."""

    first: str
    second: str
    depth: float
    """By how much they would have to be moved apart; between two walls the square root of the shared area. [m]"""


def overlaps(bodies: Sequence[tuple[str, Shape]], tolerance: float = TOUCHING) -> list[Overlap]:
    """All pairs of named bodies that overlap by more than a tolerance [m], worst first."""
    found = []
    for (first, a), (second, b) in itertools.combinations(bodies, 2):
        gap = clearance(a, b)
        if gap < -tolerance:
            found.append(Overlap(first, second, -gap))
    return sorted(found, key=lambda overlap: -overlap.depth)


def clearance(a: Shape, b: Shape) -> float:
    """Free distance between two solids, negative where they overlap; exact for circles and straight walls. [m]

    A solid that lies in the bore of a tube, or inside a closed wall, is measured from there.
    """
    if isinstance(a, Wall):
        return _wall_to_wall(a, b) if isinstance(b, Wall) else _round_to_wall(b, a)
    if isinstance(b, Wall):
        return _round_to_wall(a, b)
    distance = math.dist(a.centre, b.centre)
    candidates = [distance - _outer(a) - _outer(b)]
    for tube, other in ((a, b), (b, a)):
        if isinstance(tube, Tube):
            candidates.append(tube.inner_radius - distance - _outer(other))
    return max(candidates)


def distance_to(shape: Shape, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance of points (n, 2) [m] from the metal of a solid, 0 inside it, shape (n,). [m]"""
    if isinstance(shape, Wall):
        distances: NDArray[np.float64] = shapely.distance(polygon(shape), shapely.points(points))
        return distances
    radius: NDArray[np.float64] = np.linalg.norm(points - np.asarray(shape.centre), axis=1)
    outside = radius - _outer(shape)
    if isinstance(shape, Tube):
        outside = np.maximum(outside, shape.inner_radius - radius)
    return np.asarray(np.maximum(outside, 0.0), dtype=np.float64)


def polygon(shape: Shape) -> shapely.Polygon:
    """The solid as a polygon with its hole; circles have 256 sides."""
    outer, inner = outlines(shape)
    return shapely.Polygon(outer, [inner] if inner is not None else None)


def _outer(shape: Disc | Tube) -> float:
    return shape.outer_radius if isinstance(shape, Tube) else shape.radius


def _wall_to_wall(a: Wall, b: Wall) -> float:
    shared = float(polygon(a).intersection(polygon(b)).area)
    return -math.sqrt(shared) if shared > TOUCHING**2 else float(polygon(a).distance(polygon(b)))


def _round_to_wall(round_part: Disc | Tube, wall: Wall) -> float:
    metal = polygon(wall)
    centre = shapely.Point(round_part.centre)
    outside = float(metal.distance(centre))
    if outside == 0:
        outside = -float(metal.boundary.distance(centre))
    gap = outside - _outer(round_part)
    if isinstance(round_part, Tube):
        farthest = max(math.dist(corner, round_part.centre) for corner in (*wall.left, *wall.right))
        gap = max(gap, round_part.inner_radius - farthest)
    return gap
