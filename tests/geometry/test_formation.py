"""Formations and cable radii against geometry done by hand."""

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import Floats
from geometry.cable import CableConstruction
from geometry.formation import flat, flat_with_clear_gap, positions, trefoil

EXACT = 1e-12  # a few roundings of numbers below 1 m
D = 0.025


def distances(axes: Floats) -> list[float]:
    return sorted(math.dist(a, b) for a, b in itertools.combinations(axes, 2))


def test_flat_cables_lie_at_the_spacing_about_the_middle() -> None:
    axes = flat(3, 0.056, D, (0.1, -0.2))
    assert axes == pytest.approx(np.array([[0.044, -0.1875], [0.1, -0.1875], [0.156, -0.1875]]), abs=EXACT)


def test_an_even_number_of_flat_cables_straddles_the_middle() -> None:
    assert flat(2, 0.06, D)[:, 0] == pytest.approx([-0.03, 0.03], abs=EXACT)


def test_a_clear_gap_of_one_diameter_puts_axes_two_diameters_apart() -> None:
    # common practice, no source: flat at one clear diameter has axis distances 2D, 2D, 4D
    assert distances(flat_with_clear_gap(3, D, D)) == pytest.approx([2 * D, 2 * D, 4 * D], abs=EXACT)


def test_touching_trefoil_is_an_equilateral_triangle_of_one_diameter() -> None:
    axes = trefoil(1, D, (0.3, 0.1))
    assert distances(axes) == pytest.approx([D, D, D], abs=EXACT)
    assert axes.mean(axis=0)[0] == pytest.approx(0.3, abs=EXACT)


def test_trefoil_order_is_left_right_top() -> None:
    left, right, top = trefoil(1, D)
    assert left[0] < top[0] < right[0]
    assert left[1] == right[1] < top[1]


def test_trefoil_with_a_spacing_is_an_equilateral_triangle_of_that_spacing() -> None:
    assert distances(trefoil(1, D, spacing=0.04)) == pytest.approx([0.04, 0.04, 0.04], abs=EXACT)


@pytest.mark.parametrize("spacing", [None, 0.04])
def test_trefoil_groups_have_the_clear_gap_between_their_outer_circles(spacing: float | None) -> None:
    gap = 2.15 * D
    axes = trefoil(2, D, (0.5, 0.0), spacing=spacing, group_clear_gap=gap)
    first, second = axes[:3], axes[3:]
    clear = (second[:, 0].min() - D / 2) - (first[:, 0].max() + D / 2)
    assert clear == pytest.approx(gap, abs=EXACT)
    assert axes[:, 0].mean() == pytest.approx(0.5, abs=EXACT)


@pytest.mark.parametrize(
    "axes",
    [
        flat(1, 0.1, D, (0.2, 0.7)),
        flat(4, 0.1, D, (0.2, 0.7)),
        flat_with_clear_gap(3, 0.0, D, (0.2, 0.7)),
        trefoil(3, D, (0.2, 0.7), group_clear_gap=0.01),
    ],
)
def test_every_formation_rests_on_its_point(axes: Floats) -> None:
    assert axes[:, 1].min() - D / 2 == pytest.approx(0.7, abs=EXACT)
    assert (axes[:, 0].min() + axes[:, 0].max()) / 2 == pytest.approx(0.2, abs=EXACT)


def test_positions_keep_their_order() -> None:
    points = [(0.3, 0.1), (-0.2, 0.0)]
    assert positions(points).tolist() == [[0.3, 0.1], [-0.2, 0.0]]


@pytest.mark.parametrize(
    ("build", "named"),
    [
        (lambda: flat(0, 0.1, D), "at least one"),
        (lambda: flat(3, 0.0, D), "spacing"),
        (lambda: flat(3, math.nan, D), "spacing"),
        (lambda: flat(3, 0.1, -D), "diameter"),
        (lambda: flat(3, 0.1, D, (math.inf, 0.0)), "finite coordinates"),
        (lambda: flat_with_clear_gap(3, -0.01, D), "clear_gap"),
        (lambda: trefoil(0, D), "at least one"),
        (lambda: trefoil(2, D, group_clear_gap=-1e-3), "group_clear_gap"),
        (lambda: positions([]), "at least one"),
    ],
)
def test_an_impossible_formation_is_named(build: Callable[[], object], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        build()


def test_cable_layers_add_up_from_the_inside_out() -> None:
    cable = CableConstruction(0.009, 0.0017, 0.0002, 0.0018)
    assert cable.screen_inner_radius == pytest.approx(0.0107, abs=EXACT)
    assert cable.tubes["screen"] == pytest.approx((0.0107, 0.0109), abs=EXACT)
    assert cable.outer_radius == pytest.approx(0.0127, abs=EXACT)
    assert cable.diameter == pytest.approx(0.0254, abs=EXACT)


@pytest.mark.parametrize(
    ("layers", "named"),
    [
        ((0.0, 0.001), "conductor_radius"),
        ((0.009, 0.0), "insulation_thickness"),
        ((0.009, 0.001, -1e-4), "screen_thickness"),
        ((0.009, 0.001, 0.0, math.nan), "jacket_thickness"),
    ],
)
def test_an_impossible_layer_is_named(layers: tuple[float, ...], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        CableConstruction(*layers)
