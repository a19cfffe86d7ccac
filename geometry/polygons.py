"""Solids of any outline: a loop of corners, with holes."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.loops import Point

NARROWEST = 1e-9
"""Distance below which two loops of a polygon touch. [m]"""


@dataclass(frozen=True)
class Polygon:
    """A solid within a loop of straight edges, except in its holes. Curves are given as many short edges."""

    outer: tuple[Point, ...]
    """Corners of the outline, in either sense, the first not repeated at the end. [m]"""
    holes: tuple[tuple[Point, ...], ...] = ()
    """Corners of each hole; holes are air and may hold other solids. [m]"""

    def __post_init__(self) -> None:
        """Refuse loops that cross, touch or have no area."""
        for name, loop in (("outline", self.outer), *((f"hole {k}", hole) for k, hole in enumerate(self.holes, 1))):
            if len(loop) < 3 or not np.all(np.isfinite(loop)):
                raise ValueError(f"the {name} of a polygon needs three finite corners or more, has {len(loop)}")
            for a, b in itertools.pairwise((*loop, loop[0])):
                if math.dist(a, b) < NARROWEST:
                    raise ValueError(f"the {name} of a polygon has the corner ({a[0]:g}, {a[1]:g}) twice in a row")
            if not shapely.is_valid(shapely.Polygon(loop)):
                reason = shapely.is_valid_reason(shapely.Polygon(loop))
                raise ValueError(f"the {name} of a polygon must not cross or touch itself: {reason}")
        metal = shapely.Polygon(self.outer, self.holes)
        rings = [shapely.LinearRing(loop) for loop in (self.outer, *self.holes)]
        touching = any(a.distance(b) < NARROWEST for a, b in itertools.combinations(rings, 2))
        if touching or not shapely.is_valid(metal):
            raise ValueError("the holes of a polygon must lie inside its outline and touch neither it nor each other")
