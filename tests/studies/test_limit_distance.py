"""Distances at which a limit is met, against the exact inversion of the fields of line currents."""

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.answers.limits.distance import limit_distances
from studies.answers.limits.rectangle import Rectangle, perimeter_rays
from studies.answers.limits.rows import MET, NOT_EXCEEDED, NOT_MET
from studies.formulas.line_field import flat_field, line_field, trefoil_field
from tests.studies.rectangles import around

A = np.exp(2j * np.pi / 3)
BALANCED = np.array([1, A**2, A])
SPACING, CURRENT, RADIUS = 0.1, 400.0, 0.02
K = mu_0 * CURRENT / (2 * np.pi)
FLAT = np.array([[-SPACING, 0], [0, 0], [SPACING, 0]])
HEIGHT = SPACING / np.sqrt(3)
TREFOIL = np.array([[-SPACING / 2, -HEIGHT / 2], [SPACING / 2, -HEIGHT / 2], [0, HEIGHT]])
RIGHT = np.array([1.0, 0.0])
TWO = np.array([[-SPACING / 2, 0], [SPACING / 2, 0]])
# 14 halvings of a step of 25 % leave 1.5e-5 of the distance, well inside the 1e-4 that is promised
PROMISED = 1e-4
LIMITS = [1e-3, 1e-4, 1e-5, 1e-6, 1e-8]  # distances from about one spacing to about forty metres


def flat(points):
    return flat_field(points[:, 0], points[:, 1], SPACING, CURRENT)


def trefoil(points):
    return trefoil_field(points[:, 0], points[:, 1], SPACING, CURRENT)


def two_wire(points):
    """Exact field of a line current and its return: mu0 I s/(2 pi r1 r2)."""
    return K * SPACING / np.prod([np.linalg.norm(points - axis, axis=1) for axis in TWO], axis=0)


def lines(axes, currents):
    return lambda points: np.linalg.norm(line_field(points, axes, currents), axis=1)


def largest_real_root(coefficients):
    roots = np.roots(coefficients)
    # double roots come out with an imaginary part of about the root of the rounding error; the wanted one is single
    return max(root.real for root in roots if abs(root.imag) < 1e-9 * abs(root))


def by_side(field, axes, limit, **options):
    rectangle = around(axes, RADIUS)
    found = limit_distances(field, rectangle, limit, **options)
    return by_side_of(found)


def by_side_of(found):
    return {side.direction: side for side in found.sides} | {"overall": found.overall}


# ---- exact inversions


@pytest.mark.parametrize("limit", LIMITS)
def test_one_line_is_met_where_the_law_of_biot_and_savart_says(limit):
    found = by_side(lines([[0.3, -0.2]], [CURRENT]), [[0.3, -0.2]], limit, largest_distance=1e5)
    for side in found.values():
        # B = mu0 I/(2 pi r) [C]; the rectangle is a square of half side RADIUS
        assert side.from_centre_m == pytest.approx(K / limit, rel=PROMISED)
    for direction in ("right", "up", "left", "down"):
        assert found[direction].from_outline_m == pytest.approx(K / limit - RADIUS, rel=PROMISED)


@pytest.mark.parametrize("limit", LIMITS)
def test_two_wires_are_met_where_the_exact_form_says(limit):
    found = by_side(two_wire, TWO, limit)
    # r1 r2 = K s/B: along the wires x^2 - s^2/4, across y^2 + s^2/4 [D]
    product = K * SPACING / limit
    along, across = np.sqrt(product + SPACING**2 / 4), np.sqrt(product - SPACING**2 / 4)
    for direction in ("right", "left"):
        assert found[direction].from_centre_m == pytest.approx(along, rel=PROMISED)
        assert found[direction].from_outline_m == pytest.approx(along - SPACING / 2 - RADIUS, rel=PROMISED)
    for direction in ("up", "down"):
        assert found[direction].from_centre_m == pytest.approx(across, rel=PROMISED)
        assert found[direction].from_outline_m == pytest.approx(across - RADIUS, rel=PROMISED)


@pytest.mark.parametrize("limit", LIMITS)
def test_flat_is_met_where_the_exact_form_says(limit):
    found = by_side(flat, FLAT, limit)
    # B^2 = (K s)^2 (3 r^2 + s^2)/(r r1 r2)^2 is a cubic in X = r^2: X (X -+ s^2)^2 = q (3 X + s^2) [D]
    q, s2 = (K * SPACING / limit) ** 2, SPACING**2
    along = np.sqrt(largest_real_root([1, -2 * s2, s2**2 - 3 * q, -q * s2]))
    across = np.sqrt(largest_real_root([1, 2 * s2, s2**2 - 3 * q, -q * s2]))
    assert found["right"].from_outline_m == pytest.approx(along - SPACING - RADIUS, rel=PROMISED)
    assert found["left"].from_centre_m == pytest.approx(along, rel=PROMISED)
    assert found["up"].from_outline_m == pytest.approx(across - RADIUS, rel=PROMISED)
    assert found["down"].from_centre_m == pytest.approx(across, rel=PROMISED)


