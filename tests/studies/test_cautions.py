"""Cautions: the usual ones always, the particular ones exactly where they apply."""

import dataclasses
import re

import ezdxf
import pytest

from fem.effective import DEFAULT_RULE
from studies.answers.cautions import words
from studies.answers.cautions.compute import LARGEST_SHARE, cautions
from studies.answers.steel.words import RULE_ACCURACY
from studies.report.contents import write_report
from studies.report.preview import preview
from studies.report.terminal import summary
from studies.runner import run
from studies.study.course import Course
from studies.study.reading import loads

pytestmark = pytest.mark.usefixtures("coarse_mesh")

HEAD = """title = "Feeder"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
SCREEN
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = CURRENT

[accuracy]
tolerance = "20 %"
"""
TRAY = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "MATERIAL"
"""
SCREEN = 'screen = { material = "copper", thickness = "0.2 mm" }'
UNBALANCED = '{ L1 = "400 A", L2 = "400 A", L3 = "300 A" }'
PARTICULAR = {
    name: getattr(words, name)[:15]
    for name in (
        *("STEEL", "SATURATING", "HARMONICS", "WEAK_FIRST", "PERFORATED", "OPEN_SCREENS", "CROSS_BONDED", "OPEN_TRAY"),
        *("RUNGS", "ENCIRCLED", "SINGLE_PHASE", "STEEL_LAYER", "NET_CURRENT", "EARTH", "SEGMENTAL", "IN_METAL"),
        *("IGNORED", "UNEQUAL_SHARE", "UNDER_COVER"),
    )
}


def found(screen="", current='"400 A"', tray="", bonds=(), more="", changes=()):
    text = HEAD.replace("SCREEN", screen).replace("CURRENT", current) + tray
    text += "".join(f"\n[[bonds]]\nparts = [{', '.join(map(repr, bond))}]\n" for bond in bonds)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return run(loads(text + more))


def particular(result):
    """Names of the particular cautions of a result."""
    return {name for name, start in PARTICULAR.items() if any(c.startswith(start) for c in result.cautions)}


STEEL_TRAY, ALUMINIUM_TRAY = TRAY.replace("MATERIAL", "mild-steel"), TRAY.replace("MATERIAL", "aluminium")
COVERED = STEEL_TRAY + 'cover = "closed"\n'
SATURATING_TRAY = TRAY.replace("MATERIAL", "mild-steel-saturating")
STAINLESS_TRAY = TRAY.replace("MATERIAL", "stainless-304")
LADDER = ALUMINIUM_TRAY.replace('"channel"', '"ladder"')
SLEEVE = """
[[metalwork]]
name = "C1"
shape = "tube"
at = ["-56 mm", "12 mm"]
outside_diameter = "50 mm"
thickness = "2 mm"
material = "mild-steel"
"""
DUCT = STEEL_TRAY.replace('"channel"', '"duct"')
HARMONIC = (("[accuracy]", 'harmonics = { 5 = "20 %" }\n\n[accuracy]'),)
SECOND = """
[[circuits]]
name = "F2"
cable = "c"
arrangement = "flat"
spacing = "30 mm"
rests_at = ["0 mm", "200 mm"]
phases = ["L1", "L2", "L3"]
current = "500 A"
frequency = "60 Hz"
"""
EARTH = '[earth]\nresistivity = "100 ohm*m"\nsurface = "-1 m"\n'
CROSS_BOND = '[[bonds]]\nparts = ["F1 screens"]\nkind = "cross-bonded"\n'
THREE = 'phases = ["L1", "L2", "L3"]'
TWICE = (THREE, THREE.replace('"L3"', '"L3", "L1", "L2", "L3"'))
MIRRORED = (THREE, THREE.replace('"L3"', '"L3", "L3", "L2", "L1"'))
ARMOUR = 'armour = { material = "MATERIAL", thickness = "2 mm" }'
IN_WALL = '[[receptors]]\nname = "wall"\nat = ["0.1508 m", "30 mm"]\n'
IN_CABLE = '[[traverses]]\nname = "across"\nfrom = ["0 m", "5 mm"]\nto = ["1 m", "5 mm"]\npoints = 11\n'


@pytest.mark.parametrize(
    ("study", "expected"),
    [
        ({}, set()),
        ({"tray": ALUMINIUM_TRAY}, {"OPEN_TRAY"}),
        ({"tray": STEEL_TRAY}, {"STEEL", "OPEN_TRAY"}),
        ({"tray": COVERED}, {"STEEL", "OPEN_TRAY", "ENCIRCLED", "UNDER_COVER"}),
        ({"tray": COVERED, "changes": (('"56 mm"', '"40 mm"'),)}, {"STEEL", "OPEN_TRAY", "ENCIRCLED"}),
        ({"screen": SCREEN}, {"OPEN_SCREENS"}),
        ({"screen": SCREEN, "bonds": [("F1 screens",)]}, set()),
        ({"screen": SCREEN, "bonds": [("F1.1.screen", "F1.3.screen")]}, {"OPEN_SCREENS"}),
        ({"screen": SCREEN, "bonds": [("F1 screens", "T1")], "tray": STEEL_TRAY}, {"STEEL"}),
        ({"current": UNBALANCED}, {"NET_CURRENT"}),
        ({"current": UNBALANCED, "more": EARTH}, {"EARTH"}),
        ({"tray": STAINLESS_TRAY}, {"OPEN_TRAY"}),
        ({"tray": SATURATING_TRAY}, {"SATURATING", "OPEN_TRAY"}),
        ({"tray": SATURATING_TRAY, "changes": HARMONIC}, {"SATURATING", "HARMONICS", "OPEN_TRAY"}),
        ({"tray": SATURATING_TRAY, "more": SECOND}, {"SATURATING", "HARMONICS", "WEAK_FIRST", "OPEN_TRAY"}),
        ({"tray": STEEL_TRAY + 'open_area = "25 %"\n'}, {"STEEL", "PERFORATED", "OPEN_TRAY"}),
        ({"tray": LADDER}, {"RUNGS", "OPEN_TRAY"}),
        ({"tray": DUCT}, {"STEEL", "OPEN_TRAY", "ENCIRCLED", "UNDER_COVER"}),
        ({"tray": SLEEVE}, {"STEEL", "SINGLE_PHASE", "UNDER_COVER"}),
        ({"tray": SLEEVE.replace("mild-steel", "aluminium")}, {"SINGLE_PHASE", "UNDER_COVER"}),
        ({"screen": SCREEN, "more": CROSS_BOND}, {"CROSS_BONDED"}),
        ({"screen": ARMOUR.replace("MATERIAL", "steel-wire-armour")}, {"OPEN_SCREENS", "STEEL", "STEEL_LAYER"}),
        ({"screen": ARMOUR.replace("MATERIAL", "aluminium")}, {"OPEN_SCREENS"}),
        ({"changes": (('"70 degC" }', '"70 degC", skin_coefficient = 0.435 }'),)}, {"SEGMENTAL"}),
        ({"tray": ALUMINIUM_TRAY, "more": IN_WALL}, {"OPEN_TRAY", "IN_METAL"}),
        ({"changes": (TWICE,)}, {"UNEQUAL_SHARE"}),
        ({"changes": (MIRRORED,)}, set()),
        ({"more": IN_CABLE}, {"IN_METAL"}),
        ({"current": '{ L1 = "400 A", L2 = ["400 A", "-120.00001 deg"], L3 = "400 A" }'}, set()),
    ],
)
def test_a_study_gets_the_cautions_that_it_calls_for_and_no_others(study, expected):
    assert particular(found(**study)) == expected


def test_the_usual_cautions_come_last_and_always():
    result = found()
    assert result.cautions[-len(words.ALWAYS) :] == words.ALWAYS
    said = " ".join(result.cautions)
    # what the job asks a report to say
    for word in ("licensed engineer", "local wiring codes", "ratings", "three-dimensional", "implanted", "Measure"):
        assert word.casefold() in said.casefold()
    assert all("{" not in caution for caution in result.cautions)


def test_the_usual_cautions_do_not_deny_what_the_study_asks():
    result = found()
    path = ((-4.0, 0.0, 2.0), (4.0, 0.0, 2.0))
    circuit = result.study.circuits[0].model_copy(update={"permitted_current": 300.0})
    asked = result.study.model_copy(update={"course": Course(path=path), "circuits": (circuit,)})
    told = cautions(asked, result.cross_section, result, result.accuracy)
    assert words.TWO_DIMENSIONAL not in told
    assert words.RATINGS not in told
    assert told[-len(words.ALWAYS) :] == words.usual(in_space=True, permitted=True)
    # neither is among the cautions of this study alone, in a terminal
    assert "Cautions of this study" not in summary(dataclasses.replace(result, study=asked, cautions=told))


def test_a_net_current_is_told_with_its_size_and_where_it_returns():
    result = found(current=UNBALANCED)
    (told,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["NET_CURRENT"])]
    # 400 + 400 a^2 + 300 a = -100 a
    assert "100 A" in told
    assert f"{result.fields.exterior.reference_radius:g} m" in told


def test_an_accuracy_that_was_missed_is_the_first_caution():
    result = found()
    missed = dataclasses.replace(result.accuracy, tolerance=1e-4, worst_error=0.0123, met=False)
    assert result.accuracy.met
    assert not any("was not reached" in caution for caution in result.cautions)
    told = cautions(result.study, result.cross_section, result, missed)
    assert "0.01 % was not reached" in told[0]
    assert "1.2 %" in told[0]


def test_what_closed_metal_encloses_is_told_with_its_circuit():
    result = found(tray=SLEEVE)
    (told,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["SINGLE_PHASE"])]
    assert "C1 around 400 A of F1" in told


def test_steel_that_saturates_is_told_with_the_rule_and_how_far_it_is_off():
    result = found(tray=SATURATING_TRAY)
    (told,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["SATURATING"])]
    assert "T1" in told
    assert DEFAULT_RULE in told
    assert RULE_ACCURACY in told


def test_a_cover_over_clear_gaps_is_told_wherever_the_gaps_are():
    result = found(tray=COVERED)
    page = write_report(result, {}, {})
    for text in (summary(result), preview(result.study, result.cross_section), re.sub("<[^>]*>", "", page)):
        told = " ".join(text.split())
        assert "Clear gaps kept: one cable diameter in a single layer." in told
        assert "Cables lie under a cover or in closed metal (T1): the rule lapses." in told
        assert "The rule for clear gaps is common practice (no source) on open trays without a cover" in told
    (caution,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["UNDER_COVER"])]
    assert "one cable diameter in a single layer" in caution
    assert "(T1)" in caution


def test_metal_is_told_by_name():
    result = found(tray=ALUMINIUM_TRAY, more=IN_WALL)
    (told,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["IN_METAL"])]
    assert "wall in T1" in told


def test_what_a_drawing_has_beside_outlines_is_counted_on_the_layers_that_are_used(tmp_path):
    document = ezdxf.new()
    space = document.modelspace()
    for layer, x in (("A", -56), ("B", 0), ("C", 56)):
        space.add_circle((x, 12.24), 12.24, dxfattribs={"layer": layer})
    for layer in ("A", "A", "TEXT"):
        space.add_line((0, 0), (1, 1), dxfattribs={"layer": layer})
    document.saveas(tmp_path / "section.dxf")
    text = HEAD.replace("SCREEN", "").replace("CURRENT", '"400 A"')
    for old, new in (
        ('arrangement = "flat"', 'arrangement = "drawing"\ndrawn_on = { L1 = "A", L2 = "B", L3 = "C" }'),
        ('spacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]\nphases = ["L1", "L2", "L3"]\n', ""),
    ):
        assert old in text
        text = text.replace(old, new)
    text += '\n[drawing]\nfile = "section.dxf"\nunit = "mm"\n'
    result = run(loads(text, str(tmp_path / "plant.toml")))
    (told,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["IGNORED"])]
    assert "2 on A" in told
    assert "TEXT" not in told


def test_a_bond_that_closes_through_an_impedance_says_where_its_current_returns():
    bond = '\n[[bonds]]\nparts = ["F1 screens"]\nimpedance = ["0.1 ohm/km", "0.1 ohm/km"]\n'
    told = [c for c in found(SCREEN, more=bond).cautions if c.startswith(words.BOND_WITHOUT_EARTH[:15])]
    assert len(told) == 1
    assert "1000 m away" in told[0]
    with_earth = bond + 'earth = true\n[earth]\nresistivity = "100 ohm*m"\n'
    assert not [c for c in found(SCREEN, more=with_earth).cautions if c.startswith(words.BOND_WITHOUT_EARTH[:15])]


def test_a_parallel_cable_above_its_share_is_named_with_its_share_and_the_remedy():
    result = found(changes=(TWICE,))
    (told,) = [caution for caution in result.cautions if caution.startswith("Parallel cables do not share equally")]
    parallel = {part.part: part for part in result.parts}
    above = {name: part for name, part in parallel.items() if part.share_of_phase > LARGEST_SHARE}
    assert above
    for name, part in parallel.items():
        cable = name.removesuffix(".conductor")
        entry = f"{cable} ({part.phase}) carries {abs(part.current_a):.4g} A, {100 * part.share_of_phase:.0f} %"
        assert (entry in told) == (name in above)
    assert "symmetrical order or grouping" in told
    assert "common practice, no source" in told
