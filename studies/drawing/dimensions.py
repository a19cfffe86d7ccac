"""Dimension bars, and which distances between cables to show."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.text import Annotation

from geometry.shapes import Point
from studies.drawing.labels import Box, LabelPlacer
from studies.drawing.style import INK, QUIET
from studies.section.parts import CrossSection, PlacedCable

MOST_OF_A_CIRCUIT = 3
"""Distinct distances shown for one circuit."""

Pair = tuple[PlacedCable, PlacedCable]
Span = tuple[Point, Point]
"""Both ends of a dimension bar, in data coordinates."""


def neighbour_pairs(section: CrossSection) -> tuple[Pair, ...]:
    """For each distinct distance from a cable to its nearest of the same circuit, one pair of cables that has it.

    Distances are told apart to 0.1 mm; a pair lying level is taken before one upright, and that before a slanting one.
    """
    pairs: dict[float, Pair] = {}
    for circuit in dict.fromkeys(cable.circuit for cable in section.cables):
        own = [cable for cable in section.cables if cable.circuit == circuit]
        if len(own) < 2:
            continue
        axes = np.array([cable.axis for cable in own])
        distance = np.linalg.norm(axes[:, None] - axes[None], axis=2)
        np.fill_diagonal(distance, np.inf)
        nearest = sorted({round(float(value), 4) for value in distance.min(axis=1)})
        for value in nearest[:MOST_OF_A_CIRCUIT]:
            if value in pairs:
                continue
            found = [
                (own[i], own[j]) for i in range(len(own)) for j in range(i) if round(float(distance[i, j]), 4) == value
            ]
            pairs[value] = min(found, key=_awkwardness)
    return tuple(pairs.values())


def bar(axes: Axes, placer: LabelPlacer, start: Point, end: Point, text: str, other_side: bool = False) -> None:
    """A dimension bar between two points in data coordinates; its text above or right of it, or on the other side."""
    pixel = axes.figure.dpi / 72
    first, last = axes.transData.transform([start, end])
    long_enough = np.linalg.norm(last - first) > 14 * pixel
    style = "<|-|>,head_length=0.35,head_width=0.12" if long_enough else "|-|,widthA=0.18,widthB=0.18"
    axes.annotate(
        "",
        xy=end,
        xytext=start,
        arrowprops={"arrowstyle": style, "color": INK, "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0},
        zorder=7,
    )
    box = _label(axes, start, end, text, other_side).get_window_extent()
    back = axes.transData.inverted().transform
    placer.keep_box_free(back((box.x0, box.y0)), back((box.x1, box.y1)))
    placer.keep_free(np.linspace(start, end, 24), 2)


def label_box(axes: Axes, start: Point, end: Point, text: str, other_side: bool = False) -> Box:
    """Rectangle [pixel] that the text of a bar would take."""
    label = _label(axes, start, end, text, other_side)
    box = label.get_window_extent()
    label.remove()
    return box.x0, box.y0, box.x1, box.y1


def _label(axes: Axes, start: Point, end: Point, text: str, other_side: bool) -> Annotation:
    first, last = axes.transData.transform([start, end])
    along = (last - first) / np.linalg.norm(last - first)
    upright = abs(along[1]) > 0.9
    offset = (-4.0 if other_side else 4.0, 0.0) if upright else (0.0, -3.0 if other_side else 2.5)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return axes.annotate(
        text,
        xy=middle,
        xytext=offset,
        textcoords="offset points",
        ha=("right" if other_side else "left") if upright else "center",
        va="center" if upright else "top" if other_side else "bottom",
        fontsize=7.0,
        color=INK,
        zorder=7,
    )


def extension(axes: Axes, start: Point, end: Point) -> None:
    """A thin line from what is dimensioned to the bar."""
    axes.plot([start[0], end[0]], [start[1], end[1]], color=QUIET, linewidth=0.4, zorder=6)


def _awkwardness(pair: Pair) -> tuple[int, float, float]:
    (xa, ya), (xb, yb) = pair[0].axis, pair[1].axis
    slant = 0 if abs(ya - yb) < 1e-6 else 1 if abs(xa - xb) < 1e-6 else 2
    return slant, -round(max(ya, yb), 6), round(min(xa, xb), 6)
