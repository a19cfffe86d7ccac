"""Reference levels against the numbers of the documents, their marks, and the way their laws join."""

import math
from itertools import pairwise

import pytest

from studies.data.reference_levels import LEVEL_SETS, MARKS, level_set, reference_level, right_name

# [C] confirmed in a public text, [M] from memory, [D] derived; rms flux density [T]
ICNIRP_2010 = [  # ICNIRP 2010, Health Physics 99(6), reference levels for the magnetic field [C]
    ("ICNIRP 2010 public", 1, 0.04),
    ("ICNIRP 2010 public", 2, 0.01),
    ("ICNIRP 2010 public", 16, 3.125e-4),
    ("ICNIRP 2010 public", 30, 200e-6),
    ("ICNIRP 2010 public", 50, 200e-6),
    ("ICNIRP 2010 public", 60, 200e-6),
    ("ICNIRP 2010 public", 350, 200e-6),
    ("ICNIRP 2010 public", 800, 100e-6),
    ("ICNIRP 2010 public", 20e3, 27e-6),
    ("ICNIRP 2010 public", 10e6, 27e-6),
    ("ICNIRP 2010 occupational", 1, 0.2),
    ("ICNIRP 2010 occupational", 4, 0.0125),
    ("ICNIRP 2010 occupational", 10, 2.5e-3),
    ("ICNIRP 2010 occupational", 50, 1e-3),
    ("ICNIRP 2010 occupational", 60, 1e-3),
    ("ICNIRP 2010 occupational", 600, 0.5e-3),
    ("ICNIRP 2010 occupational", 5e3, 0.1e-3),
]
PUBLIC_1998 = [  # ICNIRP 1998, p. 511: 40 000, 40 000/f^2, 5000/f, 5/f (kHz), 6.25, 0.92/f (MHz) uT [C]
    (0.1, 0.04),
    (0.999, 0.04),
    (1, 0.04),
    (1.001, 0.039920119),
    (2, 0.01),
    (7.99, 626.5654e-6),
    (8.01, 624.220e-6),
    (16.7, 299.401e-6),
    (24.9, 200.803e-6),
    (25.1, 199.203e-6),
    (50, 100e-6),
    (60, 83.3333e-6),
    (100, 50e-6),
    (250, 20e-6),
    (799, 6.25782e-6),
    (801, 6.25e-6),
    (850, 6.25e-6),
    (2999, 6.25e-6),
    (3001, 6.25e-6),
    (149e3, 6.25e-6),
    (151e3, 6.09272e-6),
    (0.99e6, 0.929293e-6),
    (1.01e6, 0.910891e-6),
    (10e6, 0.092e-6),
]
CONFIRMED = [
    *ICNIRP_2010,
    *(("ICNIRP 1998 public", frequency, value) for frequency, value in PUBLIC_1998),
    *(("EU 1999/519/EC public", frequency, value) for frequency, value in PUBLIC_1998),  # the same by identity [C]
    # ICNIRP 1998: 2e5, 2e5/f^2, 2.5e4/f, 25/f (kHz), 30.7, 2000/f (kHz), 2/f (MHz) uT [C]
    ("ICNIRP 1998 occupational", 0.5, 0.2),
    ("ICNIRP 1998 occupational", 1.01, 0.196059),
    ("ICNIRP 1998 occupational", 4, 12.5e-3),
    ("ICNIRP 1998 occupational", 7.99, 3.132827e-3),
    ("ICNIRP 1998 occupational", 8.01, 3.12110e-3),
    ("ICNIRP 1998 occupational", 16.7, 1.497006e-3),
    ("ICNIRP 1998 occupational", 24.9, 1.004016e-3),
    ("ICNIRP 1998 occupational", 25.1, 0.996016e-3),
    ("ICNIRP 1998 occupational", 50, 500e-6),
    ("ICNIRP 1998 occupational", 250, 100e-6),
    ("ICNIRP 1998 occupational", 819, 30.52503e-6),
    ("ICNIRP 1998 occupational", 821, 30.7e-6),
    ("ICNIRP 1998 occupational", 850, 30.7e-6),
    ("ICNIRP 1998 occupational", 64e3, 30.7e-6),
    ("ICNIRP 1998 occupational", 66e3, 30.30303e-6),
    ("ICNIRP 1998 occupational", 99e3, 20.20202e-6),
    ("ICNIRP 1998 occupational", 0.5e6, 4e-6),
    ("ICNIRP 1998 occupational", 10e6, 0.2e-6),
    # Directive 2013/35/EU, table B2: low 2e5/f^2, 2.5e4/f, 1000, 3e5/f, 100; high 3e5/f, 100; limbs 9e5/f, 300 uT [C]
    ("EU 2013/35/EU low action", 1, 0.2),
    ("EU 2013/35/EU low action", 5, 8e-3),
    ("EU 2013/35/EU low action", 7.99, 3.132827e-3),
    ("EU 2013/35/EU low action", 8.01, 3.12110e-3),
    ("EU 2013/35/EU low action", 16.7, 1.497006e-3),
    ("EU 2013/35/EU low action", 24.9, 1.004016e-3),
    ("EU 2013/35/EU low action", 25.1, 1e-3),
    ("EU 2013/35/EU low action", 50, 1e-3),
    ("EU 2013/35/EU low action", 250, 1e-3),
    ("EU 2013/35/EU low action", 299, 1e-3),
    ("EU 2013/35/EU low action", 301, 0.996678e-3),
    ("EU 2013/35/EU low action", 850, 352.9412e-6),
    ("EU 2013/35/EU low action", 2999, 100.03334e-6),
    ("EU 2013/35/EU low action", 3001, 100e-6),
    ("EU 2013/35/EU low action", 10e6, 100e-6),
    ("EU 2013/35/EU high action", 1, 0.3),
    ("EU 2013/35/EU high action", 16.7, 17.96407e-3),
    ("EU 2013/35/EU high action", 50, 6e-3),
    ("EU 2013/35/EU high action", 250, 1.2e-3),
    ("EU 2013/35/EU high action", 850, 352.9412e-6),
    ("EU 2013/35/EU high action", 2999, 100.03334e-6),
    ("EU 2013/35/EU high action", 3001, 100e-6),
    ("EU 2013/35/EU limbs", 1, 0.9),
    ("EU 2013/35/EU limbs", 16.7, 53.89222e-3),
    ("EU 2013/35/EU limbs", 50, 18e-3),
    ("EU 2013/35/EU limbs", 250, 3.6e-3),
    ("EU 2013/35/EU limbs", 850, 1.0588235e-3),
    ("EU 2013/35/EU limbs", 2999, 300.1e-6),
    ("EU 2013/35/EU limbs", 3001, 300e-6),
    # IEEE C95.6-2002 / C95.1-2019 at 50 and 60 Hz, and 18.1/f mT below 20 Hz [C]
    ("IEEE C95.1-2019 unrestricted head and torso", 16.7, 1.083832e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 19.9, 0.909548e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 50, 0.904e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 60, 0.904e-3),
    ("IEEE C95.1-2019 restricted head and torso", 50, 2.71e-3),
    ("IEEE C95.1-2019 restricted head and torso", 60, 2.71e-3),
    ("IEEE C95.1-2019 limbs", 50, 75.8e-3),
    ("IEEE C95.1-2019 limbs", 60, 63.2e-3),
]
FROM_MEMORY = [  # IEEE C95.1-2019: 54.3/f mT below 20 Hz; 687/f and 2060/f mT from 759 Hz on [M]
    ("IEEE C95.1-2019 restricted head and torso", 16.7, 3.251497e-3),
    ("IEEE C95.1-2019 restricted head and torso", 19.9, 2.728643e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 760, 0.903947e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 850, 0.8082353e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 3e3, 0.229e-3),
    ("IEEE C95.1-2019 restricted head and torso", 761, 2.706965e-3),
    ("IEEE C95.1-2019 restricted head and torso", 850, 2.4235294e-3),
    ("IEEE C95.1-2019 restricted head and torso", 3e3, 0.686667e-3),
]
DERIVED = [  # flat from 20 to 759 Hz, and 3790/f mT from the levels at 50 and 60 Hz [D]
    ("IEEE C95.1-2019 unrestricted head and torso", 20.1, 0.904e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 250, 0.904e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 758, 0.904e-3),
    ("IEEE C95.1-2019 restricted head and torso", 20.1, 2.71e-3),
    ("IEEE C95.1-2019 restricted head and torso", 250, 2.71e-3),
    ("IEEE C95.1-2019 restricted head and torso", 758, 2.71e-3),
    ("IEEE C95.1-2019 limbs", 10.7, 354.20561e-3),
    ("IEEE C95.1-2019 limbs", 16.7, 226.94611e-3),
    ("IEEE C95.1-2019 limbs", 250, 15.16e-3),
    ("IEEE C95.1-2019 limbs", 3e3, 1.263333e-3),
]
FIELD_STRENGTHS = [  # [A/m] IEC 61000-4-8 continuous: 1 to 30 A/m [C], 100 A/m [M]; IEC 60601-1-2 [C]
    ("IEC 61000-4-8 level 1", 1, "C"),
    ("IEC 61000-4-8 level 2", 3, "C"),
    ("IEC 61000-4-8 level 3", 10, "C"),
    ("IEC 61000-4-8 level 4", 30, "C"),
    ("IEC 61000-4-8 level 5", 100, "M"),
    ("IEC 60601-1-2 (2014)", 30, "C"),
    ("IEC 60601-1-2 (2007)", 3, "C"),
]
NUMBERS = [
    *((name, frequency, value, "C") for name, frequency, value in CONFIRMED),
    *((name, frequency, value, "M") for name, frequency, value in FROM_MEMORY),
    *((name, frequency, value, "D") for name, frequency, value in DERIVED),
]


