"""Bonds, the earth and what a study asks for, as the study file states them."""

import pytest

from studies.data.reference_levels import LEVEL_SETS
from studies.study.bonds import BOTH_ENDS, CROSS_BONDED, Earth
from studies.study.file import Study
from studies.study.reading import loads
from tests.studies.installation import INSTALLATION, Case, assert_told_once, changed, problems_of

SCREENS = '["F1 screens"]\nkind = "cross-bonded"'
EARTHED = '["F2.5.conductor", "T1", "T1.cover", "T3", "pipe"]'
SHEATHS = '["F1 sheaths", "F1 armours"]'
DESK, WALKWAY = 'receptors[1] "desk"', 'zones[1] "walkway"'

BAD: list[Case] = [
    ('"cross-bonded"', '"crossbonded"', "bonds[1] → kind", '"crossbonded"', "no known kind of bond", '"cross-bonded"'),
    ('"cross-bonded"', "true", "bonds[1] → kind", "true", "no known kind of bond", '"both ends"'),
    (
        '["F1 screens"]',
        '["F1.1.screen", "F1.2.screen"]',
        "bonds[1] → parts",
        "",
        "without F1.3.screen",
        "three screens",
    ),
    ('["F1 screens"]', '["F1 screens", "T4"]', "bonds[1] → parts", "", "T4, which cannot be transposed", "F1 screens"),
    (SCREENS, '["T2", "T4"]\nkind = "cross-bonded"', "bonds[1] → parts", "", "T2, T4, which cannot", "F1 screens"),
    (SCREENS, '["T2"]', "bonds[1] → parts", '["T2"]', "only one part", "two parts or more"),
    (SHEATHS, '["F1 sheets", "F1 armours"]', "bonds[2] → parts[1]", '"F1 sheets"', "no known part", '"F1 s'),
    (SHEATHS, '["F2 sheaths", "F1 armours"]', "bonds[2] → parts[1]", "", "a sheath of F2, whose cable has none", '"'),
    (SHEATHS, '["F2.1.armour", "F1 armours"]', "bonds[2] → parts[1]", "", "an armour of F2, whose cable has no", '"'),
    (SHEATHS, '["F1 sheaths", "F1.2.sheath"]', "bonds[2] → parts[2]", "", "already in this bond", "in one bond"),
    (SHEATHS, '["F1 sheaths", "T1.cover"]', "bonds[3] → parts[3]", '"T1.cover"', "already in bonds[2]", "in one bond"),
    (SHEATHS, '["F1 sheaths", "T3.left"]', "bonds[3] → parts[4]", '"T3"', "already in bonds[2]", "in one bond"),
    (SHEATHS, '["F1 sheaths", "T2.cover"]', "bonds[2] → parts[2]", '"T2.cover"', "no known part", '"T1.cover"'),
    (SHEATHS, '["F1 sheaths", "bema"]', "bonds[2] → parts[2]", '"bema"', "no known part", '"beam"'),
    (SHEATHS, '["F1 sheaths", "F1.1.conductor"]', "bonds[2] → parts[2]", "", "is a conductor", '"'),
    (SHEATHS, '["F1 sheaths", "F2.1.conductor"]', "bonds[2] → parts[2]", "", "current is given by its circuit", '"'),
    (
        *('L3 = "20 A" }', 'L3 = "20 A", PE = ["1 A", "0 deg"] }', "bonds[3] → parts"),
        *("F2.5", "the circuit states the current of PE", "which the bond decides"),
    ),
    (
        *('"N", "PE"]\ncurrent', '"N", "PE", "PE"]\ncurrent', "bonds[3] → parts"),
        *("F2.5", "without F2.6.conductor, cables of the same PE", "all cables of PE"),
    ),
    ("earth = true", 'earth = "yes"', "bonds[3] → earth", '"yes"', "neither true nor false", "without quotes"),
    ("earth = true", "earthed = true", "bonds[3] → earthed", "true", "no known key", "earth"),
    ('["0.1 ohm/km", "0.05 ohm/km"]', '"0.1 ohm/km"', "bonds[3] → impedance", "0.1", "list of two", "and reactance"),
    ('"0.05 ohm/km"]', '"0.05 ohm"]', "bonds[3] → impedance[2]", '"0.05 ohm"', "no unit of resistance per", "ohm/km"),
    ('"0.1 ohm/km"', '"-0.1 ohm/km"', "bonds[3] → impedance[1]", '"-0.1 ohm/km"', "outside", "from 0 ohm/km"),
    ('resistivity = "100 ohm*m"\n', "", "earth → resistivity", "", "is missing", 'resistivity = "100 ohm*m"'),
    ('"100 ohm*m"', '"0.1 ohm*m"', "earth → resistivity", '"0.1 ohm*m"', "outside", "from 1 ohm*m to 100000 ohm*m"),
    ('"100 ohm*m"', '"100 ohm/m"', "earth → resistivity", '"100 ohm/m"', "no unit of resistivity", '"100 ohm*m"'),
    ('surface = "-1 m"', "surface = -1", "earth → surface", "-1", "bare number", '"-1 m"'),
    ('surface = "-1 m"', 'depth = "-1 m"', "earth → depth", '"-1 m"', "no known key", "resistivity, surface"),
    (
        '"ICNIRP 2010 public"',
        '"ICNIRP 2010 publik"',
        f"{DESK} → limit",
        "publik",
        "no known ref",
        '"ICNIRP 2010 public"',
    ),
    ('"ICNIRP 2010 public"', '"0 uT"', f"{DESK} → limit", '"0 uT"', "outside", "above 0 uT"),
    ('"ICNIRP 2010 public"', "0.5", f"{DESK} → limit", "0.5", "bare number", '"0.5 uT"'),
    ('"ICNIRP 2010 public"', "[]", f"{DESK} → limit", "[]", "a list", '"0.5 uT"'),
    ('"ICNIRP 2010 public"', '""', f"{DESK} → limit", '""', "is empty", '"0.5 uT"'),
    ('"90 uT"', '"90 A"', f"{WALKWAY} → limit", '"90 A"', "no unit of flux density", '"0.5 uT"'),
    ('"90 uT"', '"public"', f"{WALKWAY} → limit", '"public"', "no known reference level", '"0.5 uT"'),
    ('["6 m", "1 m"]', '["4 m", "1 m"]', f"{WALKWAY} → window", "", "no extent", "lower left, then upper right"),
    (
        '[["5 m", "-1 m"], ["6 m", "1 m"]]',
        '["5 m", "-1 m"]',
        f"{WALKWAY} → window[1]",
        '"5 m"',
        "not a list of two",
        "",
    ),
    ('"5 m", "-1 m"', '"5 m", -1', f"{WALKWAY} → window[1][2]", "-1", "bare number", '"-1 m"'),
    ('window = [["5 m", "-1 m"], ["6 m", "1 m"]]\n', "", f"{WALKWAY} → window", "", "is missing", "window = [["),
    ('name = "walkway"\n', "", "zones[1] → name", "", "is missing", 'name = "workplace"'),
    ("[0.25, 0.5, 1, 1.5, 2]", "[1]", "current_sweep → factors", "[1]", "fewer than 2 entries", "[0.25, 0.5"),
    ("[0.25, 0.5, 1, 1.5, 2]", "2", "current_sweep → factors", "2", "not a list", "[0.25, 0.5"),
    ("[0.25, 0.5, 1, 1.5, 2]", "[1, 2, 1.0]", "current_sweep → factors[3]", "1.0", "there already", "each factor once"),
    ("[0.25, 0.5, 1, 1.5, 2]", "[0, 1]", "current_sweep → factors[1]", "0", "outside 0.01 to 20", "such as 0.5"),
    ("[0.25, 0.5, 1, 1.5, 2]", '[1, "2"]', "current_sweep → factors[2]", '"2"', "not a plain number", "without quotes"),
    ("[0.25, 0.5, 1, 1.5, 2]", "[1, nan]", "current_sweep → factors[2]", "nan", "outside 0.01 to 20", "such as 0.5"),
]
TOLD_TWICE = '["5 m", "-1 m"]'


