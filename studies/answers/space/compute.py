"""The run in space: field at receptors, along lines and over a plane."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from fem.polarisation import resultant
from studies.answers.limits.compute import judge
from studies.answers.space.field import SpaceField, SpaceRun, run_model, space_field, space_run
from studies.answers.space.legs import Leg, legs_of
from studies.answers.space.rows import (
    AlongCourseResult,
    SectionShare,
    SpaceFieldResult,
    SpaceLineResult,
    SpacePlanResult,
    SpaceResult,
)
from studies.section.course import course_frames, places_along
from studies.section.route_sections import section_studies
from studies.solve.solution import Solution, root_sum_square
from studies.study.course import CourseLine, CoursePlan, CourseReceptor
from studies.study.file import Study
from studies.text.failures import guarded
from studies.text.progress import Progress

PLAN_POINTS = 5_000
"""Points of the plan, about."""


def space_result(
    study: Study, solutions: Sequence[Solution], report_progress: Progress = lambda message: None
) -> SpaceResult | None:
    """Field of the run in space at all places that the study asks for; None without a course."""
    course = study.course
    if course is None:
        return None
    section = solutions[0].section
    legs = legs_of(study, solutions, report_progress)
    run = space_run(course, [leg.solution.section for leg in legs[0]], course_frames(study, section))
    receptors = [
        guarded(f"run in space at {place.name}", partial(_at, place, run, legs), None) for place in course.receptors
    ]
    along = [
        guarded(f"{place.name} along the course", partial(_highest, study, solutions, k, run, legs), None)
        for k, place in enumerate(study.receptors)
    ]
    lines = [
        guarded(f"run in space along {line.name}", partial(_along, line, run, legs), None) for line in course.lines
    ]
    plan = course.plan
    return SpaceResult(
        tuple(row for row in receptors if row is not None),
        tuple(row for row in along if row is not None),
        tuple(row for row in lines if row is not None),
        None if plan is None else guarded("run in space in plan", partial(_plan, plan, run, legs), None),
        run.width,
    )


Legs = Sequence[Sequence[Leg]]


def _frequencies(run: SpaceRun, solutions: Legs) -> list[float]:
    return list(run.frequencies([legs[0].solution.frequency for legs in solutions]))


def _at(place: CourseReceptor, run: SpaceRun, solutions: Legs) -> SpaceFieldResult:
    point = np.array([place.at])
    found = space_field(run, solutions, point)
    piece, distance, _ = run.frames.nearest(point)
    away = float(run.frames.joint_distance(point)[0])
    verdict = judge(
        place.limit,
        _frequencies(run, solutions),
        [float(values[0]) for values in found.magnitudes],
        [float(values[0]) for values in found.errors],
    )
    second = float(found.second[0])
    return SpaceFieldResult(
        name=place.name,
        x_m=place.at[0],
        y_m=place.at[1],
        z_m=place.at[2],
        b_rms_t=float(found.total[0]),
        b_rms_error_t=float(found.error[0]),
        numerical_error_t=float(found.numerical[0]),
        second_b_rms_t=second if np.isfinite(second) else None,
        cables_b_rms_t=float(found.cables[0]),
        metal_b_rms_t=float(found.metal[0]),
        nearest=run.frames.sections[int(piece[0])],
        distance_m=float(distance[0]),
        joint_distance_m=away if np.isfinite(away) else None,
        nearest_b_rms_t=float(found.nearest[0]),
        limit_t=verdict.limit_t,
        limit_name=verdict.limit_name,
        exposure_index=verdict.exposure_index,
        exposure_error=verdict.exposure_error,
        within_limit=verdict.within,
        shares=_shares(run, found),
    )


def _highest(
    study: Study, own: Sequence[Solution], index: int, run: SpaceRun, solutions: Legs
) -> AlongCourseResult | None:
    """Highest field at a place of the cross-section along the course; None if other pieces are nearer everywhere."""
    place = study.receptors[index]
    there = [{one.name: one.at for one in each.receptors} for each in (section_studies(study) or (study,))]
    points = places_along(run.frames, np.array([one.get(place.name, (np.nan, np.nan)) for one in there]))
    if not len(points):
        return None
    found = space_field(run, solutions, points)
    k = int(np.argmax(found.total))
    magnitudes, errors = ([float(values[k]) for values in each] for each in (found.magnitudes, found.errors))
    verdict = judge(place.limit, _frequencies(run, solutions), magnitudes, errors)
    straight = root_sum_square([resultant(one.estimate.now.receptors[index : index + 1]) for one in own])
    x, y, z = points[k].tolist()
    return AlongCourseResult(
        name=place.name,
        section=run.frames.sections[int(run.frames.nearest(points[k : k + 1])[0][0])],
        x_m=x,
        y_m=y,
        z_m=z,
        b_rms_t=float(found.total[k]),
        b_rms_error_t=float(found.error[k]),
        straight_b_rms_t=float(straight[0]),
        limit_t=verdict.limit_t,
        limit_name=verdict.limit_name,
        exposure_index=verdict.exposure_index,
        exposure_error=verdict.exposure_error,
        within_limit=verdict.within,
    )


def _shares(run: SpaceRun, found: SpaceField) -> tuple[SectionShare, ...]:
    """Shares of straight pieces and bends, in the order of the path; none without a field."""
    if not np.all(np.isfinite(found.shares[0])):
        return ()
    names = np.array(run.sections)
    return tuple(
        SectionShare(name, float(found.shares[0][names == name].sum())) for name in dict.fromkeys(run.sections)
    )


def _along(line: CourseLine, run: SpaceRun, solutions: Legs) -> SpaceLineResult:
    points = np.linspace(line.start, line.end, line.points)
    found = space_field(run, solutions, points)
    distance = np.linalg.norm(points - points[0], axis=1)
    return SpaceLineResult(line.name, points, distance, found.total, found.error, found.second, found.nearest)


def _plan(plan: CoursePlan, run: SpaceRun, solutions: Legs) -> SpacePlanResult:
    (x0, y0), (x1, y1) = plan.window
    step = np.sqrt((x1 - x0) * (y1 - y0) / PLAN_POINTS)
    x = np.linspace(x0, x1, max(int((x1 - x0) / step), 2))
    y = np.linspace(y0, y1, max(int((y1 - y0) / step), 2))
    flat = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    points = np.column_stack([flat, np.full(len(flat), plan.height)])
    fields = [run_model(run, legs).whole(points) for legs in solutions]
    alone = _frequencies(run, solutions)[len(solutions) :]
    fields += [run.beside(frequency, points).sum(axis=2) for frequency in alone]
    total = root_sum_square([resultant(field) for field in fields])
    return SpacePlanResult(plan.height, x, y, total.reshape(len(y), len(x)))
