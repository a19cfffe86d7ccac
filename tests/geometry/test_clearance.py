"""Clearances and overlaps against hand values and their own definition."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.clearance import TOUCHING, clearance, distance_to, overlaps
from geometry.shapes import Disc, Shape, Tube, Wall, wall_along
from tests.channels import channel

ROUNDING = 1e-12  # [m], lengths of about 1 m
FLOOR = wall_along([(-0.5, 0.0), (0.5, 0.0)], 0.01, side="right")  # top face on y = 0 [m]
BOX = channel(0.3, 0.1, 2e-3, covered=True)


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (Disc((0, 0), 0.01), Disc((0.05, 0), 0.02), 0.02),
        (Disc((0, 0), 0.01), Disc((0.03, 0.04), 0.02), 0.02),
        (Disc((0, 0), 0.01), Disc((0.02, 0), 0.02), -0.01),
        (Disc((0, 0), 0.01), Tube((0.002, 0), 0.015, 0.016), 0.003),  # in the bore
        (Disc((0, 0), 0.01), Tube((0.01, 0), 0.015, 0.016), -0.005),  # through the wall of the bore
        (Tube((0, 0), 0.02, 0.03), Tube((0.001, 0), 0.01, 0.015), 0.004),  # tube in tube
        (Tube((0, 0), 0.02, 0.03), Tube((0.1, 0), 0.01, 0.015), 0.055),
        (Disc((0.1, 0.012), 0.01), FLOOR, 0.002),
        (Disc((0.1, 0.009), 0.01), FLOOR, -0.001),
        (Disc((0.53, 0.04), 0.01), FLOOR, 0.04),  # 3-4-5 from the corner
        (Disc((0.0, 0.012), 0.01), BOX, 0.002),  # inside a closed wall
        (Disc((0.0, -0.013), 0.01), BOX, 0.001),  # below it
        (Tube((0.0, 0.05), 0.2, 0.21), BOX, 0.2 - math.hypot(0.152, 0.052)),  # a pipe around it
        (Tube((0.0, 0.05), 0.1, 0.11), BOX, -0.06),  # a pipe across it: the floor is 0.05 from its axis
        (FLOOR, wall_along([(-0.1, 0.02), (0.1, 0.02)], 0.01, side="left"), 0.02),
    ],
)
def test_clearance_has_the_hand_value_either_way_round(a: Shape, b: Shape, expected: float) -> None:
    assert clearance(a, b) == pytest.approx(expected, abs=ROUNDING)
    assert clearance(b, a) == pytest.approx(expected, abs=ROUNDING)


def test_a_wall_the_smallest_number_above_zero_overlaps_as_at_zero() -> None:
    def wall(x: float, y: float, thickness: float) -> Wall:
        return wall_along([(x, y + 0.05), (x, y), (x + 0.1, y), (x + 0.1, y + 0.05)], thickness, side="right")

    other = wall(0.0625, 0.0, 10**-2.5)
    assert clearance(wall(0.0, 5e-324, 1e-3), other) == clearance(wall(0.0, 0.0, 1e-3), other) < 0


@given(st.floats(-0.3, 0.3), st.floats(0, 2 * math.pi), st.floats(1e-3, 0.1), st.floats(1e-3, 0.1))
def test_moving_a_disc_away_by_d_changes_the_clearance_by_d(d: float, angle: float, r: float, s: float) -> None:
    def at(distance: float) -> float:
        return clearance(Disc((0, 0), r), Disc((distance * math.cos(angle), distance * math.sin(angle)), s))

    assert at(0.4 + d) - at(0.4) == pytest.approx(d, abs=ROUNDING)


@given(st.floats(-0.009, 0.05), st.floats(-0.4, 0.4), st.floats(0.01, 0.05))
def test_lifting_a_disc_from_a_floor_changes_the_clearance_by_the_lift(lift: float, x: float, r: float) -> None:
    # also while it overlaps, as long as its centre is above the middle of the sheet
    assume(r + lift > 0)
    resting = clearance(Disc((x, r), r), FLOOR)
    assert resting == pytest.approx(0, abs=ROUNDING)
    assert clearance(Disc((x, r + lift), r), FLOOR) - resting == pytest.approx(lift, abs=ROUNDING)


@given(st.floats(-0.013, 0.013), st.floats(0, 2 * math.pi))
def test_a_core_in_a_bore_loses_what_it_moves(d: float, angle: float) -> None:
    core = Disc((d * math.cos(angle), d * math.sin(angle)), 0.005)
    # the free distance is the bore's radius less the offset; past the wall's middle line the outside would be nearer
    assert clearance(core, Tube((0, 0), 0.01, 0.05)) == pytest.approx(0.005 - abs(d), abs=ROUNDING)


def test_overlaps_are_found_worst_first_and_by_name() -> None:
    bodies = [("a", Disc((0, 0), 0.01)), ("b", Disc((0.018, 0), 0.01)), ("c", Disc((0.0, 0.015), 0.01))]
    found = overlaps(bodies)
    assert [(pair.first, pair.second) for pair in found] == [("a", "c"), ("a", "b")]
    assert [pair.depth for pair in found] == pytest.approx([0.005, 0.002], abs=ROUNDING)


@pytest.mark.parametrize(("gap", "overlapping"), [(-2 * TOUCHING, True), (-TOUCHING / 2, False), (0.0, False)])
def test_bodies_that_touch_within_the_tolerance_do_not_overlap(gap: float, overlapping: bool) -> None:
    bodies = [("a", Disc((0, 0), 0.01)), ("b", Disc((0.02 + gap, 0), 0.01))]
    assert bool(overlaps(bodies)) is overlapping


def test_crossing_walls_overlap_by_the_root_of_the_shared_area() -> None:
    upright = wall_along([(0.0, 0.1), (0.0, -0.1)], 0.004)
    assert clearance(FLOOR, upright) == pytest.approx(-math.sqrt(0.01 * 0.004), rel=1e-9)
    (found,) = overlaps([("floor", FLOOR), ("upright", upright)])
    assert found.depth == pytest.approx(math.sqrt(0.01 * 0.004), rel=1e-9)


def test_distances_from_the_metal_have_their_hand_values() -> None:
    points = np.array([[0.0, 0.0], [0.015, 0.0], [0.0, 0.05], [0.06, 0.08]])
    assert distance_to(Disc((0, 0), 0.01), points) == pytest.approx([0, 0.005, 0.04, 0.09], abs=ROUNDING)
    assert distance_to(Tube((0, 0), 0.01, 0.02), points) == pytest.approx([0.01, 0, 0.03, 0.08], abs=ROUNDING)
    assert distance_to(FLOOR, points) == pytest.approx([0, 0, 0.05, 0.08], abs=ROUNDING)
    assert distance_to(BOX, np.array([[0.0, 0.05], [0.3, 0.05]])) == pytest.approx([0.05, 0.148], abs=ROUNDING)
