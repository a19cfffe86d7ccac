"""Free mesh of a polygon: fine at its surface, corners, thin places and neighbours, coarse deep inside."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import partial

import numpy as np

from geometry.arrays import Complexes, Floats, Ints
from geometry.clearance import distance_to
from geometry.grading import MeshSizes, graded
from geometry.polygons import Polygon
from geometry.shapes import Shape, boundary_loops
from geometry.structured import Block
from geometry.triangulation import triangulated

SHARP = np.radians(20.0)
"""Angle between edges above which they meet at a corner; below it they are part of a curve. [rad]"""
AT_CORNER = 0.25
"""Element size at a corner over the size along its faces. [-]"""
ROWS = 1.25
"""Thickness of a thin place over its layers times the element size; at 1 the free mesh would lose a layer. [-]"""
MOST_SAMPLES = 2000
"""Points along all outlines, besides the corners, at which the size is computed."""


def polygon_solid(polygon: Polygon, depth: float, others: Sequence[Shape], sizes: MeshSizes) -> Block:
    """Mesh of a polygon with sizes that suit its skin depth [m], its shape and its neighbours."""
    outer, inner = boundary_loops(polygon)
    loops = [outer, *inner]
    pieces = []
    for loop in loops:
        arc, size = _sizes_along(loop, loops, loop is outer, depth, others, sizes)
        pieces.append(_divided(loop, arc, size, sizes.fineness))
    starts: Ints = np.cumsum([0, *(len(piece) for piece in pieces)])
    faces = [np.arange(start, end) for start, end in itertools.pairwise(starts)]
    growth = sizes.growth / sizes.fineness
    vertices, triangles = triangulated(np.vstack(pieces), [faces], "a polygon", growth)
    return Block(vertices, triangles, faces[0], tuple(faces[1:]))


def _divided(loop: Floats, arc: Floats, size: Floats, fineness: float) -> Floats:
    """Vertices along a loop, for element sizes at positions along it."""
    position = 0.0
    pieces = []
    for start, end in zip(loop, np.roll(loop, -1, axis=0), strict=True):
        length = float(np.linalg.norm(end - start))
        nodes = graded(length, partial(_interpolated, arc - position, size), fineness)
        pieces.append(start + nodes[:-1, None] * (end - start))
        position += length
    return np.vstack(pieces)


def _interpolated(arc: Floats, size: Floats, x: Floats) -> Floats:
    return np.interp(x, arc, size)


def _sizes_along(
    loop: Floats, loops: Sequence[Floats], is_outer: bool, depth: float, others: Sequence[Shape], sizes: MeshSizes
) -> tuple[Floats, Floats]:
    """Positions along a loop, from 0 to its length, and the element size at each, before the fineness. [m]"""
    ahead = np.roll(loop, -1, axis=0) - loop
    lengths = np.linalg.norm(ahead, axis=1)
    everything = sum(float(np.linalg.norm(np.roll(other, -1, axis=0) - other, axis=1).sum()) for other in loops)
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    smallest = everything / sizes.polygon_edges
    arcs, samples = [], []
    for k, (length, step) in enumerate(zip(lengths, ahead, strict=True)):
        count = 3 + int(np.ceil(MOST_SAMPLES * length / everything))
        # at the corners, a little inwards: the distance across is then that of this face
        relative = np.linspace(0.0, 1.0, count)
        points = loop[k] + np.clip(relative, 0.01, 0.99)[:, None] * step
        # all loops run anticlockwise: the metal lies to the left of the outline and to the right of a hole's
        inward = np.array([-step[1], step[0]]) / length * (1 if is_outer else -1)
        size = np.full(count, min(length, lengths.sum() / sizes.least_round, sizes.size_per_depth * depth))
        size = np.minimum(size, _across(points, inward, loops) / (ROWS * sizes.wall_layers))
        size = np.minimum(size, sizes.size_per_gap * _across(points, -inward, loops))
        for other in others:
            size = np.minimum(size, sizes.size_per_gap * distance_to(other, points))
        arcs.append(starts[k] + relative * length)
        samples.append(np.maximum(size, min(smallest, length)))
    for k in _corners(ahead):
        at_corner = max(AT_CORNER * min(samples[k][0], samples[k - 1][-1]), smallest)
        samples[k][0] = samples[k - 1][-1] = at_corner
    arc, size = np.concatenate(arcs), np.concatenate(samples)
    return arc, _grown(arc, size, sizes.growth)


def _corners(ahead: Floats) -> list[int]:
    """Edges of a loop, given as steps (n, 2), that turn by more than `SHARP` from the edge before."""
    turn = np.angle(_complex(ahead) / _complex(np.roll(ahead, 1, axis=0)))
    return np.flatnonzero(np.abs(turn) > SHARP).tolist()


def _across(points: Floats, direction: Floats, loops: Sequence[Floats]) -> Floats:
    """Distance from points in a direction to the next edge, infinite if there is none, shape (n,). [m]"""
    nearest = np.full(len(points), np.inf)
    for loop in loops:
        steps = np.roll(loop, -1, axis=0) - loop
        # start + along step = point + distance direction, solved by cross products with direction and with step
        crossing = direction[0] * steps[:, 1] - direction[1] * steps[:, 0]
        scale = np.linalg.norm(steps, axis=1)
        meets = np.abs(crossing) > 1e-9 * scale
        start, step, crossing = loop[meets], steps[meets], crossing[meets]
        to_start = start[None] - points[:, None]
        distance = (to_start[..., 0] * step[:, 1] - to_start[..., 1] * step[:, 0]) / crossing
        along = (to_start[..., 0] * direction[1] - to_start[..., 1] * direction[0]) / crossing
        hit = (along > -1e-9) & (along < 1 + 1e-9) & (distance > 1e-9 * scale.max())
        nearest = np.minimum(nearest, np.where(hit, distance, np.inf).min(axis=1, initial=np.inf))
    return nearest


def _grown(arc: Floats, size: Floats, growth: float) -> Floats:
    """Sizes along a closed loop, limited to the allowed growth."""
    limited = size.copy()
    for _ in range(2):  # the second time for growth across the start of the loop
        limited[0] = limited[-1] = min(limited[0], limited[-1])
        for k in range(1, len(arc)):
            limited[k] = min(limited[k], limited[k - 1] + growth * (arc[k] - arc[k - 1]))
        limited[0] = limited[-1] = min(limited[0], limited[-1])
        for k in range(len(arc) - 2, -1, -1):
            limited[k] = min(limited[k], limited[k + 1] + growth * (arc[k + 1] - arc[k]))
    return limited


def _complex(vectors: Floats) -> Complexes:
    """Vectors (n, 2) as x + j y."""
    return vectors[:, 0] + 1j * vectors[:, 1]
