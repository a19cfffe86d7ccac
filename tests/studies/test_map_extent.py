"""The window of the field map: what it holds when the study does not state one."""

import numpy as np
import pytest

from studies.answers.fields.map_extent import FURTHEST, MARGIN, SLIMMEST, extent_of_map
from studies.answers.limits.compute import outer_rectangle
from studies.answers.limits.rows import LimitDistanceResult
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from tests.studies.feeder import FEEDER

RECEPTOR = """
[[receptors]]
name = "bench"
at = ["1.2 m", "0.2 m"]
limit = "1 uT"
"""
STATED = '\n[map]\nwindow = [["-1 m", "-0.1 m"], ["1 m", "0.1 m"]]\n'


def met_at(distance, direction="overall"):
    return LimitDistanceResult(1e-6, None, ("bench",), direction, "met", distance, 0.0, distance, None)


def window(text, *distances):
    study = loads(FEEDER + text)
    section = cross_section(study)
    low, high = extent_of_map(study, section, distances)
    return np.array([low, high]), outer_rectangle(section)


def test_a_map_reaches_all_round_to_where_the_limit_is_met():
    corners, outline = window(RECEPTOR, met_at(1.7, "right"), met_at(1.8))
    assert np.all(corners[0] <= np.array(outline.low) - 1.8)
    assert np.all(corners[1] >= np.array(outline.high) + 1.8)
    # no further than the margin of a map of that extent
    assert np.ptp(corners[:, 0]) <= (1 + 2 * MARGIN) * (3.6 + 2 * outline.half[0]) * (1 + 1e-12)


def test_a_limit_that_is_met_far_away_does_not_shrink_the_places_to_a_corner():
    near, _ = window(RECEPTOR)
    far, _ = window(RECEPTOR, met_at(10.0))
    assert far == pytest.approx(near, rel=1e-12)
    both, _ = window(RECEPTOR, met_at(10.0), met_at(1.0))
    assert np.all(np.abs(both) >= 1.0)
    assert np.ptp(both[:, 0]) <= FURTHEST * np.ptp(near[:, 0])


def test_a_limit_that_is_not_met_or_not_exceeded_changes_nothing():
    near, _ = window(RECEPTOR)
    rows = [
        LimitDistanceResult(1e-6, None, ("bench",), "overall", state, None, None, None, None) for state in ("a", "b")
    ]
    assert window(RECEPTOR, *rows)[0] == pytest.approx(near, rel=1e-12)


def test_a_map_is_no_strip_and_holds_receptors_and_solids():
    corners, outline = window(RECEPTOR)
    width, height = np.ptp(corners, axis=0)
    assert height >= SLIMMEST * width * (1 - 1e-12)  # 1.5 m wide: the receptor lies nearly level with the cables
    for point in (outline.low, outline.high, (1.2, 0.2)):
        assert np.all(corners[0] < point)
        assert np.all(corners[1] > point)


def test_a_stated_window_is_taken_as_it_is():
    corners, _ = window(RECEPTOR + STATED, met_at(1.7))
    assert corners == pytest.approx(np.array([[-1.0, -0.1], [1.0, 0.1]]))
