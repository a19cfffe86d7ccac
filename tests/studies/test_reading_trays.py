"""Trays of every profile, covers and metalwork, as the study file states them."""

import math
from collections.abc import Mapping

import pytest
from pydantic import BaseModel

from studies.study.circuits import ARRANGEMENTS, Circuit
from studies.study.entries import example_of
from studies.study.key_sets import KeySet, governed
from studies.study.metalwork import SHAPES, Metalwork
from studies.study.reading import loads
from studies.study.trays import PROFILES, Cover, Tray
from tests.studies.installation import INSTALLATION, Case, assert_told_once, changed, problems_of

T1, T2, T3, T4, T5 = (f'trays[{n}] "T{n}"' for n in range(1, 6))
BENT, BEAM, ANGLE, BAR, PIPE = (
    f'metalwork[{n}] "{name}"' for n, name in enumerate(("bent", "beam", "angle", "bar", "pipe"), 1)
)
COVER = 'cover = { gap = "4 mm", thickness = "1.2 mm", material = "soft", edge = "18 mm" }'
PATH = '[["0 m", "1 m"], ["1 m", "1 m"], ["1 m", "2 m"]]'

BAD_TRAYS: list[Case] = [
    ('"plate"', '"plane"', f"{T2} → profile", '"plane"', "no known profile", '"plate"'),
    ('inside_width = "301 mm"\n', "", f"{T1} → inside_width", "", "missing, channel needs it", "inside_width ="),
    ('inside_height = "103 mm"\n', "", f"{T3} → inside_height", "", "missing, ladder needs it", "inside_height ="),
    ('inside_height = "104 mm"\n', "", f"{T4} → inside_height", "", "missing, duct needs it", "inside_height ="),
    ('inside_diameter = "105 mm"\n', "", f"{T5} → inside_diameter", "", "missing, conduit", "inside_diameter ="),
    ('width = "302 mm"\n', "", f"{T2} → width", "", "missing, plate needs it", 'width = "300 mm"'),
    ('"302 mm"\n', '"302 mm"\nlip = "1 mm"\n', f"{T2} → lip", '"1 mm"', "not go with plate", "takes width, open_area"),
    ('"105 mm"\n', '"105 mm"\ncover = "closed"\n', f"{T5} → cover", '"closed"', "not go with conduit", "leave it out"),
    ('"105 mm"\n', '"105 mm"\nopen_area = "9 %"\n', f"{T5} → open_area", '"9 %"', "not go with conduit", "leave it"),
    ('"104 mm"\n', '"104 mm"\ncover = "closed"\n', f"{T4} → cover", '"closed"', "not go with duct", "dividers"),
    (
        '"103 mm"\n',
        '"103 mm"\ndividers = ["0 m"]\n',
        f"{T3} → dividers",
        '["0 m"]',
        "not go with ladder",
        "rail_flange",
    ),
    (
        '"1.5 mm"\nmaterial = "mild-steel"',
        '"1.5 mm"\nmaterial = "steal"',
        f"{T1} → material",
        "steal",
        "no known",
        "mat",
    ),
    ('"90 deg"', "90", f"{T1} → turned", "90", "bare number", '"90 deg"'),
    ('"90 deg"', '"361 deg"', f"{T1} → turned", '"361 deg"', "outside", "from -360 deg to 360 deg"),
    ('"15 mm"', '"-1 mm"', f"{T1} → lip", '"-1 mm"', "outside", "from 0 mm"),
    ('"outward"', '"upward"', f"{T1} → lips", '"upward"', "no known direction of lips", '"outward"'),
    ('lip = "15 mm"\n', "", f"{T1} → lips", '"outward"', "the tray has not", 'lip = "15 mm"'),
    ('"15 mm"', '"0 mm"', f"{T1} → lips", '"outward"', "the tray has not", 'lip = "15 mm"'),
    ('"15 mm"\nlips = "outward"', '"151 mm"', f"{T1} → lip", '"151 mm"', "no opening between the lips", "150.5 mm"),
    ('rail_flange = "20 mm"', 'rail_flange = "152 mm"', f"{T3} → rail_flange", '"152', "no opening", "151.5 mm"),
    ('["-50 mm", "60 mm"]', '"60 mm"', f"{T1} → dividers", '"60 mm"', "not a list", '["-50 mm", "50 mm"]'),
    ('["-50 mm", "60 mm"]', "[]", f"{T1} → dividers", "[]", "is empty", '["-50 mm", "50 mm"]'),
    ('["-50 mm", "60 mm"]', '["-50 mm", 60]', f"{T1} → dividers[2]", "60", "bare number", '"60 m"'),
    ('["-50 mm", "60 mm"]', '["-150 mm"]', f"{T1} → dividers[1]", '"-150 mm"', "in or beyond a wall", "-149.75 and 14"),
    ('["-50 mm", "60 mm"]', '["60 mm", "61 mm"]', f"{T1} → dividers[2]", '"61 mm"', "another divider", "1.5 mm"),
    ('dividers = ["-50 mm", "60 mm"]\n', "", f"{T1} → divider_height", '"80 mm"', "tray has not", "dividers ="),
    ('"80 mm"', '"102 mm"', f"{T1} → divider_height", '"102 mm"', "above the inside height", "at most 101 mm"),
    ('"35 degC"', '"35 °"', f"{T1} → temperature", '"35 °"', "no unit of temperature", '"70 degC"'),
    ('"35 degC"', '"500 degC"', f"{T1} → temperature", '"500 degC"', "outside", "to 400 degC"),
    ('"25 %"', '"85 %"', f"{T1} → open_area", '"85 %"', "outside", "from 0 % to 80 %"),
    ('"25 %"', "0.25", f"{T1} → open_area", "0.25", "bare number", '"0.25 %"'),
    ('"103 mm"\n', '"103 mm"\nrails = "bolted"\n', f"{T3} → rails", '"bolted"', "no known joining", '"insulated"'),
    (COVER, 'cover = "lid"', f"{T1} → cover", '"lid"', "no known cover", '"closed"'),
    (COVER, "cover = true", f"{T1} → cover", "true", "no known cover", "{ gap ="),
    ('gap = "4 mm", ', "", f"{T1} → cover → gap", "", "is missing", 'gap = "5 mm"'),
    ('gap = "4 mm"', 'gap = "0 mm"', f"{T1} → cover → gap", '"0 mm"', "outside", "from 0.1 mm"),
    ('gap = "4 mm"', "gap = 4", f"{T1} → cover → gap", "4", "bare number", '"4 mm"'),
    ('edge = "18 mm"', 'edge = "18"', f"{T1} → cover → edge", '"18"', "without a unit", '"18 mm"'),
    ('edge = "18 mm"', 'edg = "18 mm"', f"{T1} → cover → edg", '"18 mm"', "no known key", "edge"),
    ('material = "soft", edge', 'material = "sofd", edge', f"{T1} → cover → material", '"sofd"', "no known", '"soft"'),
]

