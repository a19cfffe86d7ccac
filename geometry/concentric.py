"""Mesh of concentric bands, whole or in sectors: pipes, machines and other sections round about one centre."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Floats, Ints
from geometry.meshing import with_middles
from geometry.section_mesh import SectionMesh
from geometry.shapes import AIR
from geometry.structured import disc_block


@dataclass(frozen=True)
class Band:
    """A ring between the band inside it (or the centre) and its outer radius."""

    outer_radius: float
    """[m]"""
    layers: int
    """Layers of elements through the band."""
    name: str
    """Region of the ring outside its sectors."""
    sectors: tuple[tuple[float, float, str], ...] = ()
    """Start angle and end angle [rad], anticlockwise from x, and region of each sector."""


def concentric_mesh(bands: Sequence[Band], count: int) -> SectionMesh:
    """Mesh of concentric bands about the origin, with air to infinity beyond the last one.

    bands: Bands from the inside out; the last must be air.
    count: Vertices on each circle, a multiple of 4; the angles of sectors should be angles of vertices.
    """
    edges = [0.0, *(band.outer_radius for band in bands)]
    if np.any(np.diff(edges) <= 0):
        raise ValueError(f"the radii of the bands must rise: {edges[1:]}")
    if bands[-1].name != AIR or bands[-1].sectors:
        raise ValueError("the last band must be air")
    pieces = [
        np.linspace(inner, outer, band.layers + 1)[1:]
        for band, inner, outer in zip(bands, edges[:-1], edges[1:], strict=True)
    ]
    radii = np.concatenate(pieces)
    # towards the centre the circles have fewer vertices, so that the triangles keep their shape
    inside = np.minimum(1.0, radii / edges[1])
    counts = np.maximum(4 * np.round(count * inside / 4), 8).astype(np.int64)
    block = disc_block((0.0, 0.0), radii, counts)
    names = [AIR]
    regions = _regions(bands, block.vertices[block.triangles], names)
    centres = np.zeros((len(block.triangles), 2))
    points, six = with_middles(block.vertices, block.triangles, centres, (0.0, 0.0), float(radii[-1]))
    return SectionMesh(points, six, regions, tuple(names), (0.0, 0.0), float(radii[-1]))


def _regions(bands: Sequence[Band], corners: Floats, names: list[str]) -> Ints:
    """Region of each triangle, shape (t,); new names are added to the list."""
    radius = np.linalg.norm(corners, axis=2).mean(axis=1)  # the centroid may lie inside a thin band's inner circle
    middle = corners.mean(axis=1)
    angle = np.arctan2(middle[:, 1], middle[:, 0])
    regions = np.zeros(len(middle), dtype=np.int64)
    inner = 0.0
    for band in bands:
        own = (radius > inner) & (radius < band.outer_radius)
        regions[own] = _index(names, band.name)
        for start, end, name in band.sectors:
            regions[own & (np.mod(angle - start, 2 * np.pi) < end - start)] = _index(names, name)
        inner = band.outer_radius
    return regions


def _index(names: list[str], name: str) -> int:
    if name not in names:
        names.append(name)
    return names.index(name)
