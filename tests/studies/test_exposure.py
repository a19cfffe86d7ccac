"""Exposure indices against sums done by hand."""

import numpy as np
import pytest

from studies.data.exposure import exposure_index

ROUNDING = 1e-12
# ICNIRP 2010 public [C]: 200 uT from 25 to 400 Hz, 0.08/f T above: 550 Hz 145.4545 uT
SPECTRUM = [(50.0, 100e-6, 2e-6), (150.0, 40e-6, 1e-6), (550.0, 16e-6, 0.8e-6)]


def test_the_index_is_the_sum_of_field_over_level():
    exposure = exposure_index(SPECTRUM, "ICNIRP 2010 public")
    ratios = [0.5, 0.2, 16 * 550 / 80e3]  # the last 0.11
    assert [term.ratio for term in exposure.terms] == pytest.approx(ratios, rel=ROUNDING)
    assert exposure.index == pytest.approx(0.81, rel=ROUNDING)
    # errors add as if they pointed the same way: 2/200 + 1/200 + 0.8 * 550/80e3
    assert exposure.error == pytest.approx(0.01 + 0.005 + 0.0055, rel=ROUNDING)
    assert exposure.set_name == "ICNIRP 2010 public"
    assert not exposure.over


def test_the_root_of_squares_stands_beside_the_index_and_is_smaller():
    exposure = exposure_index(SPECTRUM, "ICNIRP 2010 public")
    assert exposure.root_sum_square == pytest.approx((0.25 + 0.04 + 0.0121) ** 0.5, rel=ROUNDING)
    expected = (0.5 * 0.01 + 0.2 * 0.005 + 0.11 * 0.0055) / exposure.root_sum_square
    assert exposure.root_sum_square_error == pytest.approx(expected, rel=ROUNDING)
    assert exposure.root_sum_square < exposure.index


def test_fields_each_under_their_level_can_be_over_together():
    # ICNIRP 1998 public: 100 uT at 50 Hz [C], 5/f uT with f in kHz [M]: 33.3 uT at 150 Hz
    exposure = exposure_index([(50.0, 70e-6, 0.0), (150.0, 20e-6, 0.0)], "ICNIRP 1998 public")
    assert exposure.index == pytest.approx(0.7 + 0.6, rel=ROUNDING)
    assert all(term.ratio < 1 for term in exposure.terms)
    assert exposure.root_sum_square < 1
    assert exposure.over


def test_the_error_estimate_counts_towards_the_limit():
    level = 200e-6
    assert not exposure_index([(50.0, 0.99 * level, 0.009 * level)], "ICNIRP 2010 public").over
    assert exposure_index([(50.0, 0.99 * level, 0.011 * level)], "ICNIRP 2010 public").over
    assert not exposure_index([(50.0, level, 0.0)], "ICNIRP 2010 public").over


UNRESTRICTED = "IEEE C95.1-2019 unrestricted head and torso"


def test_each_term_carries_the_source_and_mark_of_its_level():
    terms = exposure_index([(50.0, 1e-6, 0.0), (150.0, 1e-6, 0.0), (850.0, 1e-6, 0.0)], UNRESTRICTED).terms
    assert [term.level.mark for term in terms] == ["C", "D", "M"]
    assert [term.frequency_hz for term in terms] == [50.0, 150.0, 850.0]
    assert [term.level.value_t for term in terms] == pytest.approx([0.904e-3, 0.904e-3, 0.687 / 850], rel=ROUNDING)


def test_no_field_is_no_exposure_but_its_error_stays():
    exposure = exposure_index([(50.0, 0.0, 2e-6), (150.0, 0.0, 0.0)], "ICNIRP 2010 public")
    assert (exposure.index, exposure.root_sum_square) == (0.0, 0.0)
    assert exposure.error == pytest.approx(0.01, rel=ROUNDING)
    assert exposure.root_sum_square_error == pytest.approx(0.01, rel=ROUNDING)


def test_a_harmonic_that_the_set_does_not_cover_is_refused_not_left_out():
    with pytest.raises(ValueError, match=r"says nothing at 3050 Hz; it covers 10\.7 Hz to 3 kHz"):
        exposure_index([(50.0, 1e-6, 0.0), (3050.0, 1e-9, 0.0)], "IEEE C95.1-2019 limbs")
    with pytest.raises(ValueError, match="says nothing at 150 Hz"):
        exposure_index([(50.0, 1e-6, 0.0), (150.0, 1e-9, 0.0)], "IEC 61000-4-8 level 3")


@pytest.mark.parametrize("wrong", [(50.0, -1e-6, 0.0), (50.0, np.nan, 0.0), (50.0, 1e-6, -1e-9), (50.0, np.inf, 0.0)])
def test_what_is_no_magnitude_is_refused(wrong):
    with pytest.raises(ValueError, match="must be finite and 0 or above"):
        exposure_index([wrong], "ICNIRP 2010 public")


def test_an_empty_spectrum_is_refused():
    with pytest.raises(ValueError, match="spectrum is empty"):
        exposure_index([], "ICNIRP 2010 public")
