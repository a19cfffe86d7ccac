"""Map of the flux density over the study's window, with the zones, the receptors and the contours of their limits."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping
from functools import partial

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.image import AxesImage
from matplotlib.lines import Line2D

from fem.arrays import Floats
from geometry.shapes import Point
from studies.answers.answers import Answers
from studies.answers.fields.map_marks import (
    draw_receptors,
    draw_zones,
    field_text,
    legend_handles,
    name_zones,
)
from studies.answers.fields.rows import MapResult
from studies.answers.fields.survey_marks import draw_on_map, reading_handles, readings_of
from studies.answers.figure_names import over_all_frequencies, several_frequencies, with_net_currents
from studies.answers.limits.verdicts import index_limit_names, limit_names
from studies.answers.net_currents.marked import marked_receptors, marked_zones
from studies.answers.result_units import result_units
from studies.drawing.colour_scales import log_colour_bar, log_norm, steps_of_decades
from studies.drawing.far_points import is_inside
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import draw_outlines, extent
from studies.drawing.style import INK, Margins, magnitude_colours, styled, titled, to_scale
from studies.section.parts import CrossSection
from studies.text.numbers import plain
from studies.text.units import FLUX_DENSITY

LEAST_MAP = 1.75
"""Least height of a map: room for the label of its colour bar. [in]"""
LEGEND_COLUMNS = 5
NOTE_WIDTH = 112
"""Letters in a line of the note. [-]"""
SEEN, LABELLED = 0.12, 0.5
"""Extent from which a contour is drawn, and from which it is labelled. [in]