BAD_METALWORK: list[Case] = [
    ('"rectangle"', '"rectangel"', f"{BAR} → shape", '"rectangel"', "no known shape", '"rectangle"'),
    ('shape = "I"\n', "", f"{BEAM} → shape", "", "is missing", 'shape = "rectangle"'),
    ('name = "bar"', 'name = "T1"', 'metalwork[4] "T1" → name', '"T1"', "already the name of trays[1]", "of its own"),
    ('name = "bar"', 'name = "f2"', 'metalwork[4] "f2" → name', '"f2"', "already the name of circuits[2]", "capital"),
    (
        'name = "bar"',
        'name = "F1 sheaths"',
        'metalwork[4] "F1 sheaths" → name',
        "",
        "stands for the sheaths",
        "another",
    ),
    (f"path = {PATH}\n", "", f"{BENT} → path", "", "missing, path needs it", "path = [["),
    (PATH, '[["0 m", "1 m"]]', f"{BENT} → path", '[["0 m", "1 m"]]', "fewer than 2", "[["),
    (PATH, '[["0 m", "1 m"], ["0 m"]]', f"{BENT} → path[2]", '["0 m"]', "list of two", "x and y"),
    (PATH, '[["0 m", "1 m"], ["0 m", "100 cm"]]', f"{BENT} → path[2]", '"100 cm"', "the one before", "each corner"),
    (
        *(f"path = {PATH}", 'closed = true\npath = [["0 m", "1 m"], ["1 m", "1 m"]]', f"{BENT} → path"),
        *("[[", "closed and has two corners", "3 corners"),
    ),
    (
        *(f"path = {PATH}", 'closed = true\npath = [["0 m", "1 m"], ["1 m", "1 m"], ["1 m", "2 m"], ["0 m", "1 m"]]'),
        *(f"{BENT} → path[1]", '["0 m", "1 m"]', "returns by itself", "each corner once"),
    ),
    ('side = "left"', 'side = "inside"', f"{BENT} → side", '"inside"', "no known side", '"middle"'),
    ('side = "left"', "closed = 1", f"{BENT} → closed", "1", "neither true nor false", "without quotes"),
    ('side = "left"', 'closed = "yes"', f"{BENT} → closed", '"yes"', "neither true nor false", "without quotes"),
    ('thickness = "3 mm"\n', "", f"{BENT} → thickness", "", "missing, path needs it", "thickness ="),
    ('side = "left"', 'turned = "1 deg"', f"{BENT} → turned", '"1 deg"', "not go with path", "takes path, thickness"),
    ('at = ["0 m", "3 m"]\n', "", f"{BEAM} → at", "", "missing, I needs it", 'at = ["0 mm", "0 mm"]'),
    ('web = "5.6 mm"\n', "", f"{BEAM} → web", "", "missing, I needs it", 'web = "6 mm"'),
    ('"8.5 mm"', '"120 mm"', f"{BEAM} → flange", '"120 mm"', "outside", "to 100 mm"),
    ('"201 mm"', '"17 mm"', f"{BEAM} → flange", '"8.5 mm"', "not fit into the height of 17 mm", "less than 8.5 mm"),
    ('"5.6 mm"', '"100 mm"', f"{BEAM} → web", '"100 mm"', "not fit into the width of 100 mm", "a larger width"),
    (
        '"5 mm"\nmaterial',
        '"40 mm"\nmaterial',
        f"{ANGLE} → thickness",
        '"40 mm"',
        "into the width of 40 mm",
        "less than 40",
    ),
    ('"61 mm"\n', '"61 mm"\nweb = "5 mm"\n', f"{ANGLE} → web", '"5 mm"', "not go with L", "takes at, height"),
    ('"10 mm"\n', '"10 m"\nthickness = "1 mm"\n', f"{BAR} → thickness", '"1 mm"', "not go with rectangle", "leave it"),
    ('"62 mm"', '"62 m^2"', f"{BAR} → width", '"62 m^2"', "no unit of length", '"200 mm"'),
    ('"60 degC"', "60", f"{BAR} → temperature", "60", "bare number", '"60 degC"'),
    ('"4 mm"\nmaterial', '"32 mm"\nmaterial', f"{PIPE} → thickness", '"32 mm"', "outside diameter of 63 mm", "31.5 mm"),
    ('outside_diameter = "63 mm"\n', "", f"{PIPE} → outside_diameter", "", "missing, tube needs it", '"60 mm"'),
    ("outside_diameter", "inside_diameter", f"{PIPE} → inside_diameter", '"63 mm"', "no known key", "outside_diameter"),
    ('"steel-armour"', '"steel-armor"', f"{PIPE} → material", '"steel-armor"', "no known material", '"steel-armour"'),
]


