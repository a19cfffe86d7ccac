"""Where a tray is hot: loss density on its walls drawn thicker, and loss along its wall laid flat."""

from __future__ import annotations

from collections.abc import Mapping

import matplotlib.patheffects as effects
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fem.arrays import Floats
from studies.answers.answers import Answers
from studies.answers.figure_names import at_own_frequency
from studies.answers.losses.developed import WallPath, developed_loss, tray_triangles, wall_path
from studies.drawing.colour_scales import bar_axes
from studies.drawing.solids import draw_layers
from studies.drawing.style import (
    COMPUTED,
    INK,
    PAGE_WIDTH,
    QUIET,
    magnitude_colours,
    new_figure,
    styled,
    titled,
)
from studies.section.parts import PlacedCable
from studies.study.phases import PHASE_COLOURS
from studies.text.numbers import with_unit
from studies.text.units import LOSS_PER_AREA, LOSS_PER_LENGTH, LOSS_PER_VOLUME, unit_for

MILLIMETRES = 1e3
DRAWN_THICKNESS = 6.0
"""Least thickness of a wall in the drawing. [pt]"""
PROFILE_HEIGHT = 1.5
"""Height of the lower drawing. [in]"""
LEAST_DRAWING, TALLEST_DRAWING = 1.1, 3.4
"""Smallest and largest height of the upper drawing. [in]"""
LEFT, RIGHT, BOTTOM, BETWEEN, TOP = 0.72, 0.95, 0.50, 0.78, 0.46
"""Room left, right, below, between and above them. [in]"""
GROUP = 2.0
"""Furthest cable of a circuit at a wall, in its diameters from the rectangle about the wall. [-]"""
NAME_ROOM = 16.0
"""Least distance of neighbouring marks whose phases are written. [pt]"""


@styled
def draw_loss_density(result: Answers, tray: str) -> Figure:
    """Loss density over the cross-section of a tray, and its integral through the wall along the wall."""
    path = wall_path(result, tray)
    window = _window(path, _own_cables(result, path))
    (x0, x1), (y0, y1) = window
    width = PAGE_WIDTH - LEFT - RIGHT
    drawing = min(TALLEST_DRAWING, width * (y1 - y0) / (x1 - x0))
    height = BOTTOM + PROFILE_HEIGHT + BETWEEN + drawing + TOP
    figure = new_figure(height)
    across = min(width, drawing * (x1 - x0) / (y1 - y0))
    upper = figure.add_axes(
        (
            (LEFT + (width - across) / 2) / PAGE_WIDTH,
            (BOTTOM + PROFILE_HEIGHT + BETWEEN) / height,
            across / PAGE_WIDTH,
            drawing / height,
        )
    )
    lower = figure.add_axes((LEFT / PAGE_WIDTH, BOTTOM / height, width / PAGE_WIDTH, PROFILE_HEIGHT / height))
    upper.set_xlim(x0 * MILLIMETRES, x1 * MILLIMETRES)
    upper.set_ylim(y0 * MILLIMETRES, y1 * MILLIMETRES)
    upper.set_aspect("equal", adjustable="box")
    _hot_wall(figure, upper, result, tray, path, across * 72 / (x1 - x0))
    _profile(lower, result, tray, path)
    return figure


def _window(path: WallPath, cables: list[PlacedCable]) -> tuple[tuple[float, float], tuple[float, float]]:
    corners = path.runs.reshape(-1, 2)
    low, high = corners.min(axis=0), corners.max(axis=0)
    for cable in cables:
        low = np.minimum(low, np.subtract(cable.axis, cable.layers.outer_radius))
        high = np.maximum(high, np.add(cable.axis, cable.layers.outer_radius))
    room = 0.1 * float((high - low).max())
    x0, x1 = float(low[0]) - room, float(high[0]) + room
    y0, y1 = float(low[1]) - room, float(high[1]) + room
    least = LEAST_DRAWING * (x1 - x0) / (PAGE_WIDTH - LEFT - RIGHT)
    more = max(0.0, least - (y1 - y0)) / 2
    return (x0, x1), (y0 - more, y1 + more)


