"""Voltages of screens along a run: single-point bonding and cross-bonding."""

from __future__ import annotations

import numpy as np
import pytest

from studies.answers.route.profile import standing_voltages
from studies.section.lines import RunSection, SectionMaps, route_of
from studies.section.run_parts import line_state
from studies.section.turning import turned
from studies.study.phases import LINES
from tests.studies.test_route import FLAT, SOLID, TREFOIL, line_maps

CURRENTS = {("F1", phase): 400 * np.exp(-2j * np.pi / 3 * k) for k, phase in enumerate(LINES)}
SCREENS = ("F1", "screen")
THIRDS = (100.0, 100.0, 100.0)


@pytest.fixture(scope="module")
def flat() -> SectionMaps:
    return line_maps(FLAT, layers=("screen",))


@pytest.fixture(scope="module")
def trefoil() -> SectionMaps:
    return line_maps(TREFOIL, layers=("screen",))


def test_single_point_voltage_is_the_published_form(trefoil: SectionMaps) -> None:
    profile = standing_voltages(route_of([RunSection(200.0, trefoil)], CURRENTS))
    # E = 2 w 1e-7 ln(2 s/d) I per metre, trefoil [C]; s = 40 mm, d = 29.88 mm the mean diameter of the screen
    mean_diameter = 2 * (np.sqrt(240e-6 / np.pi) + 6e-3 + 0.1e-3)
    expected = 200 * 400 * 2 * np.pi * 50 * 2e-7 * np.log(2 * 0.04 / mean_diameter)
    assert np.abs(profile.potentials[-1]) == pytest.approx(np.full(3, expected), rel=1e-9)
    assert np.abs(profile.potentials[0]) == pytest.approx(np.zeros(3), abs=1e-12)
    value, where, line = profile.largest()
    assert (value, where) == pytest.approx((expected, 200.0), rel=1e-9)
    assert line.endswith("screen")


def test_earthing_in_the_middle_halves_the_voltage(flat: SectionMaps) -> None:
    route = route_of([RunSection(200.0, flat)], CURRENTS)
    ends, middle = standing_voltages(route).largest()[0], standing_voltages(route, earthed_at=100.0).largest()[0]
    assert middle == pytest.approx(ends / 2, rel=1e-12)
    assert np.abs(standing_voltages(route, earthed_at=100.0).at(100.0)).max() < 1e-9
    with pytest.raises(ValueError, match="earthed_at"):
        standing_voltages(route, earthed_at=201.0)
    with pytest.raises(ValueError, match="armour"):
        standing_voltages(route, "armour")


def test_cross_bonded_thirds_cancel_in_trefoil(trefoil: SectionMaps) -> None:
    run_sections = [RunSection(length, trefoil, turns={SCREENS: k}) for k, length in enumerate(THIRDS)]
    profile = standing_voltages(route_of(run_sections, CURRENTS))
    first = np.abs(profile.potentials[1])
    assert np.abs(profile.potentials[-1]).max() < 1e-9 * first.max()  # three equal voltages, 120 degrees apart
    assert np.abs(profile.potentials[2]) == pytest.approx(first, rel=1e-9)
    # no voltage is left to drive a current when the ends are joined
    bonded = line_state(route_of(run_sections, CURRENTS, SOLID)).currents[0, 3:]
    assert np.abs(bonded).max() < 1e-9 * 400
    # without the turns a current circulates
    assert np.abs(line_state(route_of([RunSection(300.0, trefoil)], CURRENTS, SOLID)).currents[0, 3:]).min() > 10


def test_in_flat_formation_cancelling_needs_transposed_cables_and_screens_that_keep_their_place(
    flat: SectionMaps,
) -> None:
    def left(turns: tuple[int, int, int], transposed: bool) -> float:
        run_sections = [
            RunSection(length, flat, {"F1": turned(LINES, k)} if transposed else {}, {SCREENS: turn})
            for k, (length, turn) in enumerate(zip(THIRDS, turns, strict=True))
        ]
        profile = standing_voltages(route_of(run_sections, CURRENTS))
        return float(np.abs(profile.potentials[-1]).max() / np.abs(profile.potentials[1]).max())

    assert left((0, -1, -2), transposed=True) < 1e-12  # each screen keeps its place, the phases pass by it
    # Z between a place and the phases is not the same for the three places: something is left otherwise
    assert left((0, 1, 2), transposed=True) > 0.1
    assert left((0, 1, 2), transposed=False) > 0.1
    assert left((0, 0, 0), transposed=True) > 1


def test_unequal_minor_sections_leave_their_difference(trefoil: SectionMaps) -> None:
    run_sections = [RunSection(length, trefoil, turns={SCREENS: k}) for k, length in enumerate((100.0, 100.0, 130.0))]
    profile = standing_voltages(route_of(run_sections, CURRENTS))
    single = np.abs(profile.potentials[1]) / 100
    assert np.abs(profile.potentials[-1]) == pytest.approx(30 * single, rel=1e-9)
    circulating = np.abs(line_state(route_of(run_sections, CURRENTS, SOLID)).currents[0, 3:])
    solid = np.abs(line_state(route_of([RunSection(330.0, trefoil)], CURRENTS, SOLID)).currents[0, 3:])
    # 30 of 330 m drive it; the whole run limits it
    assert circulating == pytest.approx(solid * 30 / 330, rel=0.02)
