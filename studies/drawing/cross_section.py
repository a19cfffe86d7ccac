"""The cross-section to scale: layers of the cables, trays, dimensions and receptors."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Annotation

from geometry.shapes import Point, boundary_loops
from studies.drawing.dimensions import Span, bar, extension, label_box, neighbour_pairs
from studies.drawing.far_points import draw_arrow, is_inside
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import draw_layers, draw_metalwork, extent
from studies.drawing.style import INK, LAYERS, Margins, reads_dark, styled, to_scale
from studies.drawing.tray_dimensions import dimension_trays, name_metalwork
from studies.section.parts import CrossSection, PlacedCable
from studies.study.circuits import Circuit, phase_currents
from studies.study.direct_currents import direct_words
from studies.study.file import Study
from studies.study.phases import PHASE_COLOURS
from studies.text.numbers import plain, stated_or_summed
from studies.text.units import AMPERE

MILLIMETRES = 1e3
"""Data units a metre."""
SMALLEST_TEXT = 4.6
"""Smallest phase label. [pt]"""
LEAST_ASPECT = 2.8
"""Width of the drawing over its height, so that page one need not make a tall one, and its words, smaller."""
MOST_DESCRIBED = 6
"""Circuits that are labelled with current and diameter."""
TALLEST_SECTION = 4.6
"""Largest height of the drawing. [in]"""
UPWARDS = ((0, 1), (1, 1), (-1, 1), (0.5, 1), (-0.5, 1), (1, 0), (-1, 0))


@styled
def draw_cross_section(study: Study, section: CrossSection) -> Figure:
    """Cross-section of a study, in millimetres; needs no solve."""
    low, high = extent(section)
    span = max(high[0] - low[0], high[1] - low[1])
    bare = all(part.cable is not None for part in section.parts)
    # dimensions stand above bare cables, and a description below a tray
    above = max(0.13 * span, (0.36 if bare else 0.28) * (high[1] - low[1]))
    beside = max(0.2 * span, (LEAST_ASPECT * (high[1] - low[1] + 2 * above) - (high[0] - low[0])) / 2)
    frame = _frame(low, high, beside, above)
    figure, axes = to_scale(frame, Margins(bottom=0.74), tallest=TALLEST_SECTION)
    draw_layers(axes, section, MILLIMETRES)
    draw_metalwork(axes, section, MILLIMETRES, 0.4)
    placer = LabelPlacer(axes)
    points_a_unit = float(np.ptp(axes.transData.transform([(0, 0), (1, 0)])[:, 0])) / (axes.figure.dpi / 72)
    for cable in section.cables:
        half = cable.layers.outer_radius * MILLIMETRES * points_a_unit
        placer.keep_free([_mm(cable.axis)], half)
    _keep_metal_free(placer, section)
    _phase_labels(axes, placer, section, points_a_unit)
    _spacings(axes, placer, section, points_a_unit)
    to_left = sum(receptor.at[0] > (low[0] + high[0]) / 2 for receptor in study.receptors) > len(study.receptors) / 2
    dimension_trays(axes, placer, study, section, points_a_unit, to_left)
    _datum(axes, placer, low, high)
    _receptors(axes, placer, study, low, high)
    _circuit_names(placer, study, section)
    name_metalwork(placer, study, section)
    axes.set_xlabel("x (mm)")
    axes.set_ylabel("y (mm)")
    axes.set_title(f"Cross-section, {section.frequency:g} Hz")
    _legend(figure, section)
    return figure


def _frame(low: Point, high: Point, beside: float, above: float) -> tuple[Point, Point]:
    return _mm((low[0] - beside, low[1] - above)), _mm((high[0] + beside, high[1] + above))


def _mm(point: Point) -> Point:
    return point[0] * MILLIMETRES, point[1] * MILLIMETRES


def _keep_metal_free(placer: LabelPlacer, section: CrossSection) -> None:
    """Keep labels off the edges of trays and other metal."""
    for part in section.parts:
        if part.cable is None:
            outer, holes = boundary_loops(part.shape)
            for loop in (outer, *holes):
                for start, end in zip(loop * MILLIMETRES, np.roll(loop, -1, axis=0) * MILLIMETRES, strict=True):
                    placer.keep_line_free(start, end)


def _phase_labels(axes: Axes, placer: LabelPlacer, section: CrossSection, points_a_unit: float) -> None:
    """Write the phases in the conductors, or above small ones; the legend alone if nothing fits."""
    outside: list[Annotation | None] = []
    for cable in section.cables:
        size = min(8.5, 0.48 * 2 * cable.layers.conductor_radius * MILLIMETRES * points_a_unit)
        x, y = _mm(cable.axis)
        if size >= SMALLEST_TEXT:
            colour = "white" if reads_dark(PHASE_COLOURS[section.phase_colours][cable.phase]) else INK
            axes.text(x, y, cable.phase, fontsize=size, color=colour, ha="center", va="center_baseline", zorder=7)
        else:
            radius = cable.layers.outer_radius * MILLIMETRES * points_a_unit
            outside.append(placer.close_by(cable.phase, (x, y), SMALLEST_TEXT, radius + 1.5))
    if None in outside:  # every second label alone would mislead
        for label in outside:
            if label is not None:
                placer.withdraw(label)


def _spacings(axes: Axes, placer: LabelPlacer, section: CrossSection, points_a_unit: float) -> None:
    top = extent(section)[1][1] * MILLIMETRES
    for first, second in neighbour_pairs(section):
        (xa, ya), (xb, yb) = _mm(first.axis), _mm(second.axis)
        text = f"{math.dist((xa, ya), (xb, yb)):.3g} mm"
        if abs(ya - yb) < 1e-3:
            near = _free_level(section, first, second) * MILLIMETRES
            # close above the cables if there is room, else above all metal
            levels = [near + 16 / points_a_unit, near + 7 / points_a_unit, top + 7 / points_a_unit]
            spans = [((min(xa, xb), level), (max(xa, xb), level)) for level in levels]
            span = next((span for span in spans if _is_free(axes, placer, span, text)), spans[0])
            for cable in (first, second):
                x, y = _mm((cable.axis[0], cable.axis[1] + cable.layers.outer_radius))
                extension(axes, (x, y), (x, span[0][1] + 2 / points_a_unit))
            bar(axes, placer, *span, text)
        elif abs(xa - xb) < 1e-3:
            reach = first.layers.outer_radius * MILLIMETRES
            edges = [(max(xa, xb) + reach, 1), (min(xa, xb) - reach, -1)]
            places = [(edge, edge + sign * 7 / points_a_unit, sign) for edge, sign in edges]
            sides = [(edge, ((side, min(ya, yb)), (side, max(ya, yb))), sign) for edge, side, sign in places]
            edge, span, sign = next(
                (entry for entry in sides if _is_free(axes, placer, entry[1], text, entry[2] < 0)), sides[0]
            )
            for y in (ya, yb):
                extension(axes, (edge, y), (span[0][0] + sign * 2 / points_a_unit, y))
            bar(axes, placer, *span, text, sign < 0)
        else:
            bar(axes, placer, (xa, ya), (xb, yb), text)


def _is_free(axes: Axes, placer: LabelPlacer, span: Span, text: str, other_side: bool = False) -> bool:
    box = label_box(axes, *span, text, other_side)
    return placer.is_free((box[0], box[1]), (box[2], box[3]))


def _free_level(section: CrossSection, first: PlacedCable, second: PlacedCable) -> float:
    """Height above two cables and all that are stacked on them, a free gap of two diameters apart at most. [m]"""
    radius = first.layers.outer_radius
    low, high = sorted((first.axis[0], second.axis[0]))
    over = sorted(
        (cable.axis[1] - cable.layers.outer_radius, cable.axis[1] + cable.layers.outer_radius)
        for cable in section.cables
        if low - radius <= cable.axis[0] <= high + radius and cable.axis[1] >= first.axis[1] - 1e-9
    )
    level = first.axis[1] + radius
    for bottom, top in over:
        if bottom <= level + 4 * radius:
            level = max(level, top)
    return level


def _datum(axes: Axes, placer: LabelPlacer, low: Point, high: Point) -> None:
    """The origin of all coordinates: a ringed cross that the legend names, or an arrow to it with its distance."""
    if not is_inside(axes, (0.0, 0.0)):
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        draw_arrow(axes, placer, _mm(middle), (0.0, 0.0), f"datum (0, 0)\n{plain(math.hypot(*middle), 2)} m")
        return
    for mark in _datum_marks():
        axes.plot(0, 0, zorder=8, **mark)
    placer.keep_free([(0.0, 0.0)], 5)


def _datum_marks() -> tuple[dict[str, Any], ...]:
    """The two marks of the ringed cross, as the drawing library takes them."""
    both = {"color": INK, "linestyle": "none", "markeredgewidth": 0.7}
    return both | {"marker": "o", "markersize": 7, "markerfacecolor": "none"}, both | {"marker": "+", "markersize": 11}


def _circuit_names(placer: LabelPlacer, study: Study, section: CrossSection) -> None:
    """Each circuit with its current and the diameter of its cables; of many circuits the name alone."""
    names = list(dict.fromkeys(cable.circuit for cable in section.cables))
    for name in names:
        own = [cable for cable in section.cables if cable.circuit == name]
        x = float(np.mean([cable.axis[0] for cable in own])) * MILLIMETRES
        top = max(cable.axis[1] + cable.layers.outer_radius for cable in own) * MILLIMETRES
        text = name
        if len(names) <= MOST_DESCRIBED:
            circuit = next(one for one in study.circuits if one.name == name)
            text = f"{name}: {_currents(circuit)}\ncables ⌀ {own[0].layers.diameter * MILLIMETRES:.3g} mm"
        placer.beside(text, (x, top), size=7.0 if text != name else 8.0, nearest=3.0, directions=UPWARDS)


def _currents(circuit: Circuit) -> str:
    """The rms currents of a circuit's phases that carry any, once if they are equal."""
    currents = {phase: abs(current) for phase, current in phase_currents(circuit).items() if current != 0}
    sizes = {phase: stated_or_summed(current, AMPERE) for phase, current in currents.items()}
    if len(set(sizes.values())) == 1:
        parallel = " a phase" if len(circuit.phases) > len(set(circuit.phases)) else ""
        return direct_words(circuit.phases, circuit.direct_current) + next(iter(sizes.values())) + parallel
    return direct_words(circuit.phases, circuit.direct_current) + ", ".join(
        f"{phase} {size}" for phase, size in sizes.items()
    )


