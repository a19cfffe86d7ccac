"""Solids against hand values: areas, outlines, mitres and the enclosing circle."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.clearance import polygon
from geometry.shapes import AIR, Disc, Region, Section, Tube, Wall, boundary_loops, enclosing_circle, wall_along
from tests.channels import channel

ROUNDING = 1e-12  # a few hundred roundings of a double
CORNER = [(0.0, 0.1), (0.0, 0.0), (0.2, 0.0)]  # down, then right: a bend to the left [m]


@pytest.mark.parametrize(
    ("side", "left", "right"),
    [
        # down the y axis the left is +x, along the x axis it is +y; the mitre lies on the diagonal of the bend
        ("left", [(0.01, 0.1), (0.01, 0.01), (0.2, 0.01)], CORNER),
        ("right", CORNER, [(-0.01, 0.1), (-0.01, -0.01), (0.2, -0.01)]),
        (
            "middle",
            [(0.005, 0.1), (0.005, 0.005), (0.2, 0.005)],
            [(-0.005, 0.1), (-0.005, -0.005), (0.2, -0.005)],
        ),
    ],
)
def test_a_wall_lies_on_its_side_of_the_path_with_mitred_corners(
    side: str, left: list[tuple[float, float]], right: list[tuple[float, float]]
) -> None:
    wall = wall_along(CORNER, 0.01, side=side)
    assert np.array(wall.left) == pytest.approx(np.array(left), abs=ROUNDING)
    assert np.array(wall.right) == pytest.approx(np.array(right), abs=ROUNDING)


@given(st.floats(-2.5, 2.5), st.floats(0.001, 0.01))
def test_a_mitred_wall_keeps_its_thickness_at_any_bend(turn: float, thickness: float) -> None:
    path = [(-0.1, 0.0), (0.0, 0.0), (0.1 * math.cos(turn), 0.1 * math.sin(turn))]
    wall = wall_along(path, thickness, side="middle")
    # the mitre adds on one side of the middle line what it takes on the other
    assert polygon(wall).area == pytest.approx(0.2 * thickness, rel=1e-9)
    for run in wall.runs():
        start, end = np.array(run[0]), np.array(run[1])
        along = (end - start) / np.linalg.norm(end - start)
        across = np.array(run[3]) - start
        assert abs(along[0] * across[1] - along[1] * across[0]) == pytest.approx(thickness, rel=1e-9)


def test_a_channel_has_the_sheet_area_of_its_drawing() -> None:
    width, height, t = 0.3, 0.1, 1.5e-3
    opened = channel(width, height, t, origin=(0.7, -0.2))
    covered = channel(width, height, t, covered=True, origin=(0.7, -0.2))
    # floor from wall outside to wall outside, two walls above it, a cover of the floor's length
    assert polygon(opened).area == pytest.approx(t * (width + 2 * t + 2 * height), rel=ROUNDING)
    box, hollow = (width + 2 * t) * (height + 2 * t), width * height
    assert polygon(covered).area == pytest.approx(box - hollow, rel=ROUNDING)
    assert polygon(opened).bounds == pytest.approx((0.7 - 0.1515, -0.2015, 0.7 + 0.1515, -0.1), abs=ROUNDING)
    assert polygon(covered).bounds == pytest.approx((0.7 - 0.1515, -0.2015, 0.7 + 0.1515, -0.0985), abs=ROUNDING)


def test_a_closed_wall_may_run_either_way_round() -> None:
    square = [(0.0, 0.0), (0.1, 0.0), (0.1, 0.1), (0.0, 0.1)]
    for path, area in ((square, 0.1**2 - 0.096**2), (square[::-1], 0.104**2 - 0.1**2)):
        # the left of an anticlockwise path is inside, of a clockwise one outside
        wall = wall_along(path, 0.002, side="left", closed=True)
        assert len(boundary_loops(wall)[1]) == 1
        assert polygon(wall).area == pytest.approx(area, rel=1e-10)


def test_outlines_of_round_solids_are_inscribed_polygons_of_256_sides() -> None:
    outer, (inner,) = boundary_loops(Tube((0.1, 0.2), 0.03, 0.05))
    sides = 256 / 2 * math.sin(2 * math.pi / 256)  # area of the inscribed polygon of a unit circle
    assert polygon(Disc((0.1, 0.2), 0.05)).area == pytest.approx(sides * 0.05**2, rel=ROUNDING)
    assert polygon(Tube((0.1, 0.2), 0.03, 0.05)).area == pytest.approx(sides * (0.05**2 - 0.03**2), rel=1e-11)
    assert np.linalg.norm(inner - (0.1, 0.2), axis=1) == pytest.approx(0.03, rel=ROUNDING)
    assert np.linalg.norm(outer - (0.1, 0.2), axis=1) == pytest.approx(0.05, rel=ROUNDING)


@given(
    st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(1e-3, 0.2)), min_size=1, max_size=8, unique=True)
)
def test_the_enclosing_circle_holds_every_solid_and_is_hardly_larger_than_needed(
    discs: list[tuple[float, float, float]],
) -> None:
    section = Section(tuple(Region(str(k), Disc((x, y), r)) for k, (x, y, r) in enumerate(discs)))
    centre, radius = enclosing_circle(section)
    reach = max(math.dist(centre, (x, y)) + r for x, y, r in discs)
    # circles are polygons of 256 sides: a corner is at most half a side's angle from the farthest point
    assert radius >= reach - 0.2 * (1 - math.cos(math.pi / 256)) - ROUNDING
    # no circle is smaller than half the extent of the discs; by Jung's theorem the smallest is at most 2/sqrt(3) of it
    extent = max(math.dist(a[:2], b[:2]) + a[2] + b[2] if a != b else 2 * a[2] for a in discs for b in discs)
    assert radius <= extent / math.sqrt(3) * 1.02


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: Disc((0, 0), 0.0), "radius"),
        (lambda: Disc((0, 0), math.nan), "radius"),
        (lambda: Tube((0, 0), 0.0, 0.1), "inner_radius"),
        (lambda: Tube((0, 0), 0.1, 0.1), "outer_radius"),
        (lambda: Region("", Disc((0, 0), 1)), "name"),
        (lambda: Region("a", Disc((0, 0), 1), depth=0.0), "depth"),
        (lambda: Section(()), "one solid"),
        (lambda: Section((Region("a", Disc((0, 0), 1)), Region("a", Disc((3, 0), 1)))), "unique"),
        (lambda: Section((Region(AIR, Disc((0, 0), 1)),)), "air"),
        (lambda: wall_along([(0, 0), (1, 0)], 0.0), "thickness"),
        (lambda: wall_along([(0, 0), (0, 0), (1, 0)], 0.1), "same"),
        (lambda: wall_along([(0, 0), (1, 0), (0, 0)], 0.1), "turns back"),
        (lambda: wall_along([(0, 0), (0.01, 0), (0.01, 1)], 0.1, side="left"), "turned over"),
        (lambda: wall_along([(0, 0)], 0.1), "corners|faces"),
        (lambda: Wall(((0, 0), (1, 0)), ((0, -0.1),)), "equally many"),
    ],
)
def test_what_is_no_solid_is_refused_by_name(make: object, named: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=named):
        make()