Smaller ones crowd at the cables and metal of a wide map, where the colours say enough.
"""
LINE_ROOM = 1.2
"""Room that labels keep from the contour of a limit. [pt]"""
NEAR_LIMIT = 0.15
"""A contour so near to a limit, over the limit, is left out. [-]"""
ROW, LINE = 0.16, 0.125
"""Height of a row of the legend and of a line of the note. [in]"""


@styled
def draw_field_map(result: Answers) -> Figure:
    """Resultant rms flux density on a logarithmic scale, in metres; needs a result with a map."""
    field = require_map(result)
    names, receptors, zones = limit_names(result), marked_receptors(result), marked_zones(result)
    low, high = float(np.nanmin(field.b_rms_t)), float(np.nanmax(field.b_rms_t))
    shown = {limit: name for limit, name in names.items() if low < limit < high}
    marks = readings_of(result)
    handles = legend_handles(receptors, zones) + reading_handles(marks)
    if shown:
        handles.append(Line2D([], [], color=INK, linewidth=1.1, label="limit"))
    note = _note(result, names, shown, high)
    figure, axes = to_scale(map_extent(field), map_margins(handles, note), LEAST_MAP)
    image = map_image(axes, field, field.b_rms_t)
    image.set_interpolation("bilinear")
    norm = log_norm(field.b_rms_t)
    unit = result_units(result).of(FLUX_DENSITY, (low, high))
    image.set_norm(norm)
    image.set_cmap(magnitude_colours())
    draw_outlines(axes, result.cross_section, 1.0)
    placer = LabelPlacer(axes, boxed=True)
    keep_solids_free(placer, result.cross_section)
    places = [(one.x_m, one.y_m) for one in receptors]
    places += [mark.place for mark in marks]
    placer.keep_free([place for place in places if is_inside(axes, place)], 4.5)
    limits = _limit_contours(axes, field, tuple(shown))
    for (points, *_), name in zip(limits, shown.values(), strict=True):
        if placer.on_line(name, points) is None:
            placer.beside(name, points[int(points[:, 1].argmax())], size=7.0)
    ticks = steps_of_decades(low, high, unit)
    steps = [tick for tick in ticks if all(abs(tick / limit - 1) > NEAR_LIMIT for limit in names)]
    lines = contours(axes, field, field.b_rms_t, dict.fromkeys(steps, "solid"), width=0.45, least=LABELLED)
    label_contours(axes, placer, {plain(unit.of(step), 1): pieces for step, pieces in lines.items()})
    for points in (piece for pieces in limits for piece in pieces):
        placer.keep_free(points, LINE_ROOM)
    draw_zones(axes, placer, zones)
    text = partial(field_text, unit=unit, by_index=several_frequencies(result))
    draw_receptors(axes, placer, receptors, result.cross_section, text)
    draw_on_map(axes, placer, marks, unit)
    name_zones(axes, placer, zones, result.cross_section, text)
    log_colour_bar(figure, axes, image, "flux density, rms", unit)
    label_axes(axes)
    titled(axes, f"Resultant flux density by finite elements{over_all_frequencies(result)}{with_net_currents(result)}")
    foot(figure, handles, note)
    return figure


def _note(result: Answers, names: dict[float, str], shown: dict[float, str], high: float) -> str:
    unseen = [
        f"{name} ({'above' if limit >= high else 'below'} all of the map)"
        for limit, name in names.items()
        if limit not in shown
    ]
    unseen += [f"{level}, {own} (a sum over all frequencies)" for level, own in index_limit_names(result).items()]
    return f"Limits without a contour here: {'; '.join(unseen)}." if unseen else ""


def require_map(result: Answers) -> MapResult:
    """The map of a result, which must have one."""
    if result.map is None:
        raise ValueError("this result has no map")
    return result.map


def map_extent(field: MapResult) -> tuple[Point, Point]:
    """Lower left and upper right corner of a map. [m]"""
    return (float(field.x_m[0]), float(field.y_m[0])), (float(field.x_m[-1]), float(field.y_m[-1]))


def map_image(axes: Axes, field: MapResult, values: Floats) -> AxesImage:
    """Values (ny, nx) of a map as an image whose pixels are centred on its points; the limits of the axes stay."""
    limits = axes.get_xlim(), axes.get_ylim()
    dx, dy = (field.x_m[1] - field.x_m[0]) / 2, (field.y_m[1] - field.y_m[0]) / 2
    image = axes.imshow(
        values,
        extent=(field.x_m[0] - dx, field.x_m[-1] + dx, field.y_m[0] - dy, field.y_m[-1] + dy),
        origin="lower",
        interpolation="nearest",
        aspect="equal",
        zorder=1,
    )
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    return image


def contours(
    axes: Axes, field: MapResult, values: Floats, styles: Mapping[float, str], width: float, least: float = SEEN
) -> dict[float, list[Floats]]:
    """Draw the contours of values (ny, nx) that are large enough to be seen as lines, of a width [pt].

    styles: Line style of each level.
    least: Extent from which a piece is drawn. [in]
    Returns lines: Pieces (n, 2) of each level, the largest first. [m]
    """
    levels = sorted(styles)
    if not levels:
        return {}
    drawn = axes.contour(field.x_m, field.y_m, values, levels=levels)
    segments = drawn.allsegs
    drawn.remove()
    found = {}
    for level, pieces in zip(levels, segments, strict=True):
        seen = [piece for piece in pieces if _size(axes, piece) >= least]
        found[level] = sorted(seen, key=lambda piece: -_size(axes, piece))
        lines = LineCollection(seen, colors=INK, linewidths=width, linestyles=styles[level], zorder=3.5)
        axes.add_collection(lines, autolim=False)
    return found


def label_contours(axes: Axes, placer: LabelPlacer, lines: Mapping[str, list[Floats]]) -> None:
    """Labels on the largest piece of each contour, if it is long enough and there is room."""
    for name, pieces in lines.items():
        if pieces and _size(axes, pieces[0]) >= LABELLED:
            placer.on_line(name, pieces[0], size=6.5)


def _size(axes: Axes, piece: Floats) -> float:
    """Diagonal of the box about a line. [in]"""
    if len(piece) < 2:
        return 0.0
    return float(np.hypot(*np.ptp(axes.transData.transform(piece), axis=0))) / axes.figure.dpi


def keep_solids_free(placer: LabelPlacer, section: CrossSection) -> None:
    """Keep labels off the cables and trays."""
    placer.keep_box_free(*extent(section))


def label_axes(axes: Axes) -> None:
    """Coordinates in metres."""
    axes.set_xlabel("x (m)")
    axes.set_ylabel("y (m)")


def map_margins(handles: list[Line2D], note: str) -> Margins:
    """Room about a map with the legend and note under it."""
    rows, lines = _rows(handles), len(_lines(note))
    return Margins(0.62, 1.05, 0.46 + ROW * rows + LINE * lines + 0.08, 0.32)


def foot(figure: Figure, handles: list[Line2D], note: str) -> None:
    """Legend and note under a map."""
    height = figure.get_figheight()
    lines = _lines(note)
    if handles:
        figure.legend(
            handles=handles,
            loc="lower center",
            bbox_to_anchor=(0.5, (0.09 + LINE * len(lines)) / height),
            ncols=math.ceil(len(handles) / _rows(handles)),
            borderpad=0,
            columnspacing=1.2,
            handletextpad=0.5,
            labelspacing=0.3,
        )
    if lines:
        text = "\n".join(lines)
        figure.text(0.5, 0.05 / height, text, ha="center", va="bottom", fontsize=7.0, linespacing=1.15)


def _rows(handles: list[Line2D]) -> int:
    return math.ceil(len(handles) / LEGEND_COLUMNS)


def _lines(note: str) -> list[str]:
    return textwrap.wrap(note, NOTE_WIDTH)


def _limit_contours(axes: Axes, field: MapResult, limits: tuple[float, ...]) -> list[list[Floats]]:
    """Draw the contour of each limit, all of which cross the map; the pieces (n, 2) of each, the longest first. [m]"""
    if not limits:
        return []
    axes.contour(field.x_m, field.y_m, field.b_rms_t, levels=limits, colors="white", linewidths=2.2, zorder=5)
    drawn = axes.contour(field.x_m, field.y_m, field.b_rms_t, levels=limits, colors=INK, linewidths=1.1, zorder=6)
    return [sorted(pieces, key=lambda piece: -len(piece)) for pieces in drawn.allsegs]
