"""Points inside cables and metal: reported with their estimate, and no cause for ever finer meshes."""

import numpy as np
import pytest

from studies.runner import run
from studies.solve.accuracy import INSIDE_FINENESS
from studies.study.reading import loads
from tests.studies.feeder import FEEDER, TRAY

STUDY = (
    FEEDER
    + TRAY
    + """
[[receptors]]
name = "bench"
at = ["1.5 m", "0.5 m"]

[[receptors]]
name = "in the conductor"
at = ["1 mm", "12 mm"]

[[traverses]]
name = "through"
from = ["-0.3 m", "12 mm"]
to = ["0.3 m", "12 mm"]
points = 61
"""
)


@pytest.fixture(scope="module")
def result():
    return run(loads(STUDY))


def test_they_ask_for_no_finer_mesh_than_the_rest_needs(result):
    # six meshes and a hundred times the work before: the slopes of elements settle at second order alone
    assert result.accuracy.levels[-1].fineness <= INSIDE_FINENESS
    assert result.accuracy.levels[-1].unknowns < 60_000


def test_what_lies_in_air_still_holds_to_the_tolerance(result):
    bench = result.receptors[0]
    assert bench.within_tolerance
    (through,) = result.traverses
    clear = np.min(np.abs(through.points_m[:, :1] - [-0.15, -0.056, 0.0, 0.056, 0.15]), axis=1) > 0.015
    share = through.b_rms_error_t[clear] / through.b_rms_t[clear]
    assert share.max() <= result.accuracy.tolerance


def test_their_own_estimate_and_a_caution_are_reported(result):
    inside = result.receptors[1]
    assert inside.b_rms_error_t > 0
    assert result.accuracy.met == (result.accuracy.worst_error <= result.accuracy.tolerance)
    caution = next(line for line in result.cautions if line.startswith("Inside a cable or metal"))
    assert "in the conductor in cable F1.2" in caution
    assert "not refined for such a place" in caution
