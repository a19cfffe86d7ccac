"""Thin walls that branch: four-sided runs that share whole edges, with any number of enclosed pockets of air."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from geometry.loops import Point, signed_area

Quad = tuple[int, int, int, int]
Edge = tuple[int, int]

SAME_PLACE = 1e-9
"""Difference of coordinates, over the extent of them all, below which they are one coordinate. [-]"""


@dataclass(frozen=True)
class Network:
    """Solid made of convex four-sided runs that meet along whole edges: sheets with junctions, rolled profiles.

    At a junction of two sheets lies a run as wide as the one sheet and as high as the other.
    """

    corners: tuple[Point, ...]
    """Corner points of all runs, each once. [m]"""
    quads: tuple[Quad, ...]
    """Corners of each run, as indices, anticlockwise."""

    def __post_init__(self) -> None:
        """Refuse runs that are no quadrilaterals, that overlap, or that are not joined by whole edges."""
        if not self.quads:
            raise ValueError("a network needs at least one run")
        if {k for quad in self.quads for k in quad} != set(range(len(self.corners))):
            raise ValueError("the runs of a network must use every corner of its list and no other")
        points = np.asarray(self.corners, dtype=float)
        for quad in self.quads:
            ahead = np.roll(points[list(quad)], -1, axis=0) - points[list(quad)]
            after = np.roll(ahead, -1, axis=0)
            if not np.all(ahead[:, 0] * after[:, 1] - ahead[:, 1] * after[:, 0] > 0):
                corners = ", ".join(f"({x:g}, {y:g})" for x, y in points[list(quad)])
                raise ValueError(f"a run of a network must be convex with its corners anticlockwise: {corners}")
        outer, *inner = network_loops(self)
        loops = [points[list(loop)] for loop in (outer, *inner)]
        metal = shapely.Polygon(loops[0], loops[1:])
        total = sum(signed_area(points[list(quad)]) for quad in self.quads)
        if not shapely.is_valid(metal) or abs(metal.area / total - 1) > SAME_PLACE:
            raise ValueError("runs of a network overlap, or touch without sharing a whole edge")


@lru_cache(maxsize=256)
def network_loops(network: Network) -> tuple[tuple[int, ...], ...]:
    """Loops of corners along air, all anticlockwise: first the outline, then one for each enclosed pocket.

    Raises ValueError: If runs are not joined, touch only at a corner, or lie on the same side of an edge.
    """
    ahead = _edges_to_air(network)
    points = np.asarray(network.corners, dtype=float)
    outer: list[tuple[int, ...]] = []
    inner: list[tuple[int, ...]] = []
    while ahead:
        loop = [next(iter(ahead))]
        while (following := ahead.pop(loop[-1])) != loop[0]:
            loop.append(following)
        # metal lies to the left: the outline runs anticlockwise, that of a pocket clockwise
        if signed_area(points[loop]) > 0:
            outer.append(tuple(loop))
        else:
            inner.append(tuple(loop[::-1]))
    if len(outer) != 1:
        raise ValueError(f"the runs of a network must be joined by whole edges; these are {len(outer)} pieces")
    return (outer[0], *inner)


def _edges_to_air(network: Network) -> dict[int, int]:
    """Corner ahead of each corner along the edges that no second run shares, with metal to their left."""
    ahead: dict[int, int] = {}
    edges = [edge for quad in network.quads for edge in quad_edges(quad)]
    if len(set(edges)) < len(edges):
        raise ValueError("two runs of a network lie on the same side of an edge")
    shared = set(edges)
    for start, end in edges:
        if (end, start) in shared:
            continue
        if start in ahead:
            x, y = network.corners[start]
            raise ValueError(f"runs of a network touch only at a corner, at ({x:g}, {y:g})")
        ahead[start] = end
    return ahead


def quad_edges(quad: Quad) -> tuple[Edge, Edge, Edge, Edge]:
    """Edges of a run, anticlockwise around it."""
    a, b, c, d = quad
    return (a, b), (b, c), (c, d), (d, a)


@dataclass(frozen=True)
class Rectangle:
    """An axis-parallel rectangle."""

    left: float
    """[m]"""
    bottom: float
    """[m]"""
    right: float
    """[m]"""
    top: float
    """[m]"""

    def __post_init__(self) -> None:
        """Refuse a rectangle without area or with its sides exchanged."""
        if not (self.left < self.right and self.bottom < self.top):
            raise ValueError(f"a rectangle needs left < right and bottom < top: {self!r}")


def network_of_rectangles(rectangles: Sequence[Rectangle]) -> Network:
    """Network of touching, axis-parallel rectangles.

    rectangles: Rectangles that touch along parts of their sides and do not overlap. Each is cut where a corner of
        another meets its side.
    """
    columns = _snapped([side for r in rectangles for side in (r.left, r.right)])
    rows = _snapped([side for r in rectangles for side in (r.bottom, r.top)])
    pieces = [(columns[r.left], rows[r.bottom], columns[r.right], rows[r.top]) for r in rectangles]
    for i, first in enumerate(pieces):
        for second in pieces[:i]:
            if _overlap(first[0::2], second[0::2]) and _overlap(first[1::2], second[1::2]):
                raise ValueError(f"rectangles of a network overlap: {first} and {second}")
    pieces = _cut(pieces)
    corners: dict[Point, int] = {}
    quads = []
    for left, bottom, right, top in pieces:
        around = ((left, bottom), (right, bottom), (right, top), (left, top))
        a, b, c, d = (corners.setdefault(corner, len(corners)) for corner in around)
        quads.append((a, b, c, d))
    return Network(tuple(corners), tuple(quads))


_Piece = tuple[float, float, float, float]
"""Left, bottom, right, top. [m]"""


def _snapped(values: Sequence[float]) -> dict[float, float]:
    """Each value with the least value in the same place, which represents it."""
    snapped: dict[float, float] = {}
    last = -np.inf
    extent = max(values) - min(values)
    for value in sorted(set(values)):
        if value - last > SAME_PLACE * extent:
            last = value
        snapped[value] = last
    return snapped


def _overlap(first: tuple[float, ...], second: tuple[float, ...]) -> bool:
    return max(first[0], second[0]) < min(first[1], second[1])


def _cut(pieces: list[_Piece]) -> list[_Piece]:
    """Pieces cut until neighbours share whole sides."""
    waiting = True
    while waiting:
        waiting = False
        for axis in (0, 1):  # cuts at a column, then at a row
            for i, piece in enumerate(pieces):
                cut = _needed_cut(piece, pieces, axis)
                if cut is None:
                    continue
                low, high = list(piece), list(piece)
                low[axis + 2] = high[axis] = cut
                pieces[i : i + 1] = [(low[0], low[1], low[2], low[3]), (high[0], high[1], high[2], high[3])]
                waiting = True
                break
    return pieces


def _needed_cut(piece: _Piece, pieces: Sequence[_Piece], axis: int) -> float | None:
    """Coordinate at which the side of a neighbour ends within a side of the piece along the axis (0: x, 1: y). [m]"""
    other = 1 - axis
    for neighbour in pieces:
        touches = neighbour[other] == piece[other + 2] or neighbour[other + 2] == piece[other]
        if not touches or not _overlap(neighbour[axis::2], piece[axis::2]):
            continue
        for cut in (neighbour[axis], neighbour[axis + 2]):
            if piece[axis] < cut < piece[axis + 2]:
                return cut
    return None