def _hot_wall(figure: Figure, axes: Axes, result: Answers, tray: str, path: WallPath, points_a_metre: float) -> None:
    mesh = result.fields.mesh
    chosen = tray_triangles(result, tray)
    corners = mesh.points[mesh.triangles[chosen, :3]]
    run = path.run_of(corners.mean(axis=1))
    factor = _exaggeration(path, points_a_metre)
    fixed_left = _left_face_is_inside(result, path)
    drawn = np.stack([path.thickened(corners[:, k], run, factor, fixed_left) for k in range(3)], axis=1) * MILLIMETRES
    density = result.element_fields.loss_density[chosen]
    unit = unit_for(float(density.max(initial=0.0)), LOSS_PER_VOLUME)
    picture = axes.tripcolor(
        drawn[..., 0].ravel(),
        drawn[..., 1].ravel(),
        triangles=np.arange(3 * len(drawn)).reshape(-1, 3),
        facecolors=density / unit.size,
        cmap=magnitude_colours(),
        vmin=0.0,
        vmax=float(density.max(initial=0.0)) / unit.size or 1.0,
        rasterized=True,
        zorder=2,
    )
    axes.autoscale(False)
    outline = path.thickened(path.runs.reshape(-1, 2), np.repeat(np.arange(len(path.runs)), 4), factor, fixed_left)
    for quad in outline.reshape(-1, 4, 2) * MILLIMETRES:
        axes.fill(*quad.T, facecolor="none", edgecolor=INK, linewidth=0.4, zorder=3)
    draw_layers(axes, result.cross_section, MILLIMETRES, _own_cables(result, path))
    bar = figure.colorbar(picture, cax=bar_axes(figure, axes))
    bar.set_label(f"loss density ({unit.symbol})")
    axes.set_xlabel("x (mm)")
    axes.set_ylabel("y (mm)")
    thickness = float(path.thickness.min()) * MILLIMETRES
    loss = float(result.loss_fields.total[result.fields.part_names.index(tray)])
    thicker = f", walls ({thickness:.3g} mm) drawn {factor:g} times as thick" if factor > 1 else ""
    _mark_ends(axes, path)
    titled(axes, f"{tray}: {with_unit(loss, LOSS_PER_LENGTH)} in all{at_own_frequency(result)}{thicker}")


def _mark_ends(axes: Axes, path: WallPath) -> None:
    """Letters beside the ends of the middle line, a little beyond them."""
    ends = {"A": (path.starts[0], path.ends[0] - path.starts[0])}
    if not path.wall.closed:
        ends["B"] = (path.ends[-1], path.starts[-1] - path.ends[-1])
    for letter, (point, inward) in ends.items():
        offset = -8.0 * inward / np.linalg.norm(inward)
        axes.annotate(
            letter,
            tuple(point * MILLIMETRES),
            xytext=(float(offset[0]), float(offset[1])),
            textcoords="offset points",
            fontsize=7.5,
            ha="center",
            va="center",
            zorder=8,
            path_effects=[effects.withStroke(linewidth=2.0, foreground="white")],
        )


def _exaggeration(path: WallPath, points_a_metre: float) -> float:
    """By how much the walls are drawn thicker: a whole number that makes the thinnest clearly visible. [-]"""
    return max(1.0, float(np.ceil(DRAWN_THICKNESS / (points_a_metre * float(path.thickness.min())))))


def _left_face_is_inside(result: Answers, path: WallPath) -> bool:
    """Whether the left face is the one towards the cables; it stays where it is."""
    middle = np.mean([cable.axis for cable in result.cross_section.cables], axis=0)
    left = np.linalg.norm(np.array(path.wall.left) - middle, axis=1).mean()
    right = np.linalg.norm(np.array(path.wall.right) - middle, axis=1).mean()
    return bool(left <= right)


