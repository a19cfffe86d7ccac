"""Structured triangle meshes of the solids: rings for discs and tubes, layers for walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Floats, Ints
from geometry.loops import signed_area
from geometry.shapes import Point, Wall


@dataclass(frozen=True)
class Block:
    """Triangles of one solid, with the loops of vertices along air."""

    vertices: Floats
    """Shape (v, 2). [m]"""
    triangles: Ints
    """Vertices of each triangle, anticlockwise, shape (t, 3)."""
    outer: Ints
    """Vertices along the outer outline, anticlockwise."""
    inners: tuple[Ints, ...] = ()
    """Vertices along the outline of each enclosed pocket of air, anticlockwise."""
    centre: Point | None = None
    """Centre of a round solid, whose edges follow circles about it; None for others. [m]"""


def disc_block(centre: Point, radii: Floats, counts: Ints) -> Block:
    """Disc of concentric rings.

    centre: Centre. [m]
    radii, shape (n,): Radii of the rings, ascending; the last is the radius of the disc. [m]
    counts, shape (n,) of int: Vertices on each ring, 3 or more.
    """
    rings = _ring_vertices(centre, radii, counts)
    starts = np.concatenate([[1], 1 + np.cumsum(counts)])
    first = np.arange(1, 1 + counts[0])
    fan = np.stack([np.zeros_like(first), first, np.roll(first, -1)], axis=1)
    strips = [
        _strip(starts[i], counts[i], starts[i + 1], counts[i + 1]) for i in range(len(counts) - 1)
    ]  # each strip joins two neighbouring rings
    return Block(
        vertices=np.vstack([np.asarray([centre]), rings]),
        triangles=np.vstack([fan, *strips]),
        outer=np.arange(starts[-2], starts[-1]),
        centre=centre,
    )


def tube_block(centre: Point, radii: Floats, count: int) -> Block:
    """Tube of concentric rings with equal numbers of vertices; radii [m] ascend from the bore to the outside."""
    counts = np.full(len(radii), count)
    starts = np.arange(len(radii) + 1) * count
    strips = [_strip(starts[i], count, starts[i + 1], count) for i in range(len(radii) - 1)]
    return Block(
        vertices=_ring_vertices(centre, radii, counts),
        triangles=np.vstack(strips),
        outer=np.arange(starts[-2], starts[-1]),
        inners=(np.arange(starts[0], starts[1]),),
        centre=centre,
    )


def wall_block(wall: Wall, stations: list[Floats], layers: Floats) -> Block:
    """Wall of straight runs.

    stations: For each run, the relative positions of the cross-lines of its mesh, from 0 to 1, ascending.
    layers, shape (m,): Relative positions of the layer boundaries through the thickness, from 0 (right face) to 1
        (left), ascending.
    """
    right, left = _face(wall.right, stations, wall.closed), _face(wall.left, stations, wall.closed)
    depth = layers[:, None, None]
    vertices = (right[None] * (1 - depth) + left[None] * depth).reshape(-1, 2)
    n, m = len(right), len(layers)
    node = np.arange(n * m).reshape(m, n)
    here = node if wall.closed else node[:, :-1]
    ahead = np.roll(node, -1, axis=1) if wall.closed else node[:, 1:]
    a, b, c, d = here[:-1].ravel(), ahead[:-1].ravel(), ahead[1:].ravel(), here[1:].ravel()
    triangles = cut_cells((a, b, c, d), tuple(vertices[corner] for corner in (a, b, c, d)))
    if not wall.closed:
        loop = np.concatenate([node[0], node[1:, -1], node[-1, -2::-1], node[-2:0:-1, 0]])
        return Block(vertices, triangles, outer=loop)
    faces = sorted((node[0], node[-1]), key=lambda face: abs(signed_area(vertices[face])))
    inner, outer = (face if signed_area(vertices[face]) > 0 else face[::-1] for face in faces)
    return Block(vertices, triangles, outer=outer, inners=(inner,))


def cut_cells(nodes: Sequence[Ints], places: Sequence[Floats]) -> Ints:
    """Two triangles of each four-sided cell, cut along its shorter diagonal.

    nodes, sequence of four (n,): Corners a, b, c, d of each cell, anticlockwise.
    places, sequence of four (n, 2): Where they lie. [m]
    Returns triangles, shape (2n, 3): Anticlockwise.
    """
    a, b, c, d = nodes
    first, second = (np.linalg.norm(places[k] - places[k + 2], axis=1) for k in (0, 1))
    shorter = (first <= second)[:, None]
    lower = np.where(shorter, np.stack([a, b, c], axis=1), np.stack([a, b, d], axis=1))
    upper = np.where(shorter, np.stack([a, c, d], axis=1), np.stack([b, c, d], axis=1))
    return np.vstack([lower, upper])


def _ring_vertices(centre: Point, radii: Floats, counts: Ints) -> Floats:
    """Vertices of concentric rings, each from angle 0 on, shape (v, 2). [m]"""
    angle = np.concatenate([2 * np.pi * np.arange(n) / n for n in counts])
    radius = np.repeat(radii, counts)
    vertices: Floats = np.asarray(centre) + radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return vertices


def _strip(inner_start: int, inner_count: int, outer_start: int, outer_count: int) -> Ints:
    """Triangles between two rings that both start at angle 0; the ring with the smaller angle advances."""
    triangles = []
    i = o = 0
    while i < inner_count or o < outer_count:
        here = (inner_start + i % inner_count, outer_start + o % outer_count)
        # the ring whose next vertex comes first in angle; ties go to the outer ring
        if i == inner_count or (o < outer_count and (o + 1) * inner_count <= (i + 1) * outer_count):
            o += 1
            triangles.append((here[0], here[1], outer_start + o % outer_count))
        else:
            i += 1
            triangles.append((here[0], here[1], inner_start + i % inner_count))
    return np.array(triangles, dtype=np.int64)


def _face(corners: tuple[Point, ...], stations: list[Floats], closed: bool) -> Floats:
    """Vertices along one face of a wall."""
    corner = np.asarray(corners)
    pieces = []
    for i, s in enumerate(stations):
        start, end = corner[i], corner[(i + 1) % len(corner)]
        pieces.append(start + s[:-1, None] * (end - start))
    if not closed:
        pieces.append(corner[-1:])
    return np.vstack(pieces)