def _receptors(axes: Axes, placer: LabelPlacer, study: Study, low: Point, high: Point) -> None:
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    for receptor in study.receptors:
        place = _mm(receptor.at)
        if is_inside(axes, place):
            axes.plot(*place, marker="D", markersize=4.5, color=INK, markerfacecolor="white", zorder=8)
            placer.keep_free([place], 3)
            placer.beside(receptor.name, place)
        else:
            away = plain(math.dist(receptor.at, middle), 2)
            draw_arrow(axes, placer, _mm(middle), place, f"{receptor.name}\n{away} m")


def _legend(figure: Figure, section: CrossSection) -> None:
    present = {cable.phase for cable in section.cables}
    entries = {phase: colour for phase, colour in PHASE_COLOURS[section.phase_colours].items() if phase in present}
    layers = {layer for cable in section.cables for layer in cable.layers.layers}
    entries |= {layer: colour for layer, colour in LAYERS.items() if layer in layers}
    handles: list[Any] = [Patch(fc=colour, ec=INK, linewidth=0.4, label=name) for name, colour in entries.items()]
    names = [*entries]
    if is_inside(figure.axes[0], (0.0, 0.0)):
        handles.append(tuple(Line2D([], [], **mark) for mark in _datum_marks()))
        names.append("datum: x = 0, y = 0")
    figure.legend(
        handles,
        names,
        loc="lower center",
        bbox_to_anchor=(0.5, 0.02 / figure.get_figheight()),
        ncols=len(handles),
        handlelength=1.2,
        handletextpad=0.5,
        columnspacing=1.4 if len(handles) <= 8 else 0.8,
        fontsize=7.5 if len(handles) <= 8 else 6.5,
    )