def _own_cables(result: Answers, path: WallPath) -> list[PlacedCable]:
    """Cables of the circuits that lie in the rectangle about a wall, a diameter of theirs around it included.

    Of such a circuit those within `GROUP` diameters: the upper cable of a trefoil, and not what runs elsewhere.
    """
    low, high = path.runs.reshape(-1, 2).min(axis=0), path.runs.reshape(-1, 2).max(axis=0)

    def within(cable: PlacedCable, diameters: float) -> bool:
        away = np.maximum(np.maximum(low - cable.axis, cable.axis - high), 0)
        return bool(np.all(away < diameters * cable.layers.diameter))

    circuits = {cable.circuit for cable in result.cross_section.cables if within(cable, 1.0)}
    return [cable for cable in result.cross_section.cables if cable.circuit in circuits and within(cable, GROUP)]


def _profile(axes: Axes, result: Answers, tray: str, path: WallPath) -> None:
    developed = developed_loss(result, tray)
    unit = unit_for(float(developed.loss_w_per_m2.max(initial=0.0)), LOSS_PER_AREA)
    values = developed.loss_w_per_m2 / unit.size
    edges = developed.edges_m * MILLIMETRES
    middles = np.concatenate([edges[:1], (edges[:-1] + edges[1:]) / 2, edges[-1:]])
    line = np.concatenate([values[:1], values, values[-1:]])
    axes.fill_between(middles, line, color=COMPUTED, alpha=0.12, linewidth=0, zorder=2)
    axes.plot(middles, line, color=COMPUTED, linewidth=1.1, zorder=3)
    top = 1.22 * (float(values.max(initial=0.0)) or 1.0)
    axes.set_ylim(0.0, top)
    axes.set_xlim(0.0, float(path.corners[-1]) * MILLIMETRES)
    for corner in path.corners[1:-1]:
        axes.axvline(corner * MILLIMETRES, color=QUIET, linewidth=0.7, linestyle=(0, (2, 2)), zorder=1)
    colours = PHASE_COLOURS[result.study.phase_colours]
    _cable_marks(axes, _own_cables(result, path), path, 0.93 * top, colours)
    axes.grid(True, axis="y")
    axes.set_ylabel(f"loss of the sheet ({unit.symbol})")
    whole = "all round from A" if path.wall.closed else "from A to B"
    axes.set_xlabel(f"distance along the middle line {whole} (mm)")
    dotted = "; dotted: corners" if len(path.runs) > 1 else ""
    circles = "; circles: nearest cable axes" if _own_cables(result, path) else ""
    axes.set_title(f"Loss per metre of run and metre of sheet{dotted}{circles}")


def _cable_marks(
    axes: Axes, cables: list[PlacedCable], path: WallPath, level: float, colours: Mapping[str, str]
) -> None:
    """A circle for each cable where the wall is nearest to it, with its phase where there is room for all."""
    places = []
    for cable in cables:
        run = np.array([_nearest_run(path, np.array(cable.axis))])
        places.append(float(path.along(np.array([cable.axis]), run)[0]) * MILLIMETRES)
    pixels = np.sort(axes.transData.transform([(place, level) for place in places])[:, 0]) if places else np.zeros(0)
    roomy = bool(np.all(np.diff(pixels) > NAME_ROOM * axes.figure.dpi / 72))
    for place, cable in zip(places, cables, strict=True):
        axes.plot(
            *(place, level),
            marker="o",
            markersize=4.0,
            color=colours[cable.phase],
            markeredgecolor=INK,
            markeredgewidth=0.4,
            zorder=5,
        )
        if roomy:
            axes.annotate(
                cable.phase, (place, level), xytext=(4, 0), textcoords="offset points", fontsize=6.5, va="center"
            )


def _nearest_run(path: WallPath, point: Floats) -> int:
    """The run whose middle line is nearest to a point (2,) [m]."""
    ahead = path.ends - path.starts
    t = np.clip(np.sum((point - path.starts) * ahead, axis=1) / np.sum(ahead**2, axis=1), 0, 1)
    return int(np.linalg.norm(point - path.starts - t[:, None] * ahead, axis=1).argmin())
