"""The error estimate beside each number, held against far finer solutions of random layouts."""

import numpy as np
import pytest

from geometry.meshing import mesh_section
from geometry.sizing import MeshSizes
from studies.accuracy import Estimate, solve_once, solve_to_tolerance
from studies.comparison.derived import DerivedNumbers
from studies.comparison.fields import receptor_results
from studies.comparison.limits import limit_distance_results, outer_rectangle, zone_results
from studies.comparison.solution import Solution
from studies.cross_section import cross_section
from studies.line_formulas import line_model
from tests.studies.random_layouts import random_limits_study, random_study

LAYOUTS = 24
GROUPS = 4
FINER = 2.0  # halves the elements of the finest mesh: what is left of its error is a quarter of it or less
MOST_POINTS = 250_000
TOLERANCE = 0.005


@pytest.mark.slow
@pytest.mark.parametrize("group", range(GROUPS))
def test_true_error_is_below_the_estimate_for_random_layouts(group):
    over: dict[str, list[float]] = {"field": [], "loss": [], "voltage": []}
    for seed in range(group, LAYOUTS, GROUPS):
        for name, ratios in estimate_over_error(seed).items():
            over[name] += ratios
    for name, ratios in over.items():
        assert len(ratios) >= LAYOUTS, name  # four numbers or more a layout
        # asked of the estimate: above the error in at least 95 % of all numbers, not absurdly large in the median
        assert np.mean(np.array(ratios) >= 1) >= 0.95, name
        assert np.median(ratios) <= 20, name


def estimate_over_error(seed):
    """Ratio of estimate to true error of every field, loss and voltage of one random layout."""
    study = random_study(seed)
    section = cross_section(study)
    receptors = np.array([receptor.at for receptor in study.receptors])
    solved, estimate, accuracy = solve_to_tolerance(section, receptors, (), TOLERANCE, lambda message: None)
    assert accuracy.met, study.source_name
    points = accuracy.levels[-1].unknowns
    finer = accuracy.levels[-1].fineness * min(FINER, np.sqrt(MOST_POINTS / points))
    fine = solve_once(section, mesh_section(section.section(), MeshSizes(fineness=finer)), receptors, ())
    now, true = solved.requested, fine.requested
    return {
        "field": _ratios(
            estimate.of_vector(lambda r: r.receptors), np.linalg.norm(now.receptors - true.receptors, axis=1)
        ),
        "loss": _ratios(estimate.of_losses(), np.abs(now.losses - true.losses)),
        "voltage": _ratios(estimate.of(lambda r: r.voltages), np.abs(now.voltages - true.voltages)),
    }


def _ratios(estimated, error):
    return (estimated / error).tolist()


NEAR, NEAR_GROUPS = 12, 2
OUTLINE = 0.3


@pytest.mark.slow
@pytest.mark.parametrize("group", range(NEAR_GROUPS))
def test_estimates_near_the_arrangement_cover_zones_distances_and_the_major_axis(group):
    over: dict[str, list[float]] = {}
    for seed in range(group, NEAR, NEAR_GROUPS):
        for name, ratios in near_estimates_over_error(seed).items():
            over[name] = over.get(name, []) + ratios
    assert set(over) == {"near field", "major axis", "zone in air", "distance near", "distance"}
    # together, for a group has few zones: 95 % of all numbers, and of each kind no more than one in ten beside it
    everything = np.array([ratio for ratios in over.values() for ratio in ratios])
    assert np.mean(everything >= 1) >= 0.95
    for name, ratios in over.items():
        assert np.mean(np.array(ratios) >= 1) >= 0.9, name
        assert np.median(ratios) <= 60, name


def near_estimates_over_error(seed):
    """Ratio of estimate to true error of fields within 0.3 m, major axes, zones in air and distances of a layout."""
    study = random_limits_study(seed)
    section = cross_section(study)
    points = np.array([receptor.at for receptor in study.receptors])
    derived = DerivedNumbers(study, section)
    solved, estimate, accuracy = solve_to_tolerance(
        section, points, (), TOLERANCE, lambda message: None, derived=derived.worst_error
    )
    finer = accuracy.levels[-1].fineness * min(FINER, np.sqrt(MOST_POINTS / accuracy.levels[-1].unknowns))
    fine = solve_once(section, mesh_section(section.section(), MeshSizes(fineness=finer)), points, ())
    model = line_model(section)
    now = (Solution(section, solved, estimate, accuracy, model),)
    exact = Estimate(fine.requested, solved.requested, solved.fields)
    true = (Solution(section, fine, exact, accuracy, model),)
    away = outer_rectangle(section).distance(points) < OUTLINE
    fields, true_fields = solved.requested.receptors, fine.requested.receptors
    errors = estimate.of_vector(lambda r: r.receptors)
    zones = zone_results(study, now, derived.zones_of(now)), zone_results(study, true)
    found = {
        "near field": _ratios(errors[away], np.linalg.norm(fields - true_fields, axis=1)[away]),
        "major axis": [
            one.b_major_axis_rms_error_t / abs(one.b_major_axis_rms_t - other.b_major_axis_rms_t)
            for one, other in zip(receptor_results(study, now), receptor_results(study, true), strict=True)
        ],
        "zone in air": [
            one.b_max_rms_error_t / abs(one.b_max_rms_t - other.b_max_rms_t) for one, other in zip(*zones, strict=True)
        ],
    }
    distances = limit_distance_results(study, now, derived.distances_of(now))
    rows = zip(distances, limit_distance_results(study, true), strict=True)
    for one, other in rows:
        if one.state == other.state == "met" and one.error_m and one.from_outline_m and other.from_outline_m:
            name = "distance near" if one.from_outline_m < OUTLINE else "distance"
            found.setdefault(name, []).append(one.error_m / max(abs(one.from_outline_m - other.from_outline_m), 1e-12))
    return found
