"""Figures of the run in space: the field in plan with the contours of limits, and along lines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import matplotlib.patheffects as effects
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from studies.answers.answers import Answers
from studies.answers.result_units import result_units
from studies.answers.space.rows import AlongCourseResult, SpaceFieldResult, SpaceLineResult, SpacePlanResult
from studies.drawing.colour_scales import log_colour_bar, log_norm, log_value_axis
from studies.drawing.labels import LabelPlacer
from studies.drawing.style import (
    COMPUTED,
    FORMULA,
    INK,
    PAGE_WIDTH,
    Margins,
    magnitude_colours,
    new_figure,
    styled,
    titled,
    to_scale,
)
from studies.section.course import along_route, frames_of
from studies.study.course import Course
from studies.text.numbers import plain, stated
from studies.text.units import FLUX_DENSITY

HEIGHT = 2.9
"""Height of the figure of a line. [in]"""
DASHED = (0, (4, 1.6))
CASING = (effects.withStroke(linewidth=3.4, foreground="white"),)
"""Behind a path, which crosses light and dark fields."""
PATH: Mapping[str, Any] = {"color": COMPUTED, "linewidth": 1.6, "path_effects": CASING}
OTHER_PATH: Mapping[str, Any] = {"color": FORMULA, "linewidth": 1.4, "linestyle": DASHED, "path_effects": CASING}

BORDER: Mapping[str, Any] = {
    "color": INK,
    "marker": "s",
    "markersize": 5,
    "markerfacecolor": "white",
    "linestyle": "none",
    "zorder": 5.5,
}
"""A square on the path."""


@styled
def draw_plan(result: Answers, plan: SpacePlanResult) -> Figure:
    """Resultant flux density over a level plane, with path, receptors and the contour of each stated limit."""
    found, course = result.space, result.study.course
    assert found is not None
    assert course is not None
    x, y = plan.x_m, plan.y_m
    corners = (float(x[0]), float(y[0])), (float(x[-1]), float(y[-1]))
    figure, axes = to_scale(corners, Margins(0.62, 1.05, 0.78, 0.32), 1.75)
    norm = log_norm(plan.b_rms_t)
    image = axes.imshow(
        plan.b_rms_t,
        extent=(x[0], x[-1], y[0], y[-1]),
        origin="lower",
        interpolation="bilinear",
        aspect="equal",
        norm=norm,
        cmap=magnitude_colours(),
        zorder=1,
    )
    unit = result_units(result).of(FLUX_DENSITY, (float(norm.vmin or 0.0), float(norm.vmax or 0.0)))
    _draw_path(axes, course, PATH)
    placer = LabelPlacer(axes, boxed=True)
    for other in course.other_runs:
        _draw_path(axes, Course(path=other.path), OTHER_PATH)
    judged: tuple[SpaceFieldResult | AlongCourseResult, ...] = (*found.receptors, *found.along)
    limits = sorted({row.limit_t for row in judged if row.limit_t is not None and row.exposure_index is None})
    for limit in limits:
        lines = axes.contour(x, y, plan.b_rms_t, levels=[limit], colors=INK, linewidths=1.2, zorder=3.5)
        for piece in lines.allsegs[0][:1]:
            placer.on_line(stated(limit, unit), piece)
    for row in found.receptors:
        if x[0] <= row.x_m <= x[-1] and y[0] <= row.y_m <= y[-1]:
            axes.plot(row.x_m, row.y_m, "o", color=INK, markersize=4, zorder=6)
            height = f"{row.name}, at {plain(row.z_m)} m"
            placer.beside(height, (row.x_m, row.y_m), size=7.0, nearest=4.0)
    log_colour_bar(figure, axes, image, "flux density, rms", unit)
    axes.set_xlabel("x (m)")
    axes.set_ylabel("y (m)")
    titled(axes, f"Field of the run seen from above, at the height z = {plain(plan.height_m)} m")
    handles = [Line2D([], [], label="path of the run, along the arrow", **PATH)]
    if course.other_runs:
        handles.append(Line2D([], [], label=", ".join(run.name for run in course.other_runs), **OTHER_PATH))
    handles += [Line2D([], [], color=INK, linewidth=1.2, label="limit")] if limits else []
    if _draw_borders(axes, placer, result, course):
        handles.append(Line2D([], [], label="where sections meet", **BORDER))
    handles += [
        Line2D([], [], color=INK, marker="o", markersize=4, linestyle="none", label="receptor, with its height")
    ]
    figure.legend(handles=handles, loc="lower center", bbox_to_anchor=(0.5, 0.0), ncols=4)
    return figure


def _draw_borders(axes: Axes, placer: LabelPlacer, result: Answers, course: Course) -> bool:
    """Mark where sections of the route meet and name each, if there are some."""
    route = result.study.route
    if not route:
        return False
    named = [one.name or f"section {k}" for k, one in enumerate(route, 1)]
    frames = along_route(frames_of(course), named, [one.length for one in route])
    of_route, corners = frames.of_route, frames.corners[:, :2]
    borders = np.flatnonzero(np.diff(of_route)) + 1
    axes.plot(*corners[borders].T, scalex=False, scaley=False, **BORDER)
    placer.keep_free(list(map(tuple, corners[borders])), 5)
    low, high = np.transpose([axes.get_xlim(), axes.get_ylim()])
    inside = [np.clip(corners[k : k + 2], low, high) for k in range(len(of_route))]
    for k in np.unique(of_route):
        longest = max(np.flatnonzero(of_route == k), key=lambda j: float(np.linalg.norm(np.diff(inside[j], axis=0))))
        x, y = inside[longest].mean(axis=0)
        placer.beside(named[k], (float(x), float(y)), size=7.0, nearest=5.0)
    return len(borders) > 0


def _draw_path(axes: Axes, course: Course, style: Mapping[str, Any]) -> None:
    """A path in plan with an arrow along it, where it is longest in the window."""
    path = frames_of(course).lines(np.zeros((1, 2)))[0, :, :2]
    axes.plot(*path.T, zorder=4, scalex=False, scaley=False, **style)
    corners = np.array(course.path)[:, :2]
    low, high = np.transpose([axes.get_xlim(), axes.get_ylim()])
    inside = [np.clip(corners[k : k + 2], low, high) for k in range(len(corners) - 1)]
    start, end = max(inside, key=lambda ends: float(np.linalg.norm(ends[1] - ends[0])))
    if np.all(start == end):
        return  # a riser, or nothing in the window
    across, up = end - start
    triangle = (3, 0, np.degrees(np.arctan2(up, across)) - 90)
    arrow = {"marker": triangle, "markersize": 8, "color": style["color"], "markeredgecolor": "white", "zorder": 4.5}
    axes.plot(*(start + 0.25 * (end - start)), **arrow)


@styled
def draw_space_line(result: Answers, line: SpaceLineResult) -> Figure:
    """Field of the run along a line in space, with its error, beside the cross-section of the nearest piece alone."""
    figure = new_figure(HEIGHT)
    axes = figure.add_axes(
        (0.72 / PAGE_WIDTH, 0.52 / HEIGHT, (PAGE_WIDTH - 0.92) / PAGE_WIDTH, (HEIGHT - 0.88) / HEIGHT)
    )
    values = np.concatenate([line.b_rms_t, line.nearest_b_rms_t])
    unit = result_units(result).of(FLUX_DENSITY, values)
    field, error = line.b_rms_t / unit.size, line.b_rms_error_t / unit.size
    axes.plot(line.distance_m, field, color=COMPUTED, label="run in space")
    low = np.maximum(field - error, 1e-3 * field)
    axes.fill_between(line.distance_m, low, field + error, color=COMPUTED, alpha=0.25, linewidth=0, label="its error")
    nearest = line.nearest_b_rms_t / unit.size
    axes.plot(line.distance_m, nearest, color=FORMULA, linestyle=DASHED, label="cross-section alone")
    positive = values[values > 0]
    if positive.size and positive.max() > 10 * positive.min():
        log_value_axis(axes, float(positive.min()) / 1.3, 1.5 * float(positive.max()), unit)
    else:
        axes.set_ylim(0.0, 1.12 * unit.of(float(values.max())) or 1.0)
    axes.set_xlim(float(line.distance_m[0]), float(line.distance_m[-1]))
    axes.set_xlabel("distance from the first point (m)")
    axes.set_ylabel(f"flux density, rms ({unit.symbol})")
    axes.set_title(f"The run in space along: {line.name}", loc="left")
    axes.grid(True)
    axes.legend(loc="best")
    return figure
