"""What a limit asks: flux density or reference level, exposure to several frequencies, zones, and where it is met."""

from __future__ import annotations

from functools import partial

import numpy as np

from geometry.shapes import boundary_loops
from studies.answers.limits.distance import LimitDistances, Surroundings, distances_in, surroundings
from studies.answers.limits.far_form import far_form_distance
from studies.answers.limits.judged_field import JudgedField, Judgement, field_against
from studies.answers.limits.rectangle import Rectangle
from studies.answers.limits.rows import LEAST_DISTANCE, LimitDistanceResult, ZoneResult
from studies.answers.limits.zones import zone_result
from studies.section.parts import CrossSection
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.file import Study
from studies.study.requests import Receptor, Zone
from studies.text.failures import guarded, rescued

LARGEST_DISTANCE = 1000.0
"""Distances beyond this are reported as not met. [m]"""


def judge(
    limit: float | str | None, frequencies: list[float], magnitudes: list[float], errors: list[float]
) -> Judgement:
    """Whether a field of some frequencies [Hz], rms magnitudes [T] and errors [T] stays within a limit.

    A stated flux density is compared with the root of the sum of squares and its error; a reference level against the
    exposure index and its error.
    """
    if limit is None:
        return Judgement(None, None, None, None, None)
    if not isinstance(limit, str):
        values, own = [np.array(value) for value in magnitudes], [np.array(error) for error in errors]
        worst = float(root_sum_square(values)) + float(combined_error(values, own))
        return Judgement(limit, None, worst <= limit, None, None)
    from studies.data.exposure import exposure_index
    from studies.data.reference_levels import reference_level

    index = exposure_index(list(zip(frequencies, magnitudes, errors, strict=True)), limit)
    level = reference_level(limit, frequencies[0]).value_t
    return Judgement(level, limit, not index.over, index.index, index.error)


def judged(place: Receptor | Zone, frequencies: list[float], magnitudes: list[float], errors: list[float]) -> Judgement:
    """The same for a receptor or zone of a study; one that cannot be judged keeps the words of its limit alone."""
    return rescued(
        f"verdict at {place.name}",
        lambda: judge(place.limit, frequencies, magnitudes, errors),
        lambda failure: Judgement(None, f"{place.limit}, not judged", None, None, None),
    )


def zone_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[ZoneResult, ...]:
    """Highest field in the air of every zone."""
    results = [guarded(f"zone {zone.name}", partial(zone_result, study, zone, solutions), None) for zone in study.zones]
    return tuple(result for result in results if result is not None)


def limit_distance_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[LimitDistanceResult, ...]:
    """Where each limit of receptors and zones is met: right, up, left, down, overall."""
    return limit_distances_of(study, JudgedField(solutions))


def limit_distances_of(study: Study, whole: JudgedField) -> tuple[LimitDistanceResult, ...]:
    """The same for any field of a study."""
    solutions = whole.solutions
    wanted: dict[float | str, list[str]] = {}
    limits = [(receptor.limit, receptor.name) for receptor in study.receptors]
    for limit, name in [*limits, *((zone.limit, zone.name) for zone in study.zones)]:
        if limit is not None:
            wanted.setdefault(limit, []).append(name)
    rectangle = outer_rectangle(solutions[0].section)
    sampled: dict[tuple[float, ...] | None, Surroundings] = {}
    highest: dict[tuple[float, ...] | None, float] = {}
    for field, level in (field_against(limit, whole) for limit in wanted):
        highest[field.levels] = max(level, highest.get(field.levels, 0.0))

    def rows(limit: float | str, names: list[str]) -> list[LimitDistanceResult]:
        field, level = field_against(limit, whole)
        if field.levels not in sampled:
            sampled[field.levels] = surroundings(field.value, rectangle, highest[field.levels], sampled=field.sampled)
        found = distances_in(sampled[field.levels], level, field.relative_error)
        formula = guarded(
            "far form of the limit distance", lambda: _formula_distance(limit, level, solutions, rectangle), None
        )
        stated = judge(limit, [s.frequency for s in solutions], [0.0] * len(solutions), [0.0] * len(solutions))
        return _rows(found, names, stated, formula)

    return tuple(
        row
        for limit, names in wanted.items()
        for row in guarded(f"limit distance of {', '.join(names)}", partial(rows, limit, names), ())
    )


def outer_rectangle(section: CrossSection) -> Rectangle:
    """The upright rectangle about all cables and metal."""
    low, high = [], []
    for cable in section.cables:
        low.append(np.subtract(cable.axis, cable.layers.outer_radius))
        high.append(np.add(cable.axis, cable.layers.outer_radius))
    for part in section.parts:
        outer, _ = boundary_loops(part.shape)
        low.append(outer.min(axis=0))
        high.append(outer.max(axis=0))
    (x0, y0), (x1, y1) = np.min(low, axis=0), np.max(high, axis=0)
    return Rectangle((float(x0), float(y0)), (float(x1), float(y1)))


def _formula_distance(
    limit: float | str, level: float, solutions: tuple[Solution, ...], rectangle: Rectangle
) -> float | None:
    """Distance from the middle by the far form of line currents; none for an exposure of several frequencies. [m]"""
    if isinstance(limit, str) and len(solutions) > 1:
        return None
    currents = np.stack([solution.model.currents for solution in solutions])
    if not np.any(currents):
        return None
    distance = far_form_distance(solutions[0].model.axes, currents, level, rectangle.centre)
    return distance.from_centre_m


def _rows(
    found: LimitDistances, names: list[str], stated: Judgement, formula: float | None
) -> list[LimitDistanceResult]:
    return [
        LimitDistanceResult(
            limit_t=stated.limit_t if stated.limit_t is not None else found.limit_t,
            limit_name=stated.limit_name,
            of=tuple(names),
            direction=entry.direction,
            state=entry.state,
            from_outline_m=_visible(entry.from_outline_m),
            error_m=entry.error_m,
            from_centre_m=entry.from_centre_m,
            far_form_from_centre_m=formula,
        )
        for entry in (*found.sides, found.overall)
    ]


def _visible(distance: float | None) -> float | None:
    """A distance, or 0 where nobody could measure it. [m]"""
    return distance if distance is None or distance > LEAST_DISTANCE else 0.0
