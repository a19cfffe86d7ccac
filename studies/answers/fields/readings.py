"""The field on grids for a reader of the page: three rectangles, the closer the finer, with error and line formula."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.polarisation import resultant
from geometry.shapes import Point, enclosing_circle
from studies.answers.fields.compute import formula_magnitude
from studies.answers.fields.rows import MapResult
from studies.answers.limits.compute import outer_rectangle
from studies.answers.limits.judged_field import JudgedField, field_against
from studies.answers.net_currents.superposed import Superposed
from studies.answers.net_currents.with_net import field_with_net, superposed_of
from studies.section.parts import CrossSection
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.file import Study
from studies.study.requests import Receptor, Zone

GRID_POINTS = 9_000
"""Points of each grid."""
AROUND = 2.2
"""Half side of the middle rectangle over the radius of the circle about all solids: beyond, the field is smooth. [-]"""
BESIDE = 0.25
"""Margin of the closest rectangle about cables and metal, over its longer side. [-]"""
CLOSER = 0.7
"""A rectangle is left out if its sides are not shorter than this share of those of the one before. [-]"""


@dataclass(frozen=True)
class GridReadings:
    """Field on a rectangle of points; x (nx,), y (ny,), the others (ny, nx)."""

    x_m: Floats
    y_m: Floats
    b_rms_t: Floats
    b_rms_error_t: Floats
    across: Floats
    """|Bx|^2 over |Bx|^2 + |By|^2, from 0 to 1. [-]"""
    line_formula_b_rms_t: Floats
    indices: tuple[Floats, ...]
    """Exposure index of each reference level of several frequencies. [-]"""
    index_errors: tuple[Floats, ...]


@dataclass(frozen=True)
class FieldReadings:
    """What a reader may read off: grids from the widest to the closest, and the limits that are stated."""

    grids: tuple[GridReadings, ...]
    limits: tuple[tuple[float, int | None], ...]
    """Each distinct limit: flux density [T] and None, or exposure index 1 and the number of its index."""
    places: tuple[tuple[str, ...], ...]
    """Receptors and zones that have each limit."""


def field_readings(study: Study, solutions: tuple[Solution, ...], field: MapResult) -> FieldReadings:
    """The field on the rectangle of the map and on closer ones, for a page that is asked point by point."""
    places: tuple[Receptor | Zone, ...] = (*study.receptors, *study.zones)
    asked = [(place.limit, place.name) for place in places if place.limit is not None]
    distinct = list(dict.fromkeys(limit for limit, _ in asked))
    against = [field_against(limit, JudgedField(solutions)) for limit in distinct]
    indices = [judged for judged, _ in against if judged.levels is not None]
    net = superposed_of(field_with_net(study, solutions))
    windows = _windows(solutions[0].section, ((field.x_m[0], field.y_m[0]), (field.x_m[-1], field.y_m[-1])))
    return FieldReadings(
        grids=tuple(_grid(window, solutions, net, indices) for window in windows),
        limits=tuple((level, None if j.levels is None else indices.index(j)) for j, level in against),
        places=tuple(tuple(name for limit, name in asked if limit == one) for one in distinct),
    )


def _windows(section: CrossSection, whole: tuple[Point, Point]) -> list[tuple[Point, Point]]:
    """The map's rectangle, one about the circle of all solids, and one close to them; each inside the one before."""
    (x, y), radius = enclosing_circle(section.section())
    outline = outer_rectangle(section)
    low, high = outline.centre - outline.half, outline.centre + outline.half
    margin = BESIDE * float((high - low).max())
    around = ((x - AROUND * radius, y - AROUND * radius), (x + AROUND * radius, y + AROUND * radius))
    windows = [whole]
    for lower, upper in (around, (low - margin, high + margin)):
        outer = np.array(windows[-1])
        inner = np.array([np.maximum(lower, outer[0]), np.minimum(upper, outer[1])])
        size = inner[1] - inner[0]
        if size.min() > 0 and (size < CLOSER * (outer[1] - outer[0])).all():
            windows.append(((inner[0, 0], inner[0, 1]), (inner[1, 0], inner[1, 1])))
    return windows


def _of_map(solution: Solution, net: Superposed | None, points: Floats) -> tuple[Complexes, Floats]:
    """(Bx, By) at the points of a map, with net currents at their worst angle, and its error. [T]"""
    if net is not None:
        return net.of_map(points)
    field = solution.solved.probe.flux_density_of_map(solution.solved.nodal, points)
    return field, solution.estimate.of_map(points, field)


def _grid(
    window: tuple[Point, Point],
    solutions: tuple[Solution, ...],
    net: Sequence[Superposed | None],
    indices: list[JudgedField],
) -> GridReadings:
    (x0, y0), (x1, y1) = window
    step = np.sqrt((x1 - x0) * (y1 - y0) / GRID_POINTS)
    x = np.linspace(x0, x1, max(int((x1 - x0) / step), 4))
    y = np.linspace(y0, y1, max(int((y1 - y0) / step), 4))
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    found = [_of_map(*own, points) for own in zip(solutions, net, strict=True)]
    fields, errors = [field for field, _ in found], [error for _, error in found]
    magnitudes = [resultant(field) for field in fields]
    total = root_sum_square(magnitudes)
    horizontal = root_sum_square([np.abs(field[:, 0]) for field in fields])

    def shaped(values: Floats) -> Floats:
        return values.reshape(len(y), len(x))

    def index(values: list[Floats], judged: JudgedField) -> Floats:
        assert judged.levels is not None
        return shaped(np.sum([value / level for value, level in zip(values, judged.levels, strict=True)], axis=0))

    return GridReadings(
        x_m=x,
        y_m=y,
        b_rms_t=shaped(total),
        b_rms_error_t=shaped(combined_error(magnitudes, errors)),
        across=shaped(np.square(horizontal / np.where(total > 0, total, 1.0))),
        line_formula_b_rms_t=shaped(formula_magnitude(solutions, points, net=net)),
        indices=tuple(index(magnitudes, judged) for judged in indices),
        index_errors=tuple(index(errors, judged) for judged in indices),
    )
