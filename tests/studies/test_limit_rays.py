"""The rectangle around an arrangement, the rays that leave it, and what is sampled along them."""

import numpy as np
import pytest

from studies.answers.limits.rays import magnitudes, sample, sampled_lengths
from studies.answers.limits.rectangle import Rectangle, perimeter_rays, side_rays


def test_the_length_of_a_perimeter_ray_is_the_distance_from_the_rectangle():
    rectangle = Rectangle((-1.0, 2.0), (2.0, 2.5))
    rays = perimeter_rays(rectangle, np.linspace(0, 8, 321))
    lengths = np.linspace(0.01, 3, 321)
    assert rectangle.distance(rays.points(lengths)) == pytest.approx(lengths, rel=1e-12)
    gaps = np.linalg.norm(np.diff(rays.points(np.ones(321)), axis=0), axis=1)
    # the ends close, and steps of 1/40 move at most 3/40 along a side or (pi/2)/40 around a corner
    assert gaps.max() < 3.001 / 40
    assert rays.points(np.ones(321))[-1] == pytest.approx(rays.points(np.ones(321))[0], abs=1e-12)


def test_rays_leave_the_middle_of_each_side():
    rectangle = Rectangle((-1.0, 2.0), (2.0, 2.5))
    straight = side_rays(rectangle)
    assert straight.origins == pytest.approx(np.array([[2, 2.25], [0.5, 2.5], [-1, 2.25], [0.5, 2]]), abs=1e-12)
    assert straight.directions == pytest.approx(np.array([[1, 0], [0, 1], [-1, 0], [0, -1]]), abs=1e-12)


@pytest.mark.parametrize("diagonal", [1e-3, 0.3, 50.0, 2000.0])
def test_samples_begin_at_the_outline_end_at_the_largest_distance_and_grow_in_small_steps(diagonal):
    lengths = sampled_lengths(diagonal, 1000.0)
    assert (lengths[0], lengths[-1]) == (0.0, pytest.approx(1000.0, rel=1e-12))
    assert np.all(lengths[2:] / lengths[1:-1] > 1)
    assert np.all(lengths[2:] / lengths[1:-1] <= 1.25 + 1e-12)
    assert lengths[1] <= 1e-3 * diagonal * (1 + 1e-12)


def test_what_lies_inside_the_distance_of_all_limits_is_not_sampled():
    rays, lengths = side_rays(Rectangle((-1.0, -1.0), (2.0, 2.0))), sampled_lengths(4.2, 1000.0)

    def field(points):
        return 1 / np.linalg.norm(points - 0.4, axis=1) ** 2

    whole, outer = sample(field, rays, lengths), sample(field, rays, lengths, 1e-3)
    assert len(outer.lengths) < len(lengths) / 2
    assert outer.values[:, 0].min() > 1e-3
    for limit in (1e-3, 2e-4):  # the same bracket, closed in the same way
        assert np.array_equal(outer.last_crossings(limit), whole.last_crossings(limit))
    assert len(sample(field, rays, lengths, 1e3).lengths) == len(lengths)  # one ray stays below: all are needed


def test_a_field_that_is_no_magnitude_is_refused_with_its_place():
    with pytest.raises(ValueError, match=r"at \(1 m, 2 m\) it is nan"):
        magnitudes(lambda points: np.full(len(points), np.nan), np.array([[1.0, 2.0]]))
    with pytest.raises(ValueError, match=r"must have the shape \(1,\)"):
        magnitudes(lambda points: points, np.array([[1.0, 2.0]]))


def test_a_rectangle_without_extent_or_the_wrong_way_round_is_refused():
    for low, high in (((0, 0), (0, 0)), ((1, 0), (0, 1)), ((0, np.nan), (1, 1))):
        with pytest.raises(ValueError, match="a rectangle needs a corner low"):
            Rectangle(low, high)
