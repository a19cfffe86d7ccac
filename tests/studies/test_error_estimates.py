"""The error estimate beside each number, held against far finer solutions of random layouts."""

import functools
from typing import Any

import numpy as np

from geometry.meshing import mesh_section
from geometry.sizing import MeshSizes
from studies.answers.fields.compute import receptor_results
from studies.answers.limits.compute import limit_distance_results, outer_rectangle, zone_results
from studies.answers.limits.refined import DerivedNumbers
from studies.closed_forms.lines import line_model
from studies.section.cross_section import cross_section
from studies.solve.accuracy import Estimate, Solved, solve_once, solve_to_tolerance
from studies.solve.solution import Solution
from studies.study.file import Study
from tests.studies.random_layouts import random_limits_study, random_study

NEAR = (3, 5, 6)
"""Seeds of the layouts that are asked about what lies near them as well.

Of 24 layouts these and `FAR` notice what all of them together do: estimates of a quarter; the change of the magnitude
for that of the vector (3 and 5: fields that turn); a quarter of the estimates of losses, voltages (18) or the field
near by, a fifth of those of zones or limit distances near by, a tenth of those of receptors or the major axis.
"""
FAR = (18,)
FINER = 2.0  # halves the elements of the finest mesh: what is left of its error is a quarter of it or less
MOST_POINTS = 250_000
TOLERANCE = 0.005
OUTLINE = 0.3
"""Distance from the outline of an arrangement up to which a point is near it. [m]"""
AWAY = 4
"""Receptors of each layout that lie away from it, the first of its study."""

Ratios = dict[str, list[float]]


def test_true_error_is_below_the_estimate_for_random_layouts():
    over, _ = ratios()
    assert set(over) == {"field", "loss", "voltage"}
    for name, found in over.items():
        assert len(found) >= 4 * len(NEAR + FAR), name  # four numbers or more a layout
        # asked of the estimate: above the error in at least 95 % of all numbers, not absurdly large in the median
        assert np.mean(np.array(found) >= 1) >= 0.95, name
        assert np.median(found) <= 20, name


def test_estimates_near_the_arrangement_cover_zones_distances_and_the_major_axis():
    _, over = ratios()
    assert set(over) == {"near field", "major axis", "zone in air", "distance near", "distance"}
    # together, for there are few zones: 95 % of all numbers, and of each kind no more than one in ten beside it
    everything = np.array([ratio for found in over.values() for ratio in found])
    assert np.mean(everything >= 1) >= 0.95
    for name, found in over.items():
        assert np.mean(np.array(found) >= 1) >= 0.9, name
        assert np.median(found) <= 60, name


@functools.cache
def ratios() -> tuple[Ratios, Ratios]:
    """Ratios of all layouts: of fields, losses and voltages, and of what lies near them."""
    far: Ratios = {}
    near: Ratios = {}
    for seed in NEAR + FAR:
        asked = estimates_over_error(seed, near=seed in NEAR)
        for over, found in zip((far, near), asked, strict=True):
            for name, of_layout in found.items():
                over[name] = over.get(name, []) + of_layout
    return far, near


def estimates_over_error(seed: int, near: bool) -> tuple[Ratios, Ratios]:
    """Ratio of estimate to true error of every field, loss and voltage of a layout, and of what lies near it."""
    study = random_limits_study(seed) if near else random_study(seed)
    section = cross_section(study)
    points = np.array([receptor.at for receptor in study.receptors])
    derived = DerivedNumbers(study, section)
    worst = derived.worst_error if near else no_more
    solved, estimate, accuracy = solve_to_tolerance(section, points, (), TOLERANCE, lambda message: None, derived=worst)
    assert near or accuracy.met, study.source_name
    finer = accuracy.levels[-1].fineness * min(FINER, np.sqrt(MOST_POINTS / accuracy.levels[-1].unknowns))
    fine = solve_once(section, mesh_section(section.section(), MeshSizes(fineness=finer)), points, ())
    now, true = solved.requested, fine.requested
    errors, off = estimate.of_vector(lambda r: r.receptors), np.linalg.norm(now.receptors - true.receptors, axis=1)
    far = {
        "field": _ratios(errors[:AWAY], off[:AWAY]),
        "loss": _ratios(estimate.of_losses(), np.abs(now.losses - true.losses)),
        "voltage": _ratios(estimate.of(lambda r: r.voltages), np.abs(now.voltages - true.voltages)),
    }
    if not near:
        return far, {}
    model = line_model(section)
    own = (Solution(section, solved, estimate, accuracy, model),)
    exact = Estimate(fine.requested, solved.requested, solved.fields)
    other = (Solution(section, fine, exact, accuracy, model),)
    away = outer_rectangle(section).distance(points) < OUTLINE
    return far, {"near field": _ratios(errors[away], off[away]), **near_ratios(study, derived, own, other)}


def no_more(solved: Solved, estimate: Estimate) -> float:
    """Nothing that follows from a solution is asked to a tolerance."""
    return 0.0


def near_ratios(study: Study, derived: DerivedNumbers, now: Any, true: Any) -> Ratios:
    """Ratio of estimate to true error of major axes, zones in air and distances."""
    zones = derived.zones_of(now) or zone_results(study, now), zone_results(study, true)
    found = {
        "major axis": [
            one.b_major_axis_rms_error_t / abs(one.b_major_axis_rms_t - other.b_major_axis_rms_t)
            for one, other in zip(receptor_results(study, now), receptor_results(study, true), strict=True)
        ],
        "zone in air": [
            one.b_max_rms_error_t / abs(one.b_max_rms_t - other.b_max_rms_t) for one, other in zip(*zones, strict=True)
        ],
    }
    distances = derived.distances_of(now) or limit_distance_results(study, now)
    for one, other in zip(distances, limit_distance_results(study, true), strict=True):
        if one.state == other.state == "met" and one.error_m and one.from_outline_m and other.from_outline_m:
            name = "distance near" if one.from_outline_m < OUTLINE else "distance"
            found.setdefault(name, []).append(one.error_m / max(abs(one.from_outline_m - other.from_outline_m), 1e-12))
    return found


def _ratios(estimated, error):
    return (estimated / error).tolist()