@pytest.mark.parametrize("limit", LIMITS)
def test_trefoil_is_met_above_and_below_where_the_exact_form_says(limit):
    found = by_side(trefoil, TREFOIL, limit)
    # on the axis of symmetry r1 r2 r3 = |y^3 - a^3|: (y^3 - a^3)^2 = q (y^2 + a^2), q = 1.5 (K s/B)^2 [D]
    a, q = HEIGHT, 1.5 * (K * SPACING / limit) ** 2
    above = largest_real_root([1, 0, 0, -2 * a**3, -q, 0, a**6 - q * a**2])
    below = largest_real_root([1, 0, 0, 2 * a**3, -q, 0, a**6 - q * a**2])
    assert found["up"].from_outline_m == pytest.approx(above - a - RADIUS, rel=PROMISED)
    assert found["down"].from_outline_m == pytest.approx(below - a / 2 - RADIUS, rel=PROMISED)
    assert found["up"].point_m == pytest.approx((0, above), rel=PROMISED, abs=1e-9)


# ---- fields that rise before they fall


def like_currents(half, current=CURRENT):
    """Two lines with the same current: across the middle B = 2 K y/(y^2 + d^2), zero there, largest at y = d."""
    return lines([[-half, 0], [half, 0]], [current, current]), [[-half, 0], [half, 0]]


@pytest.mark.parametrize("share", [0.05, 0.3, 0.9, 0.99, 0.99999])
def test_a_field_that_rises_from_nothing_is_followed_to_its_outermost_crossing(share):
    half = 1.0
    field, axes = like_currents(half)
    limit = share * K / half  # the largest field on the ray is K/d; at share 0.99999 no sample is above the limit
    side = by_side(field, axes, limit)["up"]
    # y^2 - 2 (K/B) y + d^2 = 0, the outer root [D]
    exact = K / limit + np.sqrt((K / limit) ** 2 - half**2)
    assert side.state == MET
    # the bracket of a peak spans two steps of 15 %, and close to the peak the roots lie sqrt(2 (1 - share)) apart
    assert side.from_centre_m == pytest.approx(exact, rel=PROMISED)


def test_a_peak_just_under_the_limit_is_none():
    field, axes = like_currents(1.0)
    side = by_side(field, axes, 1.00001 * K)["up"]
    assert (side.state, side.from_outline_m, side.point_m) == (NOT_EXCEEDED, 0.0, None)


def test_the_inner_of_two_zones_over_the_limit_is_not_mistaken_for_the_outer():
    # a narrow shell about the arrangement, then a wide one far out, with a quiet gap between
    def shells(points):
        r = np.hypot(points[:, 0], points[:, 1])
        return np.where(r < 0.3, 2.0, np.where(r < 5.0, 0.1, np.where(r < 7.0, 2.0, 0.1)))

    square = Rectangle((-0.1, -0.1), (0.1, 0.1))
    found = limit_distances(shells, square, 1.0)
    assert [side.from_centre_m for side in found.sides] == pytest.approx([7.0] * 4, rel=PROMISED)


# ---- the furthest point and the contour


