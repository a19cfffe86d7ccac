"""The closed form of the distance at which a limit is met, beside published far forms and the search along rays."""

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.answers.limits.distance import limit_distances
from studies.answers.limits.far_form import far_form_distance
from studies.formulas.line_field import line_field
from tests.studies.rectangles import around

A = np.exp(2j * np.pi / 3)
BALANCED = np.array([1, A**2, A])
SPACING, CURRENT, RADIUS = 0.1, 400.0, 0.02
K = mu_0 * CURRENT / (2 * np.pi)
FLAT = np.array([[-SPACING, 0], [0, 0], [SPACING, 0]])
HEIGHT = SPACING / np.sqrt(3)
TREFOIL = np.array([[-SPACING / 2, -HEIGHT / 2], [SPACING / 2, -HEIGHT / 2], [0, HEIGHT]])
TWO = np.array([[-SPACING / 2, 0], [SPACING / 2, 0]])


def lines(axes, currents):
    return lambda points: np.linalg.norm(line_field(points, axes, currents), axis=1)


def test_the_closed_form_of_a_flat_row_is_the_published_far_form():
    found = far_form_distance(FLAT, CURRENT * BALANCED, 1e-6, [0, 0])
    # B = sqrt(3) mu0 I s/(2 pi r^2), Kaune and Zaffanella, IEEE Trans. Power Delivery 7(4), 1992 [M]
    assert found.from_centre_m == pytest.approx(np.sqrt(np.sqrt(3) * K * SPACING / 1e-6), rel=1e-12)
    assert (found.order, found.reach_m) == (1, SPACING)


@pytest.mark.parametrize(
    ("axes", "currents", "order"),
    [
        (FLAT, CURRENT * BALANCED, 1),
        (TREFOIL, CURRENT * BALANCED, 1),
        (TWO, [CURRENT, -CURRENT], 1),
        ([[0.0, 0.0]], [CURRENT], 0),
        # two rows over each other in opposite phase order: the dipoles cancel, the field falls as 1/r^3
        (np.vstack([FLAT, FLAT + np.array([0, 0.15])]), CURRENT * np.concatenate([BALANCED, BALANCED[::-1]]), 2),
    ],
)
def test_far_away_the_closed_form_and_the_search_agree(axes, currents, order):
    rectangle = around(axes, RADIUS)
    at = 20.0  # metres, about a hundred times the reach
    limit = float(lines(axes, currents)(np.array([[at, 0.0]]) + rectangle.centre)[0])
    found = limit_distances(lines(axes, currents), rectangle, limit)
    closed = far_form_distance(axes, currents, limit, rectangle.centre)
    assert closed.order == order
    for side in found.sides:
        # in error by at most reach/r, here 0.13/20
        assert side.from_centre_m == pytest.approx(closed.from_centre_m, rel=closed.reach_m / at + 4e-5)


def test_a_small_net_current_counts_only_where_it_prevails():
    currents = CURRENT * BALANCED + 0.5  # 1.5 A over: at 1 uT 0.3 m, while the dipole reaches 3.7 m
    near, far = (far_form_distance(FLAT, currents, limit, [0, 0]) for limit in (1e-6, 1e-10))
    assert near.order == 1
    assert near.from_centre_m == pytest.approx(np.sqrt(np.sqrt(3) * K * SPACING / 1e-6), rel=1e-3)
    assert far.order == 0
    assert far.from_centre_m == pytest.approx(mu_0 * 1.5 / (2 * np.pi * 1e-10), rel=1e-12)


def test_frequencies_add_as_the_root_of_the_sum_of_squares():
    # both phase sequences: their dipoles turn against each other, and neither is a multiple of the other
    rows = np.array([0.6 * CURRENT * BALANCED, 0.8 * CURRENT * BALANCED[::-1]])
    both = far_form_distance(TREFOIL, rows, 1e-6, [0, 0])
    # B = sqrt(3/2) mu0 I s/(2 pi r^2), P. Pettersson, IEEE Trans. Power Delivery 11(3), 1996 [M]; 0.6^2 + 0.8^2 = 1
    assert both.from_centre_m == pytest.approx(np.sqrt(np.sqrt(1.5) * K * SPACING / 1e-6), rel=1e-12)


def test_no_current_needs_no_distance():
    found = far_form_distance(FLAT, [0, 0, 0], 1e-6, [0, 0])
    assert (found.from_centre_m, found.order) == (0.0, None)
