"""Reference levels against the numbers of the documents, their marks, and the way their laws join."""

import math
from itertools import pairwise

import pytest

from studies.reference_levels import LEVEL_SETS, MARKS, level_set, reference_level, right_name

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
CONFIRMED = [
    *ICNIRP_2010,
    ("ICNIRP 1998 public", 50, 100e-6),  # ICNIRP 1998 at 50 Hz [C]
    ("ICNIRP 1998 occupational", 50, 500e-6),
    ("EU 1999/519/EC public", 50, 100e-6),  # Council Recommendation 1999/519/EC [C]
    ("EU 2013/35/EU low action", 50, 1e-3),  # Directive 2013/35/EU at 50 Hz [C]
    ("EU 2013/35/EU high action", 50, 6e-3),
    ("EU 2013/35/EU limbs", 50, 18e-3),
    ("IEEE C95.1-2019 restricted head and torso", 50, 2.71e-3),  # IEEE C95.6-2002 / C95.1-2019 [C]
    ("IEEE C95.1-2019 restricted head and torso", 60, 2.71e-3),
]
FROM_MEMORY = [
    ("ICNIRP 1998 public", 25, 200e-6),  # 5/f uT, f in kHz [M]
    ("ICNIRP 1998 public", 100, 50e-6),
    ("ICNIRP 1998 public", 800, 6.25e-6),
    ("ICNIRP 1998 occupational", 250, 100e-6),  # 25/f uT, f in kHz [M]
    ("ICNIRP 1998 occupational", 820, 25e-6 / 0.82),
    ("EU 1999/519/EC public", 250, 20e-6),  # 5/f uT, f in kHz [M]
    ("EU 2013/35/EU low action", 10, 2.5e-3),  # Directive 2013/35/EU, table B2 [M]
    ("EU 2013/35/EU low action", 150, 1e-3),
    ("EU 2013/35/EU low action", 600, 0.5e-3),
    ("EU 2013/35/EU low action", 10e3, 100e-6),
    ("EU 2013/35/EU high action", 150, 2e-3),
    ("EU 2013/35/EU high action", 10e3, 100e-6),
    ("EU 2013/35/EU limbs", 150, 6e-3),
    ("EU 2013/35/EU limbs", 10e3, 300e-6),
    ("IEEE C95.1-2019 unrestricted head and torso", 50, 0.904e-3),  # IEEE C95.6-2002 / C95.1-2019 [M]
    ("IEEE C95.1-2019 unrestricted head and torso", 60, 0.904e-3),
    ("IEEE C95.1-2019 limbs", 50, 75.8e-3),
    ("IEEE C95.1-2019 limbs", 60, 63.2e-3),
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
]


@pytest.mark.parametrize(("name", "frequency", "value", "mark"), NUMBERS)
def test_a_level_is_the_number_of_its_document_with_its_mark(name, frequency, value, mark):
    level = reference_level(name, frequency)
    assert level.value_t == pytest.approx(value, rel=1e-12)  # the laws are exact numbers: rounding only
    assert level.mark == mark
    assert ("from memory" in level.note) == (mark == "M")
    assert level.source == LEVEL_SETS[name].source


@pytest.mark.parametrize(("name", "strength", "mark"), FIELD_STRENGTHS)
@pytest.mark.parametrize("frequency", [50, 60])
def test_an_immunity_level_is_its_field_strength_times_mu0(name, strength, mark, frequency):
    level = reference_level(name, frequency)
    # mu0 = 4 pi 1e-7 to 1e-9; 1 A/m = 1.2566 uT [D]
    assert level.value_t == pytest.approx(strength * 4e-7 * math.pi, rel=1e-8)
    assert level.mark == mark
    assert f"{strength} A/m times mu0" in level.note


def test_thirty_amperes_per_metre_are_the_published_microtesla():
    # 30 A/m = 37.7 uT [D], half the last digit
    assert reference_level("IEC 60601-1-2 (2014)", 50).value_t == pytest.approx(37.7e-6, abs=0.05e-6)


def test_the_levels_of_1998_at_60_hz_are_the_published_rounded_ones():
    # ICNIRP 1998 at 60 Hz: 416.7 and 83.3 uT, half the last digit
    assert reference_level("ICNIRP 1998 occupational", 60).value_t == pytest.approx(416.7e-6, abs=0.05e-6)
    assert reference_level("ICNIRP 1998 public", 60).value_t == pytest.approx(83.3e-6, abs=0.05e-6)


def test_the_confirmed_value_at_50_hz_lies_on_the_law_around_it():
    for level_set_ in LEVEL_SETS.values():
        for single in level_set_.pieces:
            for law in level_set_.pieces:
                if single.low_hz == single.high_hz and law.low_hz < single.low_hz < law.high_hz:
                    assert single.value(50) == pytest.approx(law.value(50), rel=1e-12)


def joints():
    for level_set_ in LEVEL_SETS.values():
        laws = [piece for piece in level_set_.pieces if piece.low_hz < piece.high_hz]
        yield from ((level_set_.name, low, high) for low, high in pairwise(laws))


@pytest.mark.parametrize(("name", "low", "high"), [*joints()])
def test_laws_join_without_gap_at_one_level_and_the_smaller_one_holds(name, low, high):
    assert low.high_hz == high.low_hz
    below, above = low.value(low.high_hz), high.value(high.low_hz)
    if (name, low.high_hz) == ("ICNIRP 2010 public", 3e3):
        # 0.08/3000 T = 26.7 uT, and the document goes on with the rounded 27 uT
        assert below == pytest.approx(80e-6 / 3, rel=1e-12)
        assert above == 27e-6
    else:
        assert below == pytest.approx(above, rel=1e-12)
    assert reference_level(name, low.high_hz).value_t <= min(below, above) * (1 + 1e-12)


def test_levels_never_rise_with_frequency_but_at_the_rounded_joint():
    for level_set_ in LEVEL_SETS.values():
        for piece in level_set_.pieces:
            assert piece.power >= 0
            assert piece.coefficient > 0
            assert 0 < piece.low_hz <= piece.high_hz
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
        ("ICNIRP 1998 public", 850, "25 Hz to 800 Hz"),
        ("ICNIRP 1998 occupational", 850, "25 Hz to 820 Hz"),
        ("EU 2013/35/EU low action", 5, "8 Hz to 10 MHz"),
        ("EU 2013/35/EU high action", 16.7, "25 Hz to 10 MHz"),
        ("IEEE C95.1-2019 limbs", 55, "50 Hz and 60 Hz"),
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
    assert reference_level("ICNIRP 1998 public", 16 * 50 * (1 + 1e-15)).mark == "M"


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