@pytest.mark.parametrize("case", [case for case in BAD if case[1] != TOLD_TWICE])
def test_a_bad_key_of_a_bond_or_request_is_told_once(case: Case) -> None:
    assert_told_once(case)


def test_a_window_of_one_point_is_told_for_each_of_its_numbers() -> None:
    found = problems_of(changed(('[["5 m", "-1 m"], ["6 m", "1 m"]]', TOLD_TWICE)))
    assert [p.key for p in found] == [f"{WALKWAY} → window[{n}]" for n in (1, 2)]


def test_a_bond_through_the_earth_needs_an_earth() -> None:
    found = problems_of(changed(('[earth]\nresistivity = "100 ohm*m"\nsurface = "-1 m"\n', "")))
    assert [(p.key, p.wrong) for p in found] == [("bonds[3] → earth", "needs an earth, the study has none")]


def test_a_bond_through_the_earth_may_be_of_one_part() -> None:
    assert loads(changed((EARTHED, '["pipe"]'))).bonds[2].parts == ("pipe",)


def test_bonds_are_tied_at_both_ends_unless_stated() -> None:
    bonds = loads(INSTALLATION).bonds
    assert [bond.kind for bond in bonds] == [CROSS_BONDED, BOTH_ENDS, BOTH_ENDS]
    assert bonds[2].impedance == pytest.approx((1e-4, 5e-5), rel=1e-12)
    assert [bond.impedance for bond in bonds[:2]] == [None, None]
    assert [bond.earth for bond in bonds] == [False, False, True]