@pytest.mark.parametrize("case", [*BAD_TRAYS, *BAD_METALWORK])
def test_a_bad_key_of_a_tray_or_of_metalwork_is_told_once(case: Case) -> None:
    assert_told_once(case)


def test_metalwork_in_single_brackets_is_told() -> None:
    text = INSTALLATION.partition("[[metalwork]]")[0] + '[metalwork]\nname = "x"\n'
    assert ("metalwork", "is a table, not a list of tables") in [(p.key, p.wrong) for p in problems_of(text)]


def test_trays_of_every_profile_are_read() -> None:
    trays = loads(INSTALLATION).trays
    assert {tray.profile for tray in trays} == set(PROFILES)
    channel = trays[0]
    assert channel.turned == pytest.approx(math.pi / 2, rel=1e-12)
    assert channel.dividers == pytest.approx((-0.05, 0.06), rel=1e-12)
    assert (channel.divider_height, channel.lip) == pytest.approx((0.08, 0.015), rel=1e-12)
    assert (channel.lips, channel.temperature) == ("outward", 35)
    assert channel.open_area == pytest.approx(0.25, rel=1e-12)
    assert isinstance(channel.cover, Cover)
    assert (channel.cover.gap, channel.cover.edge) == pytest.approx((0.004, 0.018), rel=1e-12)
    assert channel.cover.material == "soft"
    assert trays[1].width == pytest.approx(0.302, rel=1e-12)
    assert trays[2].rail_flange == pytest.approx(0.02, rel=1e-12)
    assert trays[4].inside_diameter == pytest.approx(0.105, rel=1e-12)


