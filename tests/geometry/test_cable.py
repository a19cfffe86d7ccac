"""Cables with several layers of metal."""

from itertools import pairwise

import pytest

from geometry.cable import TUBES, CableConstruction

EXACT = 1e-15  # sums of a few millimetres


def test_layers_follow_each_other_from_the_inside_out() -> None:
    cable = CableConstruction(0.010, 0.005, 0.0002, 0.003, 0.0008, 0.002, 0.001, 0.0025)
    assert list(cable.layers) == [
        *("conductor", "insulation", "screen", "separation", "sheath", "bedding", "armour", "jacket")
    ]
    radii = list(cable.layers.values())
    assert radii[0] == (0, 0.010)
    assert all(outer == inner for (_, outer), (inner, _) in pairwise(radii))
    assert tuple(cable.tubes) == TUBES
    assert cable.tubes["sheath"] == pytest.approx((0.016, 0.018), abs=EXACT)
    assert cable.outer_radius == pytest.approx(0.0245, abs=EXACT)
    assert cable.diameter == pytest.approx(0.049, abs=EXACT)


def test_the_screen_is_the_tube_of_that_name() -> None:
    cable = CableConstruction(0.010, 0.005, 0.0002, 0.003, 0.0008, 0.002)
    assert cable.screen_inner_radius == pytest.approx(0.015, abs=EXACT)
    assert cable.tubes["screen"] == pytest.approx((0.015, 0.0152), abs=EXACT)


def test_a_cable_without_metal_around_it_has_no_tubes() -> None:
    assert CableConstruction(0.010, 0.005, jacket_thickness=0.001).tubes == {}


@pytest.mark.parametrize(
    ("layers", "names"),
    [
        ({"screen_thickness": 1e-4, "sheath_thickness": 1e-3}, "sheath and screen touch"),
        ({"sheath_thickness": 1e-3, "armour_thickness": 1e-3}, "armour and sheath touch"),
        ({"screen_thickness": 1e-4, "armour_thickness": 1e-3, "separation_thickness": 0.0}, "armour and screen touch"),
        ({"sheath_thickness": -1e-3}, "sheath_thickness"),
        ({"bedding_thickness": float("nan")}, "bedding_thickness"),
        ({"armour_thickness": float("inf")}, "armour_thickness"),
    ],
)
def test_tubes_that_touch_and_lengths_that_are_none_are_refused(layers: dict[str, float], names: str) -> None:
    with pytest.raises(ValueError, match=names):
        CableConstruction(0.010, 0.005, **layers)
