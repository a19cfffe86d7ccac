"""Conductor sizes against ASTM B258 and the circular-mil column of NEC chapter 9 table 8."""

import math

import pytest

from geometry.sizes import AREAS, CIRCULAR_MIL, INCH, gauge_diameter

# NEC chapter 9 table 8, area in circular mils, confirmed [C]
NEC_CIRCULAR_MILS = {
    "14 AWG": 4110,
    "12 AWG": 6530,
    "10 AWG": 10380,
    "8 AWG": 16510,
    "6 AWG": 26240,
    "4 AWG": 41740,
    "3 AWG": 52620,
    "2 AWG": 66360,
    "1 AWG": 83690,
    "1/0 AWG": 105600,
    "2/0 AWG": 133100,
    "3/0 AWG": 167800,
    "4/0 AWG": 211600,
}


@pytest.mark.parametrize(("name", "circular_mils"), NEC_CIRCULAR_MILS.items())
def test_gauge_areas_are_those_of_the_nec_table(name: str, circular_mils: int) -> None:
    found = AREAS[name] / CIRCULAR_MIL
    # ASTM B258 rounds diameters to 0.1 mil (half of it, times 2d), the table rounds to four figures (half a digit)
    digit = 10 if circular_mils < 1e5 else 100
    assert found == pytest.approx(circular_mils, abs=2 * math.sqrt(found) * 0.05 + digit / 2)


def test_gauge_diameters_meet_both_ends_of_the_astm_rule() -> None:
    # ASTM B258 [C]: 36 AWG is 0.005 in, 4/0 AWG is 0.4600 in, exact by definition
    assert gauge_diameter(36) == pytest.approx(0.005 * INCH, rel=1e-14)
    assert gauge_diameter(-3) == pytest.approx(0.46 * INCH, rel=1e-14)


def test_neighbouring_gauges_differ_by_the_published_ratio() -> None:
    # ASTM B258 [C]: 1.122932, half a unit of the last printed digit
    assert gauge_diameter(9) / gauge_diameter(10) == pytest.approx(1.122932, abs=5e-7)


def test_circular_mil_is_the_published_area() -> None:
    # 5.067075e-4 mm^2 (values from NEC chapter 9 [C]), half a unit of the last printed digit
    area_mm2 = CIRCULAR_MIL * 1e6
    assert area_mm2 == pytest.approx(5.067075e-4, abs=5e-11)


def test_a_kcmil_size_is_its_number_of_circular_mils() -> None:
    assert AREAS["500 kcmil"] == pytest.approx(500e3 * CIRCULAR_MIL, rel=1e-14)
    assert AREAS["500 kcmil"] * 1e6 == pytest.approx(253.354, abs=5e-4)  # 500 000 x 5.067075e-4 mm^2, by hand


def test_metric_sizes_are_their_own_area() -> None:
    assert AREAS["240 mm^2"] == pytest.approx(240e-6, rel=1e-14)
    assert AREAS["1.5 mm^2"] == pytest.approx(1.5e-6, rel=1e-14)


@pytest.mark.parametrize("number", [-4, 41])
def test_a_gauge_outside_the_rule_is_named(number: int) -> None:
    with pytest.raises(ValueError, match=str(number)):
        gauge_diameter(number)
