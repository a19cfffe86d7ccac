"""Readings of a survey on the field map and along traverses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from studies.answers.answers import Answers
from studies.answers.fields.rows import TraverseResult
from studies.drawing.far_points import is_inside
from studies.drawing.labels import LabelPlacer
from studies.drawing.style import INK
from studies.text.numbers import GAP, plain
from studies.text.units import Unit

NEAR = 1e-3
"""A reading so near to a traverse lies on it. [m]"""


@dataclass(frozen=True)
class Mark:
    """A reading of the resultant, brought to the stated load."""

    name: str
    place: tuple[float, float]
    """On the map [m], or distance [m] and field [T] along a traverse."""
    field: float
    """[T]"""
    spread: float
    """Its standard uncertainty. [T]"""

    def text(self, unit: Unit) -> str:
        """Name and value."""
        return f"{self.name}: {plain(unit.of(self.field))}{GAP}{unit.symbol}"


def readings_of(result: Answers) -> list[Mark]:
    """Readings of the resultant at a load above 0; those of one axis are no field of the map."""
    rows = () if result.survey is None else result.survey.readings
    return [
        Mark(row.name, (row.x_m, row.y_m), row.measured_t / row.load, row.uncertainty_t / row.load)
        for row in rows
        if row.axis == "resultant" and row.load > 0
    ]


def readings_along(result: Answers, traverse: TraverseResult) -> list[Mark]:
    """The readings that lie on a traverse, by their distance along it."""
    start, end = traverse.points_m[0], traverse.points_m[-1]
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    found = []
    for mark in readings_of(result):
        away = np.array(mark.place) - start
        distance = float(away @ along)
        if -NEAR <= distance <= length + NEAR and abs(float(away[0] * along[1] - away[1] * along[0])) <= NEAR:
            found.append(Mark(mark.name, (distance, mark.field), mark.field, mark.spread))
    return found


def draw_along(axes: Axes, marks: Sequence[Mark], unit: Unit) -> None:
    """Readings with their uncertainty against the distance."""
    if marks:
        x, fields, spreads = np.array([(mark.place[0], mark.field, mark.spread) for mark in marks]).T
        axes.errorbar(
            x,
            fields / unit.size,
            spreads / unit.size,
            fmt="D",
            color=INK,
            markersize=2.5,
            capsize=2.5,
            linewidth=0.9,
            zorder=7,
            label="reading",
        )


def name_along(placer: LabelPlacer, marks: Sequence[Mark], unit: Unit) -> None:
    """Name and value beside each, clear of the curves."""
    for mark in marks:
        placer.beside(mark.text(unit), (mark.place[0], unit.of(mark.field)), size=6.5, nearest=6.0)


def draw_on_map(axes: Axes, placer: LabelPlacer, marks: Sequence[Mark], unit: Unit) -> None:
    """Readings within a map with name and value."""
    inside = [mark for mark in marks if is_inside(axes, mark.place)]
    for mark in inside:
        axes.plot(
            *mark.place,
            marker="D",
            color=INK,
            markersize=4.5,
            markeredgecolor="white",
            markeredgewidth=0.8,
            zorder=9,
        )
    placer.keep_free([mark.place for mark in inside], 4)
    for mark in inside:
        placer.beside(mark.text(unit), mark.place, size=6.5)


def reading_handles(marks: Sequence[Mark]) -> list[Line2D]:
    """The entry of a map's legend."""
    return [Line2D([], [], linestyle="none", marker="D", markersize=4.5, color=INK, label="reading")] if marks else []
