"""Solids of a cross-section (round ones, walls, networks, polygons), and the section of named solids."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from geometry.arrays import Floats
from geometry.loops import Point as Point
from geometry.loops import anticlockwise, as_points, circle, signed_area
from geometry.network import Network, network_loops
from geometry.polygons import Polygon


@dataclass(frozen=True)
class Disc:
    """A full circle."""

    centre: Point
    """Centre (x, y). [m]"""
    radius: float
    """Radius, above 0. [m]"""

    def __post_init__(self) -> None:
        """Refuse a circle without a radius."""
        _require_positive(self, "radius", self.radius)


@dataclass(frozen=True)
class Tube:
    """A circular annulus."""

    centre: Point
    """Centre (x, y). [m]"""
    inner_radius: float
    """Inner radius, above 0. [m]"""
    outer_radius: float
    """Outer radius, above the inner one. [m]"""

    def __post_init__(self) -> None:
        """Refuse an annulus without a bore or without thickness."""
        _require_positive(self, "inner_radius", self.inner_radius)
        _require_positive(self, "outer_radius - inner_radius", self.outer_radius - self.inner_radius)


@dataclass(frozen=True)
class Wall:
    """A thin wall along a bent path, divided at its mitres into straight four-sided runs.

    Run i lies between the cross-lines i and i + 1; cross-line i joins left[i] to right[i]. A closed wall (a box
    section) returns from its last cross-line to its first and has no free ends.
    """

    left: tuple[Point, ...]
    """Corner points of the face on the left of the path, in the order of the path. [m]"""
    right: tuple[Point, ...]
    """Corner points of the face on the right of the path, one for each corner on the left. [m]"""
    closed: bool = False

    def __post_init__(self) -> None:
        """Refuse a wall without a run or without thickness."""
        least = 3 if self.closed else 2
        if len(self.left) != len(self.right) or len(self.left) < least:
            raise ValueError(f"a wall needs two faces of equally many corners, {least} at least: {self!r}")
        for run in self.runs():
            area = signed_area(np.array(run))
            if not area > 0:
                raise ValueError(f"a run of the wall is turned over, crossed or without thickness: {run!r}")

    def runs(self) -> list[tuple[Point, Point, Point, Point]]:
        """Corners (right start, right end, left end, left start) of each straight run, anticlockwise. [m]"""
        n = len(self.left)
        pairs = [(i, (i + 1) % n) for i in range(n if self.closed else n - 1)]
        return [(self.right[i], self.right[j], self.left[j], self.left[i]) for i, j in pairs]


Round = Disc | Tube
Shape = Disc | Tube | Wall | Network | Polygon


@dataclass(frozen=True)
class Region:
    """A named solid of one material."""

    name: str
    shape: Shape
    depth: float = math.inf
    """Skin depth, over which the field decays inside the solid; the mesh resolves it. [m]"""
    label: str = field(default="", compare=False)
    """Name in messages, if that is clearer than `name`."""

    def __post_init__(self) -> None:
        """Refuse a region without a name or without a skin depth above 0."""
        if not self.name:
            raise ValueError("a region needs a name")
        _require_positive(self, "depth", self.depth)


@dataclass(frozen=True)
class Section:
    """All solids of a cross-section; between and around them is air to infinity."""

    regions: tuple[Region, ...]

    def __post_init__(self) -> None:
        """Refuse an empty section and a name that is used twice."""
        names = [region.name for region in self.regions]
        if not names:
            raise ValueError("a section needs at least one solid")
        twice = sorted({name for name in names if names.count(name) > 1 or name == AIR})
        if twice:
            raise ValueError(f"region names must be unique and not {AIR!r}: {', '.join(twice)}")

    def names(self) -> tuple[str, ...]:
        """Names of the solids in order."""
        return tuple(region.name for region in self.regions)


AIR = "air"
"""Name of the region outside all solids."""


def wall_along(path: Sequence[Point], thickness: float, *, side: str = "middle", closed: bool = False) -> Wall:
    """Wall of constant thickness along a bent path, mitred at each bend.

    path: Corner points of the path. [m]
    thickness: Wall thickness, above 0. [m]
    side: Side of the path on which the wall lies: astride it, on its left or on its right.
    closed: Whether the path returns to its first point.

    Each face is the path moved sideways; at a bend the two moved lines end where they meet (a mitre). The path must not
    turn back on itself, and each run must be longer than the mitres at its ends.
    """
    if not (thickness > 0 and math.isfinite(thickness)):
        raise ValueError(f"thickness outside the range of a wall: {thickness}")
    to_left, to_right = {"middle": (0.5, -0.5), "left": (1.0, 0.0), "right": (0.0, -1.0)}[side]
    corners = np.asarray(path, dtype=float)
    left = _moved_sideways(corners, to_left * thickness, closed)
    right = _moved_sideways(corners, to_right * thickness, closed)
    return Wall(as_points(left), as_points(right), closed)


def boundary_loops(shape: Shape) -> tuple[Floats, tuple[Floats, ...]]:
    """Outer outline of a solid, and the outline of each hole or pocket of air in it, as polygons.

    Returns outer, inner, shapes (n, 2), tuple of (m, 2): Anticlockwise corner points; circles are given as polygons of
        256 sides. [m]
    """
    if isinstance(shape, Disc):
        return circle(shape.centre, shape.radius), ()
    if isinstance(shape, Tube):
        return circle(shape.centre, shape.outer_radius), (circle(shape.centre, shape.inner_radius),)
    if isinstance(shape, Network):
        outline, *pockets = (np.array([shape.corners[k] for k in loop]) for loop in network_loops(shape))
        return outline, tuple(pockets)
    if isinstance(shape, Polygon):
        return anticlockwise(np.array(shape.outer)), tuple(anticlockwise(np.array(hole)) for hole in shape.holes)
    left, right = np.array(shape.left), np.array(shape.right)
    if shape.closed:
        inner, outer = sorted((anticlockwise(left), anticlockwise(right)), key=signed_area)
        return outer, (inner,)
    return anticlockwise(np.vstack([right, left[::-1]])), ()


@lru_cache(256)
def enclosing_circle(section: Section) -> tuple[Point, float]:
    """Centre and radius of a circle that holds all solids, within 2 % of the smallest one. [m]"""
    points = np.vstack([boundary_loops(region.shape)[0] for region in section.regions])
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    for step in range(1, 200):  # Badoiu and Clarkson [M]: move towards the farthest point by a share that falls
        x, y = (points - centre).T
        centre = centre + (points[np.sqrt(x * x + y * y).argmax()] - centre) / (step + 8)
    radius = float(np.linalg.norm(points - centre, axis=1).max())
    return (float(centre[0]), float(centre[1])), radius


def _require_positive(owner: object, name: str, value: float) -> None:
    if not value > 0:
        raise ValueError(f"{name} must be above 0: {owner!r}")


def _moved_sideways(corners: Floats, shift: float, closed: bool) -> Floats:
    """Path moved to its left by a shift [m], mitred at the bends: by shift (n1 + n2)/(1 + n1 . n2) of both normals."""
    ahead = np.roll(corners, -1, axis=0) - corners
    if not closed:
        ahead = ahead[:-1]
    lengths = np.linalg.norm(ahead, axis=1)
    if not np.all(lengths > 0):
        raise ValueError("two neighbouring points of a wall's path are the same")
    normals = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / lengths[:, None]
    before = np.roll(normals, 1, axis=0) if closed else np.vstack([normals[:1], normals])
    after = normals if closed else np.vstack([normals, normals[-1:]])
    cosine = np.sum(before * after, axis=1)
    if np.any(cosine < -0.99):
        raise ValueError("a wall's path turns back on itself")
    moved: Floats = corners + shift * (before + after) / (1 + cosine)[:, None]
    return moved
