"""The mesh of a cross-section: six-node triangles with named regions, inside a circle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Flags, Floats, Ints
from geometry.shapes import AIR, Point


@dataclass(frozen=True)
class SectionMesh:
    """Quadratic triangles with curved edges on round parts.

    The outermost edges lie on a circle that encloses every solid; beyond it is air to infinity.
    """

    points: Floats
    """Nodes, shape (p, 2). [m]"""
    triangles: Ints
    """Nodes of each triangle, shape (t, 6): three corners anticlockwise, then the middles of edges 01, 12, 20."""
    regions: Ints
    """Index into names of each triangle, shape (t,)."""
    names: tuple[str, ...]
    """Region names; the first is air."""
    circle_centre: Point
    """Centre of the outer circle. [m]"""
    circle_radius: float
    """Radius of the outer circle. [m]"""

    def __post_init__(self) -> None:
        """Refuse arrays that do not fit each other."""
        if self.points.ndim != 2 or self.points.shape[1] != 2:
            raise ValueError(f"points must have shape (p, 2): {self.points.shape}")
        if self.triangles.ndim != 2 or self.triangles.shape[1] != 6:
            raise ValueError(f"triangles must have shape (t, 6): {self.triangles.shape}")
        if self.regions.shape != self.triangles.shape[:1]:
            raise ValueError(f"regions must have shape ({len(self.triangles)},): {self.regions.shape}")
        if self.names[:1] != (AIR,):
            raise ValueError(f"the first region name must be {AIR!r}: {self.names!r}")

    def circle_edges(self) -> Ints:
        """Edges on the outer circle as nodes (start, end, middle), anticlockwise, shape (e, 3)."""
        corners = self.triangles[:, :3]
        starts, ends = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
        middles = self.triangles[:, 3:].ravel()
        on_circle = self._on_circle()
        boundary = on_circle[starts] & on_circle[ends] & on_circle[middles]
        edges = np.stack([starts, ends, middles], axis=1)[boundary]
        angle = np.arctan2(*(self.points[edges[:, 0]] - self.circle_centre).T[::-1])
        return edges[np.argsort(angle)]

    def region_areas(self) -> dict[str, float]:
        """Area of each region, exact for the curved mesh. [m^2]"""
        areas = _areas(self.points[self.triangles])
        sums = np.bincount(self.regions, weights=areas, minlength=len(self.names))
        return dict(zip(self.names, sums.tolist(), strict=True))

    def _on_circle(self) -> Flags:
        distance = np.linalg.norm(self.points - self.circle_centre, axis=1)
        near: Flags = np.abs(distance / self.circle_radius - 1) < 1e-9
        return near


def _areas(nodes: Floats) -> Floats:
    """Area of six-node triangles (t, 6, 2): corner triangle and parabolic segments, 2/3 bow times chord. [m^2]"""
    a, b, c = nodes[:, 0], nodes[:, 1], nodes[:, 2]
    area = _cross(b - a, c - a) / 2
    for start, end, middle in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
        bow = nodes[:, middle] - (nodes[:, start] + nodes[:, end]) / 2
        area = area + _cross(bow, nodes[:, end] - nodes[:, start]) * (2 / 3)
    return area


def _cross(u: Floats, v: Floats) -> Floats:
    return u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