@pytest.mark.parametrize(("name", "frequency", "value", "mark"), NUMBERS)
def test_a_level_is_the_number_of_its_document_with_its_mark(name, frequency, value, mark):
    level = reference_level(name, frequency)
    assert level.value_t == pytest.approx(value, rel=2e-6)  # six digits or more, written by hand
    assert level.mark == mark
    assert level.note.endswith(("named, not read", "not read either")) == (mark == "M")
    assert level.source == LEVEL_SETS[name].source


@pytest.mark.parametrize(("name", "strength", "mark"), FIELD_STRENGTHS)
@pytest.mark.parametrize("frequency", [50, 60])
def test_an_immunity_level_is_its_field_strength_times_mu0(name, strength, mark, frequency):
    level = reference_level(name, frequency)
    # mu0 = 4 pi 1e-7 to 1e-9; 1 A/m = 1.2566 uT [D]
    assert level.value_t == pytest.approx(strength * 4e-7 * math.pi, rel=1e-8)
    assert level.mark == mark
    assert f"{strength} A/m times mu0" in level.note


def test_the_recommendation_of_1999_says_that_its_law_is_confirmed_by_identity_alone():
    note = reference_level("EU 1999/519/EC public", 50).note
    assert "by identity with ICNIRP 1998" in note
    assert "was not read" in note