def test_a_tray_is_plain_unless_stated() -> None:
    duct = loads(INSTALLATION).trays[3]
    assert (duct.temperature, duct.turned, duct.lip, duct.open_area, duct.rail_flange) == (20, 0, 0, 0, 0)
    assert (duct.cover, duct.lips, duct.divider_height, duct.width) == (None, None, None, None)


def test_a_cover_takes_thickness_and_material_of_its_tray_unless_stated() -> None:
    cover = loads(changed((COVER, 'cover = { gap = "4 mm" }'))).trays[0].cover
    assert cover == Cover(gap=0.004)
    assert isinstance(cover, Cover)
    assert (cover.thickness, cover.material, cover.edge) == (None, None, None)


def test_lips_that_reach_outwards_may_be_wide() -> None:
    assert loads(changed(('lip = "15 mm"', 'lip = "200 mm"'))).trays[0].lip == pytest.approx(0.2, rel=1e-12)


def test_metalwork_of_every_shape_is_read() -> None:
    metalwork = loads(INSTALLATION).metalwork
    assert {metal.shape for metal in metalwork} == set(SHAPES) - {"drawing"}
    assert metalwork[0].path == ((0, 1), (1, 1), (1, 2))
    assert (metalwork[0].side, metalwork[0].closed) == ("left", False)
    assert metalwork[1].turned == pytest.approx(math.pi / 4, rel=1e-12)
    assert (metalwork[1].web, metalwork[1].flange) == pytest.approx((5.6e-3, 8.5e-3), rel=1e-12)
    assert metalwork[3].temperature == 60
    assert metalwork[4].outside_diameter == pytest.approx(0.063, rel=1e-12)


@pytest.mark.parametrize(
    ("choices", "model"),
    [(ARRANGEMENTS, Circuit), (PROFILES, Tray), (SHAPES, Metalwork)],
    ids=["circuits", "trays", "metal"],
)
def test_the_tables_of_choices_name_keys_that_there_are(choices: Mapping[str, KeySet], model: type[BaseModel]) -> None:
    assert set(governed(choices)) <= set(model.model_fields)
    needed = {key for choice in choices.values() for key in (*choice.required, *choice.one_of)}
    assert all(example_of(model.model_fields[key]) for key in needed)


@pytest.mark.parametrize("profile", PROFILES)
def test_a_tray_takes_the_keys_of_its_profile_and_no_others(profile: str) -> None:
    example = {
        **{key: f'{key} = "100 mm"' for key in ("inside_width", "inside_height", "inside_diameter", "width")},
        **{key: f'{key} = "5 mm"' for key in ("lip", "rail_flange", "divider_height")},
        "lips": 'lips = "inward"',
        "dividers": 'dividers = ["0 mm"]',
        "cover": 'cover = "closed"',
        "rails": 'rails = "joined"',
        "open_area": 'open_area = "5 %"',
    }
    assert set(example) == set(governed(PROFILES))
    head = INSTALLATION.partition("[[trays]]")[0]
    common = f'[[trays]]\nname = "T"\nprofile = "{profile}"\nrests_at = ["0 m", "0 m"]\n'
    common += 'thickness = "1 mm"\nmaterial = "copper"\n'
    allowed = PROFILES[profile].allowed
    tray = loads(head + common + "\n".join(example[key] for key in allowed)).trays[0]
    assert all(getattr(tray, key) for key in allowed)
    found = problems_of(head + common + "\n".join(example.values()))
    assert {p.key.rpartition(" → ")[2] for p in found} == set(example) - set(allowed)
    assert all(p.wrong == f"does not go with {profile}" for p in found)
