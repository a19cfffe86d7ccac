"""Labels that neither overlap each other nor leave the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import matplotlib.patheffects as effects
import numpy as np
from matplotlib.axes import Axes
from matplotlib.text import Annotation

from fem.arrays import Floats
from studies.drawing.style import INK, QUIET

Place = Sequence[float] | Floats
"""A point in data coordinates."""
Box = tuple[float, float, float, float]
"""x0, y0, x1, y1. [pixel]"""

LINE_STEP = 6.0
"""Largest height and width of the pieces in which slanting lines are kept free. [pixel]"""
PADDING = 1.5
"""Free room about a label. [pt]"""
DIRECTIONS = (
    *((1.0, 0.0), (-1.0, 0.0), (1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (0.0, 1.0), (0.0, -1.0)),
    *((1.0, 0.5), (-1.0, 0.5), (1.0, -0.5), (-1.0, -0.5), (0.5, 1.0), (-0.5, 1.0), (0.5, -1.0), (-0.5, -1.0)),
)
"""Tried directions of a label from its point; 1 puts an edge of the label there, 0 its middle."""
DISTANCES = (7.0, 13.0, 22.0, 34.0, 50.0, 72.0, 100.0, 140.0, 190.0)
"""Tried distances of a label from its point. [pt]"""
BOX = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.6}
"""Behind a label that interrupts a line."""
LEADER_FROM = 20.0
"""Labels further away than this get a line to their point. [pt]"""


class LabelPlacer:
    """Places labels one by one in an axes, each clear of what was placed or kept free before."""

    def __init__(self, axes: Axes, boxed: bool = False) -> None:
        """Take an axes whose position and limits are final; boxed labels interrupt thin lines below them."""
        self._axes = axes
        self._boxed = boxed
        self._pixel = axes.figure.dpi / 72.0
        frame = axes.get_window_extent()
        inset = 2 * self._pixel
        self._frame = (frame.x0 + inset, frame.y0 + inset, frame.x1 - inset, frame.y1 - inset)
        self._taken: list[Box] = []
        self._box_of: dict[Annotation, Box] = {}

    @property
    def taken(self) -> tuple[Box, ...]:
        """All that is placed or kept free. [pixel]"""
        return tuple(self._taken)

    def keep_free(self, points: Iterable[Place], radius: float) -> None:
        """Keep squares of a half-width [pt] about points in data coordinates free of labels."""
        half = radius * self._pixel
        for x, y in self._axes.transData.transform(np.array(list(points)).reshape(-1, 2)):
            self._taken.append((x - half, y - half, x + half, y + half))

    def keep_box_free(self, low: Place, high: Place) -> None:
        """Keep a rectangle in data coordinates free of labels."""
        (x0, y0), (x1, y1) = self._axes.transData.transform(np.array([low, high]))
        self._taken.append((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)))

    def keep_line_free(self, start: Place, end: Place) -> None:
        """Keep a straight line in data coordinates free of labels."""
        first, last = self._axes.transData.transform(np.array([start, end], dtype=float))
        steps = max(int(np.min(np.abs(last - first)) / LINE_STEP), 1)  # one box is enough along an axis
        places = np.linspace(first, last, steps + 1)
        for low, high in zip(np.minimum(places[:-1], places[1:]), np.maximum(places[:-1], places[1:]), strict=True):
            self._taken.append((low[0] - 1, low[1] - 1, high[0] + 1, high[1] + 1))

    def beside(
        self,
        text: str,
        point: Place,
        size: float = 7.5,
        colour: str = INK,
        nearest: float = DISTANCES[0],
        directions: Sequence[tuple[float, float]] = DIRECTIONS,
    ) -> Annotation:
        """Label a point: beside it if there is room, else further away with a line to it."""
        label = self._annotation(text, point, size, colour)
        width, height = self._measure(label)
        anchor = self._axes.transData.transform(point)
        distances = [nearest, *(distance for distance in DISTANCES if distance > nearest)]
        centres = np.array(
            [
                anchor + distance * self._pixel * _unit(direction) + np.multiply(direction, (width / 2, height / 2))
                for distance in distances
                for direction in directions
            ]
        )
        walked = np.repeat(distances, len(directions)) * self._pixel
        best = self._best(centres, width, height, walked)
        self._put(label, anchor, centres[best], width, height)
        if walked[best] > LEADER_FROM * self._pixel:
            self._leader(point, centres[best], width, height)
        return label

    def close_by(self, text: str, point: Place, size: float, distance: float) -> Annotation | None:
        """Label right above a point, at a distance [pt]; None if there is no room."""
        label = self._annotation(text, point, size, INK)
        width, height = self._measure(label)
        anchor = self._axes.transData.transform(point)
        centre = anchor + np.array((0.0, distance * self._pixel + height / 2))
        if self._cost(centre, width, height) > 0:
            label.remove()
            return None
        self._put(label, anchor, centre, width, height)
        return label

    def among(self, text: str, places: Floats, size: float, within: tuple[Place, Place]) -> Annotation:
        """Label on one of some places (n, 2) in data coordinates, in a rectangle if it has room there, else by it."""
        middle = np.mean(np.array(within, dtype=float), axis=0)
        label = self._annotation(text, middle, size, INK)
        width, height = self._measure(label)
        centres = self._axes.transData.transform(places)
        boxes = np.array([_around(centre, width, height, PADDING * self._pixel) for centre in centres])
        low, high = np.sort(self._axes.transData.transform(np.array(within, dtype=float)), axis=0)
        inside = np.all((boxes[:, :2] >= low) & (boxes[:, 2:] <= high), axis=1)
        free = inside & (self._costs(centres, width, height) <= 0)
        if not np.any(free):
            label.remove()
            return self.beside(text, middle, size)
        best = int(np.flatnonzero(free)[np.argmax(self._clearance(centres[free]))])
        self._put(label, self._axes.transData.transform(middle), centres[best], width, height)
        return label

    def is_free(self, low: Place, high: Place) -> bool:
        """Whether a rectangle [pixel] lies inside the drawing and covers nothing placed or kept free."""
        box = np.array([[low[0], low[1], high[0], high[1]]])
        inside = low[0] >= self._frame[0] and low[1] >= self._frame[1]
        inside = inside and high[0] <= self._frame[2] and high[1] <= self._frame[3]
        return bool(inside and not np.any(_common_area(box, np.array(self._taken).reshape(-1, 4)) > 0))

    def withdraw(self, label: Annotation) -> None:
        """Take a placed label away again."""
        self._taken.remove(self._box_of.pop(label))
        label.remove()

    def on_line(self, text: str, points: Floats, size: float = 7.0, above: bool = False) -> Annotation | None:
        """Label a line through points (n, 2) in data coordinates at the place with most room; None if there is none."""
        if len(points) == 0:
            return None
        chosen = points[np.unique(np.linspace(0, len(points) - 1, 160).astype(int))]
        label = self._annotation(text, chosen[0], size, INK)
        width, height = self._measure(label)
        anchors = self._axes.transData.transform(chosen)
        centres = anchors + np.array((0.0, height / 2 + 1.5 * self._pixel)) if above else anchors
        # nothing pulls a label along its line but the wish to stay away from others
        best = self._best(centres, width, height, -0.2 * self._clearance(centres))
        if self._cost(centres[best], width, height) > 0:
            label.remove()
            return None
        label.xy = (float(chosen[best][0]), float(chosen[best][1]))
        if not above:  # the line must not run through its text
            label.set_bbox(dict(BOX))
        self._put(label, anchors[best], centres[best], width, height)
        return label

    def _annotation(self, text: str, point: Place, size: float, colour: str) -> Annotation:
        label = self._axes.annotate(
            text,
            xy=(point[0], point[1]),
            xytext=(0, 0),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=size,
            color=colour,
            linespacing=1.15,
            zorder=9,
        )
        if self._boxed:
            label.set_bbox(dict(BOX))
        label.set_path_effects([effects.withStroke(linewidth=2.2, foreground="white", alpha=0.85)])
        return label

    @staticmethod
    def _measure(label: Annotation) -> tuple[float, float]:
        extent = label.get_window_extent()
        return extent.width, extent.height

    def _put(self, label: Annotation, anchor: Floats, centre: Floats, width: float, height: float) -> None:
        offset = (centre - anchor) / self._pixel
        label.set_position((float(offset[0]), float(offset[1])))
        self._box_of[label] = _around(centre, width, height, PADDING * self._pixel)
        self._taken.append(self._box_of[label])

    def _leader(self, point: Place, centre: Floats, width: float, height: float) -> None:
        x0, y0, x1, y1 = _around(centre, width, height, self._pixel)
        anchor = self._axes.transData.transform(point)
        end = self._axes.transData.inverted().transform((min(max(anchor[0], x0), x1), min(max(anchor[1], y0), y1)))
        self._axes.plot([point[0], end[0]], [point[1], end[1]], color=QUIET, linewidth=0.6, zorder=8)
        self.keep_line_free(point, end)

    def _best(self, centres: Floats, width: float, height: float, preference: Floats) -> int:
        return int(np.argmin(self._costs(centres, width, height) + preference))

    def _cost(self, centre: Floats, width: float, height: float) -> float:
        return float(self._costs(centre[None], width, height)[0])

    def _costs(self, centres: Floats, width: float, height: float) -> Floats:
        """Area of what a label on a centre (n, 2) covers or leaves outside."""
        boxes = np.array([_around(centre, width, height, PADDING * self._pixel) for centre in centres])
        whole = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
        outside = np.maximum(whole - _common_area(boxes, np.array([self._frame]))[:, 0], 0.0)
        outside[outside < 1e-6 * whole] = 0.0
        covered = _common_area(boxes, np.array(self._taken).reshape(-1, 4)).sum(axis=1)
        costs: Floats = 100.0 * outside + 10.0 * covered
        return costs

    def _clearance(self, centres: Floats) -> Floats:
        """Distance of centres from the nearest thing placed, 200 pixels at most. [pixel]"""
        if not self._taken:
            return np.zeros(len(centres))
        boxes = np.array(self._taken)
        away = np.maximum(np.maximum(boxes[None, :, :2] - centres[:, None], centres[:, None] - boxes[None, :, 2:]), 0)
        nearest: Floats = np.minimum(np.linalg.norm(away, axis=2).min(axis=1), 200.0)
        return nearest


def _unit(direction: tuple[float, float]) -> Floats:
    unit: Floats = np.array(direction, dtype=float) / np.hypot(*direction)
    return unit


def _around(centre: Floats, width: float, height: float, padding: float) -> Box:
    x, y = float(centre[0]), float(centre[1])
    return x - width / 2 - padding, y - height / 2 - padding, x + width / 2 + padding, y + height / 2 + padding


def _common_area(boxes: Floats, others: Floats) -> Floats:
    """Common area of each of some boxes (n, 4) with each of others (m, 4), shape (n, m). [pixel^2]"""
    across = np.minimum(boxes[:, None, 2], others[:, 2]) - np.maximum(boxes[:, None, 0], others[:, 0])
    up = np.minimum(boxes[:, None, 3], others[:, 3]) - np.maximum(boxes[:, None, 1], others[:, 1])
    area: Floats = np.maximum(across, 0) * np.maximum(up, 0)
    return area