@pytest.mark.parametrize("name", [name for name in LEVEL_SETS if "IEC" not in name])
def test_every_piece_of_a_law_is_held_against_a_number_of_its_own(name):
    for piece in LEVEL_SETS[name].pieces:
        inside = [frequency for own, frequency, *_ in NUMBERS if own == name and piece.covers(frequency)]
        assert inside, (piece.low_hz, piece.high_hz)


def test_thirty_amperes_per_metre_are_the_published_microtesla():
    # 30 A/m = 37.7 uT [D], half the last digit
    assert reference_level("IEC 60601-1-2 (2014)", 50).value_t == pytest.approx(37.7e-6, abs=0.05e-6)


def test_the_levels_of_1998_at_60_hz_are_the_published_rounded_ones():
    # ICNIRP 1998 at 60 Hz: 416.7 and 83.3 uT, half the last digit
    assert reference_level("ICNIRP 1998 occupational", 60).value_t == pytest.approx(416.7e-6, abs=0.05e-6)
    assert reference_level("ICNIRP 1998 public", 60).value_t == pytest.approx(83.3e-6, abs=0.05e-6)


def test_the_confirmed_values_lie_on_the_law_around_them():
    count = 0
    for level_set_ in LEVEL_SETS.values():
        for single in level_set_.pieces:
            for law in level_set_.pieces:
                if single.low_hz == single.high_hz and law.low_hz < single.low_hz < law.high_hz:
                    # 63.2 mT is printed where 3790/60 is 63.17: half the last digit
                    assert single.value(single.low_hz) == pytest.approx(law.value(single.low_hz), abs=0.05e-3)
                    count += 1
    assert count == 6


def joints():
    for level_set_ in LEVEL_SETS.values():
        laws = [piece for piece in level_set_.pieces if piece.low_hz < piece.high_hz]
        yield from ((level_set_.name, low, high) for low, high in pairwise(laws))


ROUNDED = {  # documents round at these joints: the level below, that above [T]
    ("ICNIRP 2010 public", 3e3): (80e-6 / 3, 27e-6),
    ("ICNIRP 1998 public", 150e3): (6.25e-6, 6.133333e-6),
    ("EU 1999/519/EC public", 150e3): (6.25e-6, 6.133333e-6),
    ("ICNIRP 1998 occupational", 820): (30.487805e-6, 30.7e-6),
    ("ICNIRP 1998 occupational", 65e3): (30.7e-6, 30.769231e-6),
    ("IEEE C95.1-2019 unrestricted head and torso", 20): (0.905e-3, 0.904e-3),
    ("IEEE C95.1-2019 unrestricted head and torso", 759): (0.904e-3, 0.905138e-3),
    ("IEEE C95.1-2019 restricted head and torso", 20): (2.715e-3, 2.71e-3),
    ("IEEE C95.1-2019 restricted head and torso", 759): (2.71e-3, 2.714097e-3),
}


