"""Triangles ready to be drawn: curved edges as short chords, thin sheets of a network thicker than they are."""

from __future__ import annotations

import numpy as np
import shapely

from fem.arrays import Floats, Ints
from fem.mesh import shape_values
from geometry.network import Network
from geometry.shapes import Wall

CHORDS = 4
"""Chords that a curved edge is drawn as."""
SLENDER = 10.0
"""A wall longer than so many times its thickness is a sheet. [-]"""
THIN = 1.6
"""Sides of a run up to so many times the thinnest are across the sheet. [-]"""
LEAST_SHARE = 0.5
"""A sheet is drawn no thicker than this share of the shortest one. [-]"""


def is_sheet(shape: object) -> bool:
    """Whether a solid is one bent sheet, which can be laid flat."""
    if not isinstance(shape, Wall):
        return False
    runs = np.array(shape.runs())
    lengths = np.linalg.norm((runs[:, 1] + runs[:, 2] - runs[:, 0] - runs[:, 3]) / 2, axis=1)
    thickness = np.linalg.norm(runs[:, 3] - runs[:, 0], axis=1)
    return bool(lengths.sum() > SLENDER * thickness.max())


def chorded(nodes: Floats, chords: int = CHORDS) -> Floats:
    """Six-node triangles (t, 6, 2) as chords^2 straight ones each, shape (t, chords^2, 3, 2). [m]"""
    places, pieces = _pieces(chords)
    points = np.einsum("pn,tni->tpi", shape_values(places), nodes)
    result: Floats = points[:, pieces]
    return result


def network_quads(network: Network) -> Floats:
    """Corners of each run, shape (q, 4, 2). [m]"""
    corners = np.asarray(network.corners)
    result: Floats = corners[np.array(network.quads)]
    return result


def thinnest(network: Network) -> float:
    """Smallest thickness of all runs. [m]"""
    return float(_sides(network_quads(network)).min())


def exaggeration(network: Network, points_a_metre: float, least: float) -> float:
    """By how much sheets are drawn thicker, so that the thinnest is of a least thickness [pt]: a whole number. [-]"""
    sides = _sides(network_quads(network))
    thin = float(sides.min())
    long_ones = sides[sides > THIN * thin]
    most = LEAST_SHARE * float(long_ones.min()) / thin if long_ones.size else 1.0
    wanted = float(np.ceil(least / (points_a_metre * thin)))
    return max(1.0, min(wanted, float(np.floor(most))))


def thickened(network: Network, points: Floats, of: Floats, factor: float) -> Floats:
    """Points (n, 2) [m] of sheets drawn thicker about their middle lines, each on the run nearest to `of` (n, 2)."""
    quads = network_quads(network)
    return _stretched(quads, points, _run_of(quads, of), factor)


def thickened_outline(network: Network, factor: float) -> list[Floats]:
    """Outlines of the network with its sheets drawn thicker, each (n, 2). [m]"""
    quads = network_quads(network)
    corners = _stretched(quads, quads.reshape(-1, 2), np.repeat(np.arange(len(quads)), 4), factor)
    whole = shapely.unary_union([shapely.Polygon(quad).buffer(1e-9) for quad in corners.reshape(-1, 4, 2)])
    pieces = [piece for piece in getattr(whole, "geoms", [whole]) if isinstance(piece, shapely.Polygon)]
    return [np.asarray(ring.coords) for piece in pieces for ring in (piece.exterior, *piece.interiors)]


def _pieces(count: int) -> tuple[Floats, Ints]:
    """Local coordinates of a regular grid of a triangle, and the small triangles between them."""
    index = {(i, j): k for k, (i, j) in enumerate((i, j) for j in range(count + 1) for i in range(count + 1 - j))}
    places = np.array(list(index), dtype=np.float64) / count
    pieces = []
    for i, j in index:
        if i + j < count:
            pieces.append((index[i, j], index[i + 1, j], index[i, j + 1]))
        if i + j < count - 1:
            pieces.append((index[i + 1, j], index[i + 1, j + 1], index[i, j + 1]))
    return places, np.array(pieces, dtype=np.int64)


def _axes(quads: Floats) -> Floats:
    """Vectors between the middles of opposite sides, shape (q, 2, 2). [m]"""
    along = (quads[:, 1] + quads[:, 2] - quads[:, 0] - quads[:, 3]) / 2
    across = (quads[:, 2] + quads[:, 3] - quads[:, 0] - quads[:, 1]) / 2
    return np.stack([along, across], axis=1)


def _sides(quads: Floats) -> Floats:
    sides: Floats = np.linalg.norm(_axes(quads), axis=2)
    return sides


def _run_of(quads: Floats, points: Floats) -> Ints:
    """The run that each point (n, 2) lies in, or is nearest to, shape (n,)."""
    edges = np.roll(quads, -1, axis=1) - quads
    to_point = points[:, None, None, :] - quads[None]
    inward = edges[..., 0] * to_point[..., 1] - edges[..., 1] * to_point[..., 0]
    run: Ints = (inward / np.linalg.norm(edges, axis=2)).min(axis=2).argmax(axis=1)
    return run


def _stretched(quads: Floats, points: Floats, run: Ints, factor: float) -> Floats:
    """Points stretched about the middle of their run, along those of its sides that are across a sheet."""
    axes, sides = _axes(quads), _sides(quads)
    thin = sides <= THIN * sides.min()
    units = axes / sides[..., None]
    offset = points - quads.mean(axis=1)[run]
    moved = points.copy()
    for k in range(2):
        part = np.sum(offset * units[run, k], axis=1) * np.where(thin[run, k], factor - 1, 0.0)
        moved = moved + part[:, None] * units[run, k]
    return moved
