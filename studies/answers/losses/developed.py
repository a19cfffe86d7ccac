"""A tray's wall laid flat: how much is lost on each stretch of it, and where on the wall a point lies."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fem.arrays import Floats, Ints
from geometry.shapes import Wall
from studies.answers.answers import Answers

SAME_PLACE = 1e-9
"""Places on the wall closer than this are one. [m]"""


@dataclass(frozen=True)
class WallPath:
    """The middle line of a wall, run by run."""

    wall: Wall

    @cached_property
    def runs(self) -> Floats:
        """Corners (right start, right end, left end, left start) of each run, shape (runs, 4, 2). [m]"""
        return np.array(self.wall.runs())

    @cached_property
    def starts(self) -> Floats:
        """Middle of the cross-line at which each run starts, shape (runs, 2). [m]"""
        starts: Floats = (self.runs[:, 0] + self.runs[:, 3]) / 2
        return starts

    @cached_property
    def ends(self) -> Floats:
        """Middle of the cross-line at which each run ends, shape (runs, 2). [m]"""
        ends: Floats = (self.runs[:, 1] + self.runs[:, 2]) / 2
        return ends

    @cached_property
    def corners(self) -> Floats:
        """Distance along the middle line at which each run starts, and the whole length, shape (runs + 1,). [m]"""
        lengths = np.linalg.norm(self.ends - self.starts, axis=1)
        return np.concatenate([[0.0], np.cumsum(lengths)])

    @cached_property
    def thickness(self) -> Floats:
        """Thickness of each run, shape (runs,). [m]"""
        ahead = self.runs[:, 1] - self.runs[:, 0]
        aside = self.runs[:, 3] - self.runs[:, 0]
        thickness: Floats = (ahead[:, 0] * aside[:, 1] - ahead[:, 1] * aside[:, 0]) / np.linalg.norm(ahead, axis=1)
        return thickness

    def run_of(self, points: Floats) -> Ints:
        """The run that each point (n, 2) [m] lies in, or is nearest to, shape (n,)."""
        edges = np.roll(self.runs, -1, axis=1) - self.runs
        to_point = points[:, None, None, :] - self.runs[None]
        inward = edges[..., 0] * to_point[..., 1] - edges[..., 1] * to_point[..., 0]
        depth = (inward / np.linalg.norm(edges, axis=2)).min(axis=2)
        nearest: Ints = depth.argmax(axis=1)
        return nearest

    def along(self, points: Floats, run: Ints) -> Floats:
        """Distance of points (n, 2) [m] along the middle line, each on its run, shape (n,). [m]

        Cross-lines between the mitres at both ends of a run count as one place each, so that the runs meet exactly.
        """
        u, _ = self._local(points, run)
        length = np.diff(self.corners)[run]
        distance: Floats = self.corners[run] + np.clip(u, 0.0, 1.0) * length
        return distance

    def thickened(self, points: Floats, run: Ints, factor: float, fixed_left: bool) -> Floats:
        """Points (n, 2) of the wall [m] as on a wall thicker by a factor, one face staying in its place, shape (n, 2).

        Points move across the wall; only near the mitres they move along it as well, so that the runs still meet.
        """
        right_start, right_end, left_end, left_start = (self.runs[run, k] for k in range(4))
        length = np.linalg.norm(right_end - right_start, axis=1)
        ahead = (right_end - right_start) / length[:, None]
        _, v = self._local(points, run)
        thickness = self.thickness[run]
        stretched = (factor - 1) * (v - 1 if fixed_left else v)  # growth across, over the thickness
        across = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) * thickness[:, None]
        reach = np.minimum(3 * factor * thickness, length / 2)  # beyond it the mitre's slope is not felt
        along = np.zeros(len(points))
        for right, left in ((right_start, left_start), (right_end, left_end)):
            slope = np.sum((left - right) * ahead, axis=1)
            distance = np.abs(np.sum((points - right - v[:, None] * (left - right)) * ahead, axis=1))
            along += slope * np.maximum(0.0, 1 - distance / reach)
        moved: Floats = points + stretched[:, None] * (across + along[:, None] * ahead)
        return moved

    def _local(self, points: Floats, run: Ints) -> tuple[Floats, Floats]:
        """Coordinates of points on their runs, along and from the right face to the left, 0 to 1 inside. [-]"""
        right_start, right_end, left_end, left_start = (self.runs[run, k] for k in range(4))
        ahead = right_end - right_start
        across = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / np.linalg.norm(ahead, axis=1)[:, None]
        v = np.clip(np.sum((points - right_start) * across, axis=1) / self.thickness[run], 0.0, 1.0)
        first = right_start + v[:, None] * (left_start - right_start)
        last = right_end + v[:, None] * (left_end - right_end)
        u = np.sum((points - first) * (last - first), axis=1) / np.sum((last - first) ** 2, axis=1)
        return u, v


@dataclass(frozen=True)
class DevelopedLoss:
    """Loss of a wall against the distance along it."""

    edges_m: Floats
    """Ends of the stretches, ascending, shape (n + 1,). [m]"""
    loss_w_per_m2: Floats
    """Loss per metre of cable run and metre of wall, through the whole thickness, shape (n,). [W/m^2]"""

    def total(self) -> float:
        """Integral along the wall. [W/m]"""
        return float(np.sum(self.loss_w_per_m2 * np.diff(self.edges_m)))


def tray_triangles(result: Answers, tray: str) -> Ints:
    """Indices of the triangles of a tray."""
    fields = result.fields
    regions = fields.part_regions[fields.part_names.index(tray)]
    return np.flatnonzero(np.isin(fields.mesh.regions, regions))


def developed_loss(result: Answers, tray: str) -> DevelopedLoss:
    """Loss density of a tray integrated through its wall.

    Each triangle's loss is spread evenly over the stretch of wall it reaches along. The two triangles of a cell of
    the wall's layers reach along the same stretch, so that a cell's loss is spread evenly over the cell.
    """
    path = wall_path(result, tray)
    mesh = result.fields.mesh
    chosen = tray_triangles(result, tray)
    corners = mesh.points[mesh.triangles[chosen, :3]]
    run = path.run_of(corners.mean(axis=1))
    loss = result.element_fields.loss_density[chosen] * _areas(corners)
    places = np.stack([path.along(corners[:, k], run) for k in range(3)], axis=1)
    first, last = places.min(axis=1), places.max(axis=1)
    edges = np.unique(places)
    edges = edges[np.concatenate([[True], np.diff(edges) > SAME_PLACE])]
    begin = np.searchsorted(edges, first + SAME_PLACE, side="right") - 1
    end = np.searchsorted(edges, last + SAME_PLACE, side="right") - 1
    slope = loss / (edges[end] - edges[begin])
    rise = np.bincount(begin, weights=slope, minlength=len(edges)) - np.bincount(
        end, weights=slope, minlength=len(edges)
    )
    return DevelopedLoss(edges, np.maximum(np.cumsum(rise)[:-1], 0.0))


def wall_path(result: Answers, tray: str) -> WallPath:
    """The middle line of a tray's wall."""
    shape = result.cross_section.part(tray).shape
    if not isinstance(shape, Wall):
        raise ValueError(f"{tray} is no wall")
    return WallPath(shape)


def _areas(corners: Floats) -> Floats:
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area: Floats = (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    return area
