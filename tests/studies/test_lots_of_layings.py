"""How layings are drawn, and which tolerances are refused."""

from __future__ import annotations

import numpy as np
import pytest

from fem.arrays import Complexes
from studies.answers.laying.compute import percentile_with_error
from studies.answers.laying.lot import lot_of, scattered_currents
from studies.answers.laying.packing import ground_of
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.test_laying_tolerance import BUNDLE, TREFOIL


def test_the_same_seed_gives_the_same_layings_and_another_one_others() -> None:
    drawn = [cross_section(loads(TREFOIL.replace("ASKED", 'across = "3 mm"')))] * 3
    texts = ('across = "3 mm"', 'across = "3 mm"\ncurrent = "2 %"', 'across = "3 mm"\nseed = 2')
    studies = [loads(TREFOIL.replace("ASKED", text)) for text in texts]
    lots = [lot_of(study, section).layings((), 5) for study, section in zip(studies, drawn, strict=True)]
    moves = [lot_of(study, section).layings(None, 5).moves for study, section in zip(studies, drawn, strict=True)]
    assert all(lot is not None and not lot.moves.any() for lot in lots)
    assert np.array_equal(moves[0], moves[1])  # what else is spread moves nothing
    assert not np.allclose(moves[0], moves[2])


def test_cables_stay_beside_each_other_and_above_what_bears_them() -> None:
    section = cross_section(loads(BUNDLE.replace("ASKED", 'across = "3 mm"')))
    ground = ground_of(section, 4e-3)
    draw = np.random.default_rng(3)
    wanted = 4e-3 * (draw.standard_normal((400, 6)) + 1j * draw.standard_normal((400, 6)))
    places = ground.axes + ground.packed(wanted.astype(np.complex128))
    radius = section.cables[0].layers.outer_radius
    assert places.imag.min() > radius - 2e-5  # the floor is at y = 0
    assert np.abs(places.real).max() < 0.1 - radius + 2e-5  # the walls
    apart = np.abs(places[:, :, None] - places[:, None, :]) + np.eye(6)
    assert apart.min() > 2 * radius - 2e-5
    assert np.abs(places.imag - wanted.imag - radius).min() < 1e-9  # some that have room go where they are sent


def test_cables_of_a_cleat_move_as_one_and_rest_on_the_tray_with_their_play_besides() -> None:
    text = BUNDLE.replace(
        'arrangement = "flat"\nclear_gap = "0 mm"', 'arrangement = "trefoil"\ngroup_clear_gap = "4 mm"'
    )
    asked = 'across = "3 mm"\nup = "3 mm"\nheld = "cleats"'

    def axes(more: str) -> tuple[Complexes, float]:
        study = loads(text.replace("ASKED", asked + more).replace('"40 mm"', '"60 mm"'))
        section = cross_section(study)
        drawn = np.array([complex(*cable.axis) for cable in section.cables])
        return drawn + lot_of(study, section).layings().moves, section.cables[0].layers.outer_radius

    places, radius = axes("")
    for first in (0, 3):  # each trefoil as drawn, touching
        sides = np.abs(places[:, first : first + 3] - np.roll(places[:, first : first + 3], 1, axis=1))
        assert sides == pytest.approx(np.full(sides.shape, 2 * radius), rel=1e-9)
    assert np.std(places[:, 1] - places[:, 3]) > 2e-3  # the two move by themselves
    loose, _ = axes('\nwithin = "0.5 mm"')
    middles = loose.reshape(-1, 2, 3).mean(axis=2)
    assert np.std(middles - places.reshape(-1, 2, 3).mean(axis=2)) < 1e-3  # of the same cleats
    for own in (places, loose):
        assert own.imag.min() > radius - 2e-5  # the floor
        apart = np.abs(own[:, :, None] - own[:, None, :]) + np.eye(6)
        assert apart.min() > 2 * radius - 2e-5
    assert np.abs(loose[:, 0] - loose[:, 1]).max() > 2 * radius + 1e-3


def test_scattered_currents_of_a_circuit_keep_their_sum() -> None:
    section = cross_section(loads(TREFOIL.replace("ASKED", 'current = "2 %"')))
    factors = 1 + 0.1 * np.random.default_rng(1).standard_normal((50, 3)) * np.exp(0.3j)
    assert np.abs(scattered_currents(section, factors, "section").sum(axis=1)).max() < 1e-12 * 100
    assert np.abs(scattered_currents(section, factors, "far").sum(axis=1)).max() > 1


def test_the_error_of_a_percentile_holds_it_in_95_of_100_lots() -> None:
    exact = 1.6448536269514722  # of the standard normal distribution, tables [M]
    found = [percentile_with_error(np.sort(np.random.default_rng(k).standard_normal(1000))) for k in range(300)]
    held = sum(abs(value - exact) <= error for value, error in found)
    assert 0.90 < held / 300 <= 1.0


@pytest.mark.parametrize(
    ("asked", "wrong"),
    [
        ("seed = 3", "spreads nothing"),
        ('permeability = "20 %"', "is of trays and metalwork, the study has none"),
        ('across = "25 mm"', "is larger than the clear gap between F1.1 and F1.2"),
        ('across = "3"', "is a number without a unit"),
        ('across = "3 mm"\nheld = "tightly"', "is no known hold of the cables"),
        ('across = "3 mm"\nwithin = "1 mm"', "is of cables in cleats"),
        ('within = "25 mm"\nheld = "cleats"', "is larger than the clear gap between F1.1 and F1.3"),
        ('across = "3 mm"\nsamples = 20', "is outside 200 to 100000"),
        ('temperature = "10 degC"', "of a temperature, not of a difference of two"),
    ],
)
def test_a_tolerance_that_cannot_be_is_refused(asked: str, wrong: str) -> None:
    with pytest.raises(StudyError) as refused:
        cross_section(loads(TREFOIL.replace("ASKED", asked)))
    assert wrong in str(refused.value)


def test_a_spread_above_the_radius_of_touching_cables_is_refused() -> None:
    with pytest.raises(StudyError) as refused:
        cross_section(loads(BUNDLE.replace("ASKED", 'up = "30 mm"')))
    assert "is larger than the radius of F1.1, which touches" in str(refused.value)


def test_the_permeability_of_steel_that_saturates_is_not_spread() -> None:
    text = BUNDLE.replace("ASKED", 'permeability = "20 %"').replace("mild-steel", "galvanised-steel-saturating")
    with pytest.raises(StudyError) as refused:
        cross_section(loads(text))
    assert "the permeability of T1 follows from its curve: the steel saturates" in str(refused.value)
