"""What a limit asks: flux density or reference level, exposure to several frequencies, zones, and where it is met."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from fem.mesh import Floats
from fem.polarisation import resultant
from geometry.shapes import boundary_loops
from studies.comparison.solution import Solution, combined_error, root_sum_square
from studies.cross_section import CrossSection
from studies.failures import guarded, rescued
from studies.limits.distance import LimitDistances, limit_distances
from studies.limits.far_form import far_form_distance
from studies.limits.rectangle import Rectangle
from studies.results import LimitDistanceResult, ZoneResult
from studies.study import Receptor, Study, Zone

ZONE_POINTS = 4000
"""Points at which a zone is searched for its highest field."""
ZONE_CANDIDATES = 5
"""Highest points of the search that are followed."""
LEAST_DISTANCE = 1e-4
"""Distances up to this are reported as none. [m]"""
LARGEST_DISTANCE = 1000.0
"""Distances beyond this are reported as not met. [m]"""
LARGEST_ERROR = 0.9
"""The error of a point where fields cancel, over what little is left, is no measure of the field elsewhere. [-]"""


@dataclass(frozen=True)
class Judgement:
    """A field against a limit."""

    limit_t: float | None
    """The limit in flux density: as stated, or the level at the study's own frequency."""
    limit_name: str | None
    """Name of the reference level, None for a stated flux density."""
    within: bool | None
    exposure_index: float | None
    """Sum of B over its level, over the frequencies, of a reference level."""
    exposure_error: float | None


def judge(
    limit: float | str | None, frequencies: list[float], magnitudes: list[float], errors: list[float]
) -> Judgement:
    """Whether a field of some frequencies [Hz], rms magnitudes [T] and errors [T] stays within a limit.

    A stated flux density is held against the root of the sum of squares and its error; a reference level against the
    exposure index and its error.
    """
    if limit is None:
        return Judgement(None, None, None, None, None)
    if not isinstance(limit, str):
        values, own = [np.array(value) for value in magnitudes], [np.array(error) for error in errors]
        worst = float(root_sum_square(values)) + float(combined_error(values, own))
        return Judgement(limit, None, worst <= limit, None, None)
    from studies.exposure import exposure_index
    from studies.reference_levels import reference_level

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
    """Highest field in every zone: a grid, then the highest points followed to a finer and finer grid about them."""
    results = [guarded(f"zone {zone.name}", partial(_zone, zone, solutions), None) for zone in study.zones]
    return tuple(result for result in results if result is not None)


def _zone(zone: Zone, solutions: tuple[Solution, ...]) -> ZoneResult:
    frequencies = [solution.frequency for solution in solutions]
    place = _highest(field_of(solutions), np.asarray(zone.window[0]), np.asarray(zone.window[1]))
    magnitudes, errors = zip(*(_magnitude_and_error(solution, place) for solution in solutions), strict=True)
    verdict = judged(zone, frequencies, list(magnitudes), list(errors))
    values, own = [np.array(value) for value in magnitudes], [np.array(error) for error in errors]
    return ZoneResult(
        name=zone.name,
        x0_m=zone.window[0][0],
        y0_m=zone.window[0][1],
        x1_m=zone.window[1][0],
        y1_m=zone.window[1][1],
        x_m=float(place[0]),
        y_m=float(place[1]),
        b_max_rms_t=float(root_sum_square(values)),
        b_max_rms_error_t=float(combined_error(values, own)),
        limit_t=verdict.limit_t,
        limit_name=verdict.limit_name,
        within_limit=verdict.within,
        exposure_index=verdict.exposure_index,
    )