@pytest.mark.parametrize(("name", "low", "high"), [*joints()])
def test_laws_join_without_gap_at_one_level_and_the_smaller_one_holds(name, low, high):
    assert low.high_hz == high.low_hz
    below, above = low.value(low.high_hz), high.value(high.low_hz)
    if (name, low.high_hz) in ROUNDED:
        assert (below, above) == pytest.approx(ROUNDED[name, low.high_hz], rel=1e-6)
    else:
        assert below == pytest.approx(above, rel=1e-12)
    assert reference_level(name, low.high_hz).value_t <= min(below, above) * (1 + 1e-12)


def test_levels_never_rise_with_frequency_but_at_rounded_joints():
    for level_set_ in LEVEL_SETS.values():
        for piece in level_set_.pieces:
            assert piece.power >= 0
            assert piece.coefficient > 0
            assert 0 <= piece.low_hz <= piece.high_hz
            assert piece.low_hz > 0 or piece.power == 0
            assert piece.mark in MARKS


def test_every_set_is_there_under_the_name_a_user_writes():
    assert list(LEVEL_SETS) == [
        "ICNIRP 2010 public",
        "ICNIRP 2010 occupational",
        "ICNIRP 1998 public",
        "ICNIRP 1998 occupational",
        "EU 1999/519/EC public",
        "EU 2013/35/EU low action",
        "EU 2013/35/EU high action",
        "EU 2013/35/EU limbs",
        "IEEE C95.1-2019 unrestricted head and torso",
        "IEEE C95.1-2019 restricted head and torso",
        "IEEE C95.1-2019 limbs",
        "IEC 61000-4-8 level 1",
        "IEC 61000-4-8 level 2",
        "IEC 61000-4-8 level 3",
        "IEC 61000-4-8 level 4",
        "IEC 61000-4-8 level 5",
        "IEC 60601-1-2 (2014)",
        "IEC 60601-1-2 (2007)",
    ]
    assert {name for name, *_ in NUMBERS} | {name for name, *_ in FIELD_STRENGTHS} == set(LEVEL_SETS)


@pytest.mark.parametrize(
    ("name", "frequency", "covered"),
    [
        ("ICNIRP 2010 public", 0.9, "1 Hz to 10 MHz"),
        ("ICNIRP 2010 occupational", 11e6, "1 Hz to 10 MHz"),
        ("ICNIRP 1998 public", 11e6, "all up to 10 MHz"),
        ("ICNIRP 1998 occupational", 0, "all up to 10 MHz"),
        ("EU 2013/35/EU low action", 0.9, "1 Hz to 10 MHz"),
        ("EU 2013/35/EU high action", 11e6, "1 Hz to 10 MHz"),
        ("IEEE C95.1-2019 limbs", 10, "10.7 Hz to 3 kHz"),
        ("IEEE C95.1-2019 restricted head and torso", 3.1e3, "1 Hz to 3 kHz"),
        ("IEC 61000-4-8 level 4", 150, "50 Hz and 60 Hz"),
        ("ICNIRP 2010 public", 0, "1 Hz to 10 MHz"),
        ("ICNIRP 2010 public", math.nan, "1 Hz to 10 MHz"),
    ],
)
def test_a_frequency_that_is_not_covered_is_refused_with_what_is(name, frequency, covered):
    with pytest.raises(ValueError, match=f"says nothing at .* Hz; it covers {covered}$"):
        reference_level(name, frequency)


def test_a_frequency_off_by_rounding_is_still_covered():
    assert reference_level("IEC 60601-1-2 (2014)", 50 * (1 + 1e-12)).mark == "C"
    assert reference_level("EU 2013/35/EU limbs", 1 - 1e-12).mark == "C"


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("icnirp 2010 public", "ICNIRP 2010 public"),
        ("ICNIRP 2010 ocupational", "ICNIRP 2010 occupational"),
        ("IEC 61000-4-8 level4", "IEC 61000-4-8 level 4"),
        ("EU 2013/35/EU limb", "EU 2013/35/EU limbs"),
    ],
)
def test_a_name_that_is_nearly_right_gets_the_right_one_and_all_names(written, meant):
    assert right_name(written).startswith(f'"{meant}" is near')
    with pytest.raises(ValueError, match="there are no reference levels") as caught:
        level_set(written)
    assert all(f'"{name}"' in str(caught.value) for name in LEVEL_SETS)


def test_a_name_like_no_other_gets_all_names():
    assert right_name("zzz") == "one of " + ", ".join(f'"{name}"' for name in LEVEL_SETS)