def cassini(angle, product, half):
    """Distance from the middle of two foci at which r1 r2 has a value: the oval of Cassini, outer branch."""
    return np.sqrt(half**2 * np.cos(2 * angle) + np.sqrt(product**2 - half**4 * np.sin(2 * angle) ** 2))


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.2])
@pytest.mark.parametrize("limit", [1e-3, 1e-4, 1e-6])
def test_the_overall_distance_is_the_furthest_of_the_whole_oval(turn, limit):
    axes = SPACING / 2 * np.array([[-np.cos(turn), -np.sin(turn)], [np.cos(turn), np.sin(turn)]])
    rectangle = around(axes, RADIUS)
    found = limit_distances(lines(axes, [CURRENT, -CURRENT]), rectangle, limit)
    angle = np.linspace(0, 2 * np.pi, 200_001)
    exact = cassini(angle - turn, K * SPACING / limit, SPACING / 2)
    oval = exact[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    furthest = rectangle.distance(oval).max()
    assert found.overall.from_outline_m is not None
    assert found.overall.from_outline_m == pytest.approx(furthest, rel=PROMISED)
    assert found.overall.point_m is not None
    x, y = found.overall.point_m
    assert rectangle.distance(np.array([[x, y]]))[0] == pytest.approx(furthest, rel=PROMISED)
    assert np.hypot(x, y) == pytest.approx(cassini(np.arctan2(y, x) - turn, K * SPACING / limit, SPACING / 2), rel=1e-4)
    assert all(found.overall.from_outline_m >= side.from_outline_m for side in by_side_of(found).values())


@pytest.mark.parametrize("at", [-1.8, 0.49, 1.8])
def test_the_hump_over_one_circuit_of_a_long_row_is_found(at):
    # weak circuits at both ends of a row five metres long, one with ten times their current between: at this limit only
    # that one is over it, over a width of about 0.25 m
    axes = np.vstack([FLAT - 2.5 * RIGHT, FLAT + at * RIGHT, FLAT + 2.5 * RIGHT])
    currents = np.concatenate([0.1 * CURRENT * BALANCED, CURRENT * BALANCED, 0.1 * CURRENT * BALANCED])
    rectangle = around(axes, RADIUS)
    found = limit_distances(lines(axes, currents), rectangle, 2e-3)
    alone = by_side(flat, FLAT, 2e-3)["up"].from_outline_m
    # the nearer weak circuit adds 0.1 sqrt(3) K s/(0.7 m)^2, 0.14 % of the limit; the field of a flat circuit falls at
    # least as 1/r here, and the distance is a half of r or more
    assert found.overall.from_outline_m == pytest.approx(alone, rel=3e-3)
    assert found.overall.point_m is not None
    assert found.overall.point_m[0] == pytest.approx(at, abs=0.01)  # the top of the hump is flat over this width
    assert [side.state for side in found.sides] == [NOT_EXCEEDED] * 4


@pytest.mark.parametrize("place", [-1e-17, -1e-9, 8.0, 16.0])
def test_places_go_round_and_round(place):
    # -1e-17 modulo 8 is 8.0 in floating point, the lower right corner again, where the right side starts at place 0
    rays = perimeter_rays(Rectangle((-2.0, -1.0), (2.0, 1.0)), np.array([place]))
    assert rays.origins[0] == pytest.approx([2.0, -1.0], abs=1e-12)
    assert rays.directions[0] == pytest.approx([1.0, 0.0], abs=2e-9)  # a quarter turn times 1e-9


# ---- states


def test_a_limit_never_exceeded_has_no_distance():
    found = by_side(flat, FLAT, 1.0)
    for side in found.values():
        assert (side.state, side.from_outline_m, side.error_m) == (NOT_EXCEEDED, 0.0, 0.0)
        assert side.from_centre_m is side.point_m is None


def test_a_net_current_is_not_met_within_a_kilometre():
    axes = [[0.0, 0.0]]
    limit = K / 2000.0  # met two kilometres away
    found = by_side(lines(axes, [CURRENT]), axes, limit)
    for side in found.values():
        assert (side.state, side.from_outline_m, side.from_centre_m, side.error_m) == (NOT_MET, None, None, None)
    further = by_side(lines(axes, [CURRENT]), axes, limit, largest_distance=3000.0)
    assert further["up"].from_centre_m == pytest.approx(2000.0, rel=PROMISED)


# ---- laws


@pytest.mark.parametrize(("field", "axes"), [(flat, FLAT), (trefoil, TREFOIL), (two_wire, TWO)])
def test_a_quarter_of_the_limit_doubles_the_distance_of_a_dipole(field, axes):
    far = by_side(field, axes, 1e-8)
    further = by_side(field, axes, 0.25e-8)
    for direction in ("right", "up", "left", "down"):
        ratio = further[direction].from_centre_m / far[direction].from_centre_m
        # the higher terms are (s/r)^2 for flat and two wires about their middle; the rectangle of the trefoil lies
        # HEIGHT/4 above its centroid, HEIGHT/4/r; r is about 30 m; and each crossing is good to 1.5e-5
        assert ratio == pytest.approx(2, rel=HEIGHT / 4 / 30 + 4e-5)


def test_half_the_limit_doubles_the_distance_of_a_net_current():
    axes = [[0.0, 0.0]]
    one, other = (by_side(lines(axes, [CURRENT]), axes, limit)["up"].from_centre_m for limit in (1e-5, 0.5e-5))
    assert other / one == pytest.approx(2, rel=4e-5)  # two crossings good to 1.5e-5


@pytest.mark.parametrize("limit", LIMITS)
def test_symmetrical_layouts_have_symmetrical_distances(limit):
    row, triangle = by_side(flat, FLAT, limit), by_side(trefoil, TREFOIL, limit)
    # the two rays sample mirrored points: rounding only, but the last halving may fall either way
    assert row["left"].from_outline_m == pytest.approx(row["right"].from_outline_m, rel=4e-5)
    assert row["up"].from_outline_m == pytest.approx(row["down"].from_outline_m, rel=4e-5)
    assert triangle["left"].from_outline_m == pytest.approx(triangle["right"].from_outline_m, rel=4e-5)
    assert triangle["up"].from_outline_m != pytest.approx(triangle["down"].from_outline_m, rel=4e-5)


def test_twice_the_layout_with_the_same_field_is_twice_as_far():
    def twice(points):
        return flat(points / 2)

    one, other = around(FLAT, RADIUS), around(2 * FLAT, 2 * RADIUS)
    a, b = limit_distances(flat, one, 1e-5).overall, limit_distances(twice, other, 1e-5).overall
    assert a.from_outline_m is not None
    assert b.from_outline_m == pytest.approx(2 * a.from_outline_m, rel=4e-5)


# ---- error of the distance


def test_the_error_of_a_single_line_is_the_relative_error_of_its_field():
    axes = [[0.0, 0.0]]
    found = by_side(lines(axes, [CURRENT]), axes, 1e-6, relative_error=0.02)
    for side in found.values():
        # r = K/B: with the field 2 % larger, r is 2 % larger; each crossing is good to 1.5e-5 of r, so 1.5e-3 of this
        assert side.error_m == pytest.approx(0.02 * K / 1e-6, rel=2e-3)


def test_the_error_of_a_dipole_is_half_the_relative_error_of_its_field():
    found = by_side(flat, FLAT, 1e-8, relative_error=0.02)
    for side in found.values():
        # r ~ B^(-1/2), at 30 spacings and more; the larger side of 1 - sqrt(0.98) and sqrt(1.02) - 1 is 0.01005
        assert side.error_m == pytest.approx(0.01005 * side.from_centre_m, rel=4e-3)  # 2 x 1.5e-5/0.01


def test_a_distance_that_the_error_makes_unsure_has_no_error():
    axes = [[0.0, 0.0]]
    side = by_side(lines(axes, [CURRENT]), axes, K / 990.0, relative_error=0.05)["up"]
    assert side.from_centre_m == pytest.approx(990.0, rel=PROMISED)
    assert side.error_m is None


def test_a_limit_exceeded_only_within_the_error_has_an_error_and_no_distance():
    rectangle = around([[0.0, 0.0]], RADIUS)
    side = limit_distances(lines([[0.0, 0.0]], [CURRENT]), rectangle, 1.01 * K / RADIUS, relative_error=0.02).sides[0]
    assert (side.state, side.from_outline_m) == (NOT_EXCEEDED, 0.0)
    # r = K (1 + e)/B = RADIUS 1.02/1.01, from the outline; one of 14 halvings of 1e-3 diagonals
    assert side.error_m == pytest.approx(RADIUS * (1.02 / 1.01 - 1), rel=1e-3)


# ---- an index as the field


def test_the_distance_of_an_exposure_index_is_that_of_the_sum():
    axes = [[0.0, 0.0]]
    rectangle = around(axes, RADIUS)
    fundamental, fifth = lines(axes, [1000.0]), lines(axes, [200.0])

    def index(points):
        return fundamental(points) / 200e-6 + fifth(points) * 550 / 0.08  # ICNIRP 2010 public [C]: 200 uT, 0.08/550 T

    exact = mu_0 / (2 * np.pi) * (1000 / 200e-6 + 200 * 550 / 0.08)
    assert limit_distances(index, rectangle, 1.0).sides[1].from_centre_m == pytest.approx(exact, rel=PROMISED)


# ---- refusals


@pytest.mark.parametrize(
    ("options", "match"),
    [
        ({"limit": 0.0}, "limit must be finite and above 0"),
        ({"limit": np.nan}, "limit must be finite and above 0"),
        ({"limit": 1e-6, "relative_error": 1.0}, "relative_error must be from 0 to below 1"),
        ({"limit": 1e-6, "relative_error": np.nan}, "relative_error must be from 0 to below 1"),
        ({"limit": 1e-6, "largest_distance": np.inf}, "largest_distance must be finite and above 0"),
    ],
)
def test_impossible_inputs_are_refused(options, match):
    with pytest.raises(ValueError, match=match):
        limit_distances(flat, around(FLAT, RADIUS), **options)
