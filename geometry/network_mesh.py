"""Structured mesh of a network: conforming layers through all runs, finer towards corners and free ends."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import Floats, Ints
from geometry.clearance import distance_to
from geometry.grading import MeshSizes, graded
from geometry.network import Edge, Network, Quad, network_loops, quad_edges
from geometry.shapes import Shape
from geometry.structured import Block, cut_cells

LEAST_ALONG = 4
"""Least number of elements along a run."""
SLENDER = 3.0
"""Ratio of length to width from which a run is a sheet, with ends as fine as its layers. [-]"""
SAMPLES = 129
"""Points along an edge at which the distance of other solids is computed."""


@dataclass(frozen=True)
class Bundle:
    """Edges opposite each other in successive runs, which must be divided alike."""

    edges: tuple[Edge, ...]
    """All in the same sense."""
    quads: tuple[int, ...]
    """Runs that the bundle crosses."""


def network_solid(network: Network, depth: float, others: Sequence[Shape], sizes: MeshSizes) -> Block:
    """Mesh of a network with sizes that suit its skin depth [m], its corners and its neighbours."""
    return network_block(network, [_stations(network, bundle, depth, others, sizes) for bundle in bundles(network)])


def bundles(network: Network) -> list[Bundle]:
    """Bundles of a network; each edge is in one of them, in the sense of that bundle."""
    opposite: dict[Edge, list[tuple[Edge, int]]] = {}
    for k, quad in enumerate(network.quads):
        for first, second in itertools.permutations(quad_edges(quad), 2):
            if not set(first) & set(second):  # around a run, opposite edges have opposite senses
                opposite.setdefault(first, []).append((second[::-1], k))
                opposite.setdefault(first[::-1], []).append((second, k))
    complete = []
    left = dict.fromkeys(opposite)
    while left:
        edges = [next(iter(left))]
        quads: dict[int, None] = {}
        for edge in edges:
            for neighbour, k in opposite[edge]:
                quads[k] = None
                if neighbour not in edges:
                    edges.append(neighbour)
        for edge in edges:
            del left[edge], left[edge[::-1]]
        complete.append(Bundle(tuple(edges), tuple(quads)))
    return complete


def network_block(network: Network, stations: Sequence[Floats]) -> Block:
    """Mesh of a network.

    network: Runs that share whole edges.
    stations: Relative positions of the nodes along the edges of each of its `bundles`, from 0 to 1, ascending.
    """
    corners = np.asarray(network.corners, dtype=float)
    edges, pieces = _divided_edges(corners, bundles(network), stations)
    count = sum(len(piece) for piece in pieces)
    triangles = []
    for quad in network.quads:
        node, grid = _run(corners, quad, edges, count)
        pieces.append(grid[1:-1, 1:-1].reshape(-1, 2))
        count += len(pieces[-1])
        triangles.append(_cells(node, grid))
    loops = [
        np.concatenate([edges[edge].nodes[:-1] for edge in zip(loop, loop[1:] + loop[:1], strict=True)])
        for loop in network_loops(network)
    ]
    return Block(np.vstack(pieces), np.vstack(triangles), loops[0], tuple(loops[1:]))


@dataclass(frozen=True)
class _DividedEdge:
    """The nodes along an edge in one sense."""

    nodes: Ints
    """Numbers of the nodes, both corners included."""
    along: Floats
    """Their relative positions, from 0 to 1. [-]"""


def _divided_edges(
    corners: Floats, of: Sequence[Bundle], stations: Sequence[Floats]
) -> tuple[dict[Edge, _DividedEdge], list[Floats]]:
    """Every edge in both senses, and the vertices so far: the corners, then the inner nodes of each edge."""
    pieces, count = [corners], len(corners)
    edges: dict[Edge, _DividedEdge] = {}
    for bundle, relative in zip(of, stations, strict=True):
        for start, end in bundle.edges:
            nodes = np.concatenate([[start], count + np.arange(len(relative) - 2), [end]]).astype(np.int64)
            edges[start, end] = _DividedEdge(nodes, relative)
            edges[end, start] = _DividedEdge(nodes[::-1], 1 - relative[::-1])
            pieces.append(corners[start] + relative[1:-1, None] * (corners[end] - corners[start]))
            count += len(relative) - 2
    return edges, pieces


def _run(corners: Floats, quad: Quad, edges: Mapping[Edge, _DividedEdge], first: int) -> tuple[Ints, Floats]:
    """Nodes (t, s) of a run, the inner ones numbered from `first`, and places (t, s, 2) between opposite edges. [m]"""
    a, b, c, d = quad
    s, t = edges[a, b].along, edges[a, d].along
    node = np.empty((len(t), len(s)), dtype=np.int64)
    inside = (len(t) - 2, len(s) - 2)
    node[1:-1, 1:-1] = first + np.arange(inside[0] * inside[1]).reshape(inside)
    node[0], node[-1] = edges[a, b].nodes, edges[d, c].nodes
    node[:, 0], node[:, -1] = edges[a, d].nodes, edges[b, c].nodes
    low = corners[a] + s[:, None] * (corners[b] - corners[a])
    high = corners[d] + s[:, None] * (corners[c] - corners[d])
    return node, low + t[:, None, None] * (high - low)


def _cells(node: Ints, grid: Floats) -> Ints:
    """Triangles of a grid of nodes."""
    corners = (np.s_[:-1, :-1], np.s_[:-1, 1:], np.s_[1:, 1:], np.s_[1:, :-1])
    return cut_cells([node[corner].ravel() for corner in corners], [grid[corner].reshape(-1, 2) for corner in corners])


def _stations(network: Network, bundle: Bundle, depth: float, others: Sequence[Shape], sizes: MeshSizes) -> Floats:
    """Positions along the edges of a bundle: layers if it crosses sheets, graded from both ends if it follows them."""
    corners = np.asarray(network.corners, dtype=float)
    length = max(_length(corners, edge) for edge in bundle.edges)
    widths = [_width(corners, network.quads[k], bundle) for k in bundle.quads]
    least = sizes.wall_layers if length <= max(widths) * (1 + 1e-9) else LEAST_ALONG
    thin = [width for width in widths if SLENDER * width <= length]
    finest = min(sizes.size_per_depth * depth, min([length, *thin]) / sizes.wall_layers)
    gap = _gap(network, corners, bundle, others)

    def size(x: Floats) -> Floats:
        near = sizes.size_per_gap * np.interp(x, np.linspace(0.0, length, SAMPLES), gap)
        from_end = sizes.growth * np.minimum(x, length - x)
        return np.minimum(np.minimum(finest + from_end, np.maximum(near, finest)), length / least)

    return graded(length, size, sizes.fineness, least)


def _length(corners: Floats, edge: Edge) -> float:
    return float(np.linalg.norm(corners[edge[1]] - corners[edge[0]]))


def _width(corners: Floats, quad: Quad, bundle: Bundle) -> float:
    """Width of a run across the edges of a bundle. [m]"""
    own = {frozenset(edge) for edge in bundle.edges}
    return max(
        (_length(corners, edge) for edge in quad_edges(quad) if frozenset(edge) not in own),
        default=min(_length(corners, edge) for edge in quad_edges(quad)),
    )


def _gap(network: Network, corners: Floats, bundle: Bundle, others: Sequence[Shape]) -> Floats:
    """Least distance of other solids, and of other runs of the network, along the edges of a bundle. [m]"""
    crossed = {corner for k in bundle.quads for corner in network.quads[k]}
    elsewhere = [corners[list(quad)] for quad in network.quads if not crossed & set(quad)]
    own = shapely.union_all([shapely.Polygon(quad) for quad in elsewhere])
    relative = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    gap = np.full(SAMPLES, 1e3 * max(_length(corners, edge) for edge in bundle.edges))
    for start, end in bundle.edges:
        points = corners[start] + relative * (corners[end] - corners[start])
        for other in others:
            gap = np.minimum(gap, distance_to(other, points))
        if elsewhere:
            gap = np.minimum(gap, shapely.distance(own, shapely.points(points)))
    return gap
