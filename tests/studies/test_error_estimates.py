"""The error estimate beside each number, held against far finer solutions of random layouts."""

import numpy as np
import pytest

from geometry.meshing import mesh_section
from geometry.sizing import MeshSizes
from studies.accuracy import solve_once, solve_to_tolerance
from studies.cross_section import cross_section
from tests.studies.random_layouts import random_study

LAYOUTS = 64
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
