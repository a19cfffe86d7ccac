"""Field at receptors, along traverses and over the map, beside the field of line currents."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from fem.polarisation import axes, resultant
from studies.answers.fields.map_extent import extent_of_map
from studies.answers.fields.peak import traverse_peak
from studies.answers.fields.rows import FieldComponent, MapResult, ReceptorResult, TraverseResult
from studies.answers.limits.compute import judged
from studies.answers.limits.judged_field import JudgedField, Judgement
from studies.answers.limits.rows import LimitDistanceResult
from studies.answers.net_currents.superposed import Superposed
from studies.answers.net_currents.with_net import field_with_net, line_resultant, superposed_of
from studies.answers.steel.compute import third_harmonic_share
from studies.section.enclosure import metal_at
from studies.solve.cancelling_fields import least_field
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.file import Study
from studies.study.requests import Receptor, Traverse
from studies.text.failures import guarded

MAP_POINTS = 60_000
"""Points of the field map."""
MOST_AVERAGED = 8_000
"""Points of the map in the mesh, up to which each is averaged over a circle; more would take long."""


def traverse_points(traverse: Traverse) -> Floats:
    """Points of a traverse, both ends included, shape (n, 2). [m]"""
    return np.linspace(traverse.start, traverse.end, traverse.points)


def receptor_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[ReceptorResult, ...]:
    """Field at every receptor."""
    if not study.receptors:
        return ()
    points = np.array([receptor.at for receptor in study.receptors])
    fields = [solution.estimate.now.receptors for solution in solutions]
    magnitudes = [resultant(field) for field in fields]
    errors = [solution.estimate.of_vector(lambda r: r.receptors) for solution in solutions]
    total, error = root_sum_square(magnitudes), combined_error(magnitudes, errors)
    least = root_sum_square([least_field(solution.section, points) for solution in solutions])
    major, major_error, minor = _axes(fields, errors)
    inside, harmonic = metal_at(solutions[0].section, points), third_harmonic_share(solutions[0])
    formula, shared = (formula_magnitude(solutions, points, shared=equal) for equal in (False, True))
    spectra = [_spectrum(solutions, magnitudes, errors, k) for k in range(len(points))]
    verdicts = [_verdict(receptor, spectrum) for receptor, spectrum in zip(study.receptors, spectra, strict=True)]
    return tuple(
        ReceptorResult(
            name=receptor.name,
            x_m=receptor.at[0],
            y_m=receptor.at[1],
            b_rms_t=float(total[k]),
            b_rms_error_t=float(error[k]),
            b_major_axis_rms_t=float(major[k]),
            b_major_axis_rms_error_t=float(major_error[k]),
            b_minor_axis_rms_t=float(minor[k]),
            bx_t=complex(fields[0][k, 0]),
            by_t=complex(fields[0][k, 1]),
            line_formula_b_rms_t=float(formula[k]),
            line_formula_shared_b_rms_t=float(shared[k]),
            limit_t=verdicts[k].limit_t,
            limit_name=verdicts[k].limit_name,
            exposure_index=verdicts[k].exposure_index,
            exposure_error=verdicts[k].exposure_error,
            within_limit=verdicts[k].within,
            within_tolerance=bool(error[k] <= study.accuracy.tolerance * max(total[k], least[k])),
            inside=inside[k],
            spectrum=spectra[k],
            third_harmonic_b_rms_t=None if harmonic is None else harmonic * float(magnitudes[0][k]),
        )
        for k, receptor in enumerate(study.receptors)
    )


def _axes(fields: list[Complexes], errors: list[Floats]) -> tuple[Floats, Floats, Floats]:
    """Major axis of the ellipse of B of all frequencies together with its error, and the minor axis. [T]"""
    majors = [axes(field)[0] for field in fields]
    minors = [axes(field)[1] for field in fields]
    return root_sum_square(majors), combined_error(majors, errors), root_sum_square(minors)


def _verdict(receptor: Receptor, spectrum: tuple[FieldComponent, ...]) -> Judgement:
    fields, errors = [one.b_rms_t for one in spectrum], [one.b_rms_error_t for one in spectrum]
    return judged(receptor, [one.frequency_hz for one in spectrum], fields, errors)


def _spectrum(
    solutions: tuple[Solution, ...], magnitudes: list[Floats], errors: list[Floats], k: int
) -> tuple[FieldComponent, ...]:
    """Field and error at the point of number k at each frequency."""
    return tuple(
        FieldComponent(solution.frequency, float(magnitude[k]), float(error[k]))
        for solution, magnitude, error in zip(solutions, magnitudes, errors, strict=True)
    )


def traverse_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[TraverseResult, ...]:
    """Field along every traverse."""
    results = [
        guarded(f"traverse {traverse.name}", partial(_traverse, k, traverse, solutions), None)
        for k, traverse in enumerate(study.traverses)
    ]
    return tuple(result for result in results if result is not None)


def _traverse(k: int, traverse: Traverse, solutions: tuple[Solution, ...]) -> TraverseResult:
    line = traverse_points(traverse)
    fields = [solution.estimate.now.traverses[k] for solution in solutions]
    magnitudes = [resultant(field) for field in fields]
    errors = [solution.estimate.of_traverses()[k] for solution in solutions]
    majors = [axes(field)[0] for field in fields]
    return TraverseResult(
        name=traverse.name,
        points_m=line,
        distance_m=np.linalg.norm(line - line[0], axis=1),
        b_rms_t=root_sum_square(magnitudes),
        b_rms_error_t=combined_error(magnitudes, errors),
        b_major_axis_rms_t=root_sum_square(majors),
        b_major_axis_rms_error_t=combined_error(majors, errors),
        line_formula_b_rms_t=formula_magnitude(solutions, line),
        line_formula_shared_b_rms_t=formula_magnitude(solutions, line, shared=True),
        peak=guarded(f"highest field along {traverse.name}", lambda: traverse_peak(line, JudgedField(solutions)), None),
    )


def map_result(
    study: Study, solutions: tuple[Solution, ...], distances: tuple[LimitDistanceResult, ...] = ()
) -> MapResult:
    """Field with net currents over the map's window, which reaches to the limit distances where that is sensible."""
    (x0, y0), (x1, y1) = extent_of_map(study, solutions[0].section, distances)
    step = np.sqrt((x1 - x0) * (y1 - y0) / MAP_POINTS)
    x = np.linspace(x0, x1, max(int((x1 - x0) / step), 2))
    y = np.linspace(y0, y1, max(int((y1 - y0) / step), 2))
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    net = superposed_of(field_with_net(study, solutions))
    field = root_sum_square([_map_magnitude(*own, points) for own in zip(solutions, net, strict=True)])
    shape = (len(y), len(x))
    return MapResult(x, y, field.reshape(shape), formula_magnitude(solutions, points, net=net).reshape(shape))


