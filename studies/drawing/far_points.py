"""Arrows at the border of a drawing towards points that lie outside it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from studies.drawing.labels import LabelPlacer
from studies.drawing.style import INK

ARROW = 16.0
"""Length of an arrow. [pt]"""


def is_inside(axes: Axes, point: Sequence[float]) -> bool:
    """Whether a point in data coordinates is within the limits of the axes."""
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    return x0 <= point[0] <= x1 and y0 <= point[1] <= y1


def draw_arrow(
    axes: Axes, placer: LabelPlacer, origin: Sequence[float], point: Sequence[float], text: str, colour: str = INK
) -> None:
    """An arrow at the border, on the straight line from an origin inside to a point outside, with a label beside it."""
    tip = border_crossing(axes, origin, point)
    to_pixel = axes.transData.transform
    pixel = axes.figure.dpi / 72
    direction = to_pixel(point) - to_pixel(origin)
    direction = direction / np.linalg.norm(direction)
    end = to_pixel(tip) - 2 * pixel * direction
    start = end - ARROW * pixel * direction
    back = axes.transData.inverted().transform
    axes.annotate(
        "",
        xy=tuple(back(end)),
        xytext=tuple(back(start)),
        arrowprops={"arrowstyle": "-|>", "color": colour, "linewidth": 1.1, "shrinkA": 0, "shrinkB": 0},
        zorder=8,
    )
    placer.keep_free([back(start + t * (end - start)) for t in (0.0, 0.5, 1.0)], 4)
    placer.beside(text, back(start), size=7.0, colour=colour)


def border_crossing(axes: Axes, origin: Sequence[float], point: Sequence[float]) -> tuple[float, float]:
    """Where the straight line from an origin inside the axes to a point outside crosses the border."""
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    step = math.inf
    for start, end, low, high in ((origin[0], point[0], x0, x1), (origin[1], point[1], y0, y1)):
        if end != start:
            step = min(step, ((high if end > start else low) - start) / (end - start))
    return origin[0] + step * (point[0] - origin[0]), origin[1] + step * (point[1] - origin[1])