def limit_distance_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[LimitDistanceResult, ...]:
    """Where every distinct limit of the receptors and zones is met: right, up, left, down and overall."""
    wanted: dict[float | str, list[str]] = {}
    limits = [(receptor.limit, receptor.name) for receptor in study.receptors]
    for limit, name in [*limits, *((zone.limit, zone.name) for zone in study.zones)]:
        if limit is not None:
            wanted.setdefault(limit, []).append(name)
    rectangle = outer_rectangle(solutions[0].section)
    error = max(_relative_error(solution) for solution in solutions)

    def rows(limit: float | str, names: list[str]) -> list[LimitDistanceResult]:
        field, level = _against(limit, solutions)
        found = limit_distances(field, rectangle, level, error, LARGEST_DISTANCE)
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


def field_of(solutions: tuple[Solution, ...]) -> Callable[[Floats], Floats]:
    """Resultant rms of all frequencies at points (n, 2) [m], as the elements have it inside the mesh, (n,). [T]"""

    def field(points: Floats) -> Floats:
        return root_sum_square([resultant(s.solved.probe.flux_density_raw(s.solved.nodal, points)) for s in solutions])

    return field


def _against(limit: float | str, solutions: tuple[Solution, ...]) -> tuple[Callable[[Floats], Floats], float]:
    """Field and limit, or for a reference level the exposure index and 1."""
    if not isinstance(limit, str):
        return field_of(solutions), limit
    from studies.reference_levels import reference_level

    if len(solutions) == 1:
        return field_of(solutions), reference_level(limit, solutions[0].frequency).value_t
    levels = [reference_level(limit, solution.frequency).value_t for solution in solutions]

    def index(points: Floats) -> Floats:
        total = np.zeros(len(points))
        for solution, level in zip(solutions, levels, strict=True):
            total += field_of((solution,))(points) / level
        return total

    return index, 1.0


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


def _magnitude_and_error(solution: Solution, place: Floats) -> tuple[float, float]:
    """Field at a point (2,) [m] with its error: that of the field elsewhere, or its jump between elements here. [T]"""
    probe, nodal = solution.solved.probe, solution.solved.nodal
    smooth, raw = (field(nodal, place[None])[0] for field in (probe.flux_density, probe.flux_density_raw))
    magnitude = float(np.linalg.norm(smooth))
    return magnitude, max(_relative_error(solution) * magnitude, float(np.linalg.norm(raw - smooth)))


def _visible(distance: float | None) -> float | None:
    """A distance, or 0 where nobody could measure it. [m]"""
    return distance if distance is None or distance > LEAST_DISTANCE else 0.0


def _relative_error(solution: Solution) -> float:
    """Error of the field beyond the solids over the field: the worst of receptors and traverses, else of all. [-]"""
    now, estimate = solution.estimate.now, solution.estimate
    fields = [now.receptors, *now.traverses]
    errors = [estimate.of_vector(lambda r: r.receptors), *estimate.of_traverses()]
    ratios = [
        float((error / np.linalg.norm(field, axis=1)).max())
        for field, error in zip(fields, errors, strict=True)
        if len(field) and np.all(np.linalg.norm(field, axis=1) > 0)
    ]
    return min(max(ratios, default=solution.accuracy.worst_error), LARGEST_ERROR)


def _highest(field: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Point of the highest field in a rectangle, shape (2,). [m]"""
    size = high - low
    steps = np.maximum(np.sqrt(ZONE_POINTS * size / size[::-1]).astype(int), 2)
    grid = np.stack(np.meshgrid(*(np.linspace(low[k], high[k], steps[k]) for k in range(2))), axis=-1).reshape(-1, 2)
    values = field(grid)
    best = grid[np.argsort(-values, kind="stable")[:ZONE_CANDIDATES]]
    reach = size / (steps - 1)
    offsets = np.stack(np.meshgrid(*(np.linspace(-1, 1, 7),) * 2), axis=-1).reshape(-1, 2)
    for _ in range(6):
        around = np.clip(best[:, None] + offsets * reach, low, high)
        values = field(around.reshape(-1, 2)).reshape(len(best), -1)
        best = around[np.arange(len(best)), values.argmax(axis=1)]
        reach = reach / 3
    result: Floats = best[int(values.max(axis=1).argmax())]
    return result