def _map_magnitude(solution: Solution, net: Superposed | None, points: Floats) -> Floats:
    nodals = [solution.solved.nodal] if net is None else net.now.nodals()
    vectors = np.stack([_map_field(solution, nodal, points) for nodal in nodals])
    return resultant(vectors[0]) if net is None else net.together(vectors)[0]


def _map_field(solution: Solution, nodal: Complexes, points: Floats) -> Complexes:
    """(Bx, By) of one frequency at the points of a map (q, 2) [m], shape (q, 2). [T]

    Few points of a wide map lie in the mesh: they are averaged over circles like receptors, without the steps between
    large elements. A close map has the slopes of its elements, which are small there.
    """
    probe = solution.solved.probe
    within = ~solution.solved.fields.exterior.beyond(points)
    if np.count_nonzero(within) > MOST_AVERAGED:
        return probe.flux_density_raw(nodal, points)
    return probe.flux_density(nodal, points)


def formula_magnitude(
    solutions: tuple[Solution, ...], points: Floats, *, shared: bool = False, net: Sequence[Superposed | None] = ()
) -> Floats:
    """Of line currents, parallel cables sharing equally or by the closed form, with net currents, shape (q,). [T]"""

    def magnitude() -> Floats:
        models = [solution.shared_model() if shared else solution.model for solution in solutions]
        every = zip(models, net or (None,) * len(models), strict=True)
        return root_sum_square([line_resultant(model, own, points) for model, own in every])

    return guarded("field of line currents", magnitude, np.full(len(points), np.nan))