def test_sheaths_are_cross_bonded_as_screens_are_and_two_circuits_together() -> None:
    text = changed((SCREENS, '["F1 sheaths"]\nkind = "cross-bonded"'), (SHEATHS, '["F1 screens", "F1 armours"]'))
    assert loads(text).bonds[0].kind == CROSS_BONDED
    second = (
        INSTALLATION.partition("[[circuits]]")[2].partition("[[")[0].replace("F1", "F3").replace('"0 mm"]', '"1 m"]')
    )
    both = changed((SCREENS, '["F1 screens", "F3 screens"]\nkind = "cross-bonded"'))
    assert loads(f"{both}\n[[circuits]]{second}").bonds[0].parts == ("F1 screens", "F3 screens")


def test_screens_of_a_circuit_with_more_than_three_cables_are_not_cross_bonded() -> None:
    text = changed(('["L1", "L2", "L3"]', '["L1", "L2", "L3", "L1", "L2", "L3"]'))
    (problem,) = problems_of(text)
    assert problem.key == "bonds[1] → parts"
    assert "not one cable for each of L1, L2, L3" in problem.wrong


@pytest.mark.parametrize("label", ["N", "PE"])
def test_conductors_of_neutral_and_earth_may_be_bonded(label: str) -> None:
    position = {"N": 4, "PE": 5}[label]
    assert loads(changed(("F2.5.conductor", f"F2.{position}.conductor"))).bonds[2].parts[0].startswith(f"F2.{position}")


def test_the_earth_has_its_surface_at_zero_unless_stated() -> None:
    assert loads(changed(('surface = "-1 m"\n', ""))).earth == Earth(resistivity=100.0, surface=0.0)
    assert loads(INSTALLATION).earth == Earth(resistivity=100.0, surface=-1.0)


@pytest.mark.parametrize("name", sorted(LEVEL_SETS))
def test_every_set_of_levels_may_be_a_limit_at_a_frequency_that_it_covers(name: str) -> None:
    text = changed(('"ICNIRP 2010 public"', f'"{name}"'), ('frequency = "400 Hz"\n', "")).replace("harmonics", "#")
    assert loads(text).receptors[0].limit == name


def test_a_level_that_does_not_cover_a_frequency_of_the_study_is_told() -> None:
    text = changed(('frequency = "50 Hz"', 'frequency = "0.2 Hz"')).replace("harmonics", "#")
    (problem,) = problems_of(text)
    assert (problem.key, problem.wrong) == (f"{DESK} → limit", "has no level at 0.2 Hz, at which currents flow")


def test_zones_and_sweep_are_read() -> None:
    study = loads(INSTALLATION)
    assert study.zones[0].window == ((5, -1), (6, 1))
    assert study.zones[0].limit == pytest.approx(90e-6, rel=1e-12)
    assert study.current_sweep is not None
    assert study.current_sweep.factors == (0.25, 0.5, 1, 1.5, 2)


def test_a_study_survives_the_way_through_plain_numbers() -> None:
    study = loads(INSTALLATION)
    assert Study.model_validate(study.model_dump()) == study
    assert Study.model_validate(study.model_dump(by_alias=True)) == study
    assert Study.model_validate_json(study.model_dump_json()) == study
