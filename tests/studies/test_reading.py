"""The study file: what a good one becomes, and what is said about a bad one."""

import math
import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from studies.placement import GROUP_CLEAR_GAP, bond_parts, circuit_axes, construction, metal_layers
from studies.problems import Problem, StudyError
from studies.reading import load, loads
from studies.starter import STARTER
from studies.study import (
    Cable,
    Circuit,
    Conductor,
    Study,
    StudyFile,
    Traverse,
    material_of,
    phase_currents,
    screen_temperature,
)

GOOD = """
title = "Feeder"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
screen = { material = "copper", thickness = "0.2 mm" }
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "test-steel"

[materials.test-steel]
conductivity = "6.0 MS/m"
relative_permeability = 300

[[bonds]]
parts = ["F1 screens", "T1"]

[[receptors]]
name = "interferometer"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"

[[traverses]]
name = "floor line"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 121

[map]
window = [["-2 m", "-1 m"], ["2 m", "2 m"]]

[accuracy]
tolerance = "0.5 %"
"""

CONDUCTOR = 'conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }'
SCREEN = 'screen = { material = "copper", thickness = "0.2 mm" }'
POSITIONS = 'positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]]'


def changed(*pairs: tuple[str, str]) -> str:
    text = GOOD
    for old, new in pairs:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(StudyError) as caught:
        loads(text, "feeder.toml")
    return caught.value.problems


def test_a_study_holds_si_numbers() -> None:
    study = loads(GOOD, "feeder.toml")
    assert study.frequency == 50
    assert study.cables["c240"].insulation == pytest.approx(0.0017, rel=1e-12)
    assert study.circuits[0].spacing == pytest.approx(0.056, rel=1e-12)
    assert study.receptors[0].at == (1.5, 0.5)
    assert study.receptors[0].limit == pytest.approx(5e-7, rel=1e-12)
    assert study.traverses[0].start == (-3, 1)
    assert study.traverses[0].end == (3, 1)
    assert study.accuracy.tolerance == pytest.approx(0.005, rel=1e-12)
    assert study.source_name == "feeder.toml"
    assert study.source_text == GOOD


def test_a_study_without_tray_receptor_map_or_accuracy_is_enough() -> None:
    study = loads(GOOD.partition("[[trays]]")[0])
    assert (len(study.trays), len(study.receptors), len(study.bonds)) == (0, 0, 0)
    assert study.map is None
    assert study.accuracy.tolerance == 0.005


def test_a_study_cannot_be_changed_in_place() -> None:
    study = loads(GOOD)
    with pytest.raises(ValidationError, match="frozen"):
        study.frequency = 60.0


@pytest.mark.parametrize("name", ["metrology_hall_flat.toml", "metrology_hall_trefoil.toml"])
def test_the_examples_are_valid_and_say_that_they_are_invented(name: str) -> None:
    text = files("studies").joinpath("examples", name).read_text(encoding="utf-8")
    study = loads(text, name)
    assert "question" in text.splitlines()[0]
    assert "invented" in text
    assert study.receptors[0].limit == pytest.approx(5e-7, rel=1e-12)
    assert len(study.traverses) == 2
    assert study.map is not None


def test_the_examples_differ_in_formation_alone() -> None:
    folder = files("studies").joinpath("examples")
    flat, trefoil = (
        loads(folder.joinpath(f"metrology_hall_{kind}.toml").read_text(encoding="utf-8"))
        for kind in ("flat", "trefoil")
    )
    for key in ("frequency", "cables", "trays", "receptors", "traverses", "map", "accuracy"):
        assert getattr(flat, key) == getattr(trefoil, key)
    assert (flat.circuits[0].arrangement, trefoil.circuits[0].arrangement) == ("flat", "trefoil")


def test_the_starter_study_is_valid_as_it_stands() -> None:
    assert loads(STARTER, "new.toml").circuits[0].name == "F1"


def test_the_starter_study_stays_valid_with_its_commented_keys() -> None:
    text = STARTER.replace("# screen = {", "screen = {").replace("# cover =", "cover =")
    text = text.replace("# [materials", "[materials").replace("# conductivity", "conductivity")
    text = text.replace("# relative_p", "relative_p").replace("# [[bonds", "[[bonds").replace("# parts", "parts")
    study = loads(text)
    assert study.trays[0].cover == "closed"
    assert bond_parts(study, study.bonds[0]) == ("F1.1.screen", "F1.2.screen", "F1.3.screen", "T1")


def test_the_starter_study_stays_valid_with_everything_that_it_comments_out() -> None:
    statement = r"(?m)^# (?=\[\[?[a-z_.\-]+\]\]?(?:\s{2,}#|$)|[a-z_]+ = )"
    study = loads(re.sub(statement, "", STARTER))
    given = {name for name in StudyFile.model_fields if getattr(study, name)}
    assert given == set(StudyFile.model_fields) - {"drawing"}  # a drawing needs a file
    assert list(metal_layers(study.cables["c240"])) == ["screen", "sheath", "armour"]


# what is changed in the good study, the key that must be named, the value, what is wrong, the right form
BAD = [
    ('"50 Hz"', "50", "frequency", "50", "bare number", '"50 Hz"'),
    ('"50 Hz"', '"0 Hz"', "frequency", '"0 Hz"', "outside", "above 0 Hz and at most 20 kHz"),
    ('"50 Hz"', '"50 kW"', "frequency", '"50 kW"', 'no unit of frequency', '"50 Hz"'),
    ('"50 Hz"', "nan", "frequency", "nan", "not a finite number", '"50 Hz"'),
    ('"50 Hz"', '["50 Hz"]', "frequency", '["50 Hz"]', "a list", '"50 Hz"'),
    ('title = "Feeder"', 'title = " "', "title", '" "', "is empty", "words"),
    ('title = "Feeder"', "title = 7", "title", "7", "not text", "words"),
    ('title = "Feeder"', 'titel = "Feeder"', "titel", '"Feeder"', "no known key", "title"),
    ('title = "Feeder"\n', "", "title", "", "is missing", 'title = "'),
    ('frequency = "50 Hz"\n', "", "frequency", "", "is missing", 'frequency = "50 Hz"'),
    ("[cables.c240]", "[[cables]]", "cables", "", "named tables", "[cables.c240] with single brackets"),
    ("[cables.c240]", '[cables."c.240"]', "cables.c.240", "", "not a name", "letters, digits"),
    ('"copper", area', '"coper", area', "cables.c240 → conductor → material", '"coper"', "no known", '"copper"'),
    ('"240 mm^2"', '"240 mm"', "cables.c240 → conductor → area", '"240 mm"', 'unit "mm"', '"240 mm^2"'),
    ('"240 mm^2"', '"12/0 AWG"', "cables.c240 → conductor → area", '"12/0 AWG"', "wire gauge", '"4/0 AWG"'),
    ('"70 degC"', '"70 C"', "cables.c240 → conductor → temperature", '"70 C"', "unknown unit", '"70 degC"'),
    (', temperature = "70 degC"', "", "cables.c240 → conductor → temperature", "", "is missing", '"70 degC"'),
    (CONDUCTOR, 'conductor = "copper"', "cables.c240 → conductor", '"copper"', "not a table", "{ material ="),
    (SCREEN, 'screen = "copper"', "cables.c240 → screen", '"copper"', "not a table", "{ material ="),
    ('"1.7 mm"', '"0 mm"', "cables.c240 → insulation", '"0 mm"', "outside", "from 0.01 mm to 100 mm"),
    ('"1.7 mm"', '"-1.7 mm"', "cables.c240 → insulation", '"-1.7 mm"', "outside", "from 0.01 mm to 100 mm"),
    ('jacket = "1.8 mm"\n', "", "cables.c240 → jacket", "", "missing over a screen", 'jacket = "1.8 mm"'),
    ("jacket =", "jackett =", "cables.c240 → jackett", '"1.8 mm"', "no known key", "jacket"),
    ('"70 degC"', '"70 degC", diameter = "185 mm"', "cables.c240 → conductor → diameter", '"185 mm"', "area", "mm to"),
    (
        *('"70 degC"', '"70 degC", dc_resistance = "0.0754 ohm/m"', "cables.c240 → conductor → dc_resistance"),
        *('"0.0754 ohm/m"', "does not go with", "near 0.0718 ohm/km"),
    ),
    ('cable = "c240"', 'cable = "c204"', 'circuits[1] "F1" → cable', '"c204"', "no known cable", '"c240"'),
    ('"flat"', '"flatt"', 'circuits[1] "F1" → arrangement', '"flatt"', "no known arrangement", '"flat"'),
    ('"56 mm"', "56", 'circuits[1] "F1" → spacing', "56", "bare number", '"56 mm"'),
    ('"56 mm"', '"56"', 'circuits[1] "F1" → spacing', '"56"', "without a unit", '"56 mm"'),
    ('"56 mm"', '"56,0 mm"', 'circuits[1] "F1" → spacing', '"56,0 mm"', "comma", '"56 mm"'),
    ('spacing = "56 mm"\n', "", 'circuits[1] "F1" → spacing', "", "missing", 'clear_gap = "1 diameter"'),
    (
        *('spacing = "56 mm"', 'spacing = "56 mm"\nclear_gap = "1 diameter"', 'circuits[1] "F1" → spacing'),
        *('"56 mm"', "given twice", "exactly one of"),
    ),
    (
        *('spacing = "56 mm"', 'clear_gap = "1 dia"', 'circuits[1] "F1" → clear_gap'),
        *('"1 dia"', "unknown unit", '"1 diameter"'),
    ),
    ('rests_at = ["0 mm", "0 mm"]\nph', "ph", 'circuits[1] "F1" → rests_at', "", "is missing", 'rests_at = ["0 mm"'),
    ('["0 mm", "0 mm"]\nph', '["0 mm"]\nph', 'circuits[1] "F1" → rests_at', '["0 mm"]', "list of two", "x and y"),
    ('["0 mm", "0 mm"]\nph', '["0 mm", 0]\nph', 'circuits[1] "F1" → rests_at[2]', "0", "bare number", '"0 m"'),
    ('"L1", "L2"', '"L1", "L4"', 'circuits[1] "F1" → phases[2]', '"L4"', "no known phase", '"L1"'),
    ('["L1", "L2", "L3"]', "[]", 'circuits[1] "F1" → phases', "[]", "is empty", '["L1", "L2", "L3"]'),
    ('["L1", "L2", "L3"]', '"L1"', 'circuits[1] "F1" → phases', '"L1"', "not a list", '["L1", "L2", "L3"]'),
    ('["L1", "L2", "L3"]', '["L1"]', 'circuits[1] "F1" → current', '"400 A"', "does not say", "a current for each"),
    ('"400 A"', '"400 kA"', 'circuits[1] "F1" → current', '"400 kA"', "outside", "from 0 A to 100 kA"),
    ('"400 A"', '{ L1 = "4 A", L2 = "4 A" }', 'circuits[1] "F1" → current → L3', "", "is missing", 'L3 = "400 A"'),
    (
        *('"400 A"', '{ L1 = "4 A", L2 = "4 A", L3 = "4 A", L4 = "4 A" }', 'circuits[1] "F1" → current → L4'),
        *('"4 A"', "no phase of this circuit", '"L1"'),
    ),
    (
        *('"400 A"', '{ L1 = "4 A", L2 = ["4 A"], L3 = "4 A" }', 'circuits[1] "F1" → current → L2'),
        *('["4 A"]', "not a current and its angle", '["390 A", "-118 deg"]'),
    ),
    ("400 A", "400 Å", 'circuits[1] "F1" → current', '"400 Å"', "one number followed by one unit", '"400 A"'),
    ('name = "F1"', 'name = "F.1"', 'circuits[1] "F.1" → name', '"F.1"', "not a name", "letters, digits"),
    ('name = "F1"', 'name = ""', "circuits[1] → name", '""', "is empty", "letters, digits"),
    ('name = "T1"', 'name = "F1"', 'trays[1] "F1" → name', '"F1"', "already the name of circuits[1]", "of its own"),
    ("[[circuits]]", "[circuits]", "circuits", "", "not a list of tables", "[[circuits]] with double brackets"),
    ('"channel"', '"chanel"', 'trays[1] "T1" → profile', '"chanel"', "no known profile", '"channel"'),
    ('"test-steel"', '"mild-stel"', 'trays[1] "T1" → material', '"mild-stel"', "no known material", '"mild-steel"'),
    ("inside_width", "inside_widht", 'trays[1] "T1" → inside_widht', '"300 mm"', "no known key", "inside_width"),
    ("inside_width", "zzz", 'trays[1] "T1" → zzz', '"300 mm"', "no known key", "name, profile, rests_at"),
    ('"1.5 mm"', '"1.5 mm"\ncover = "open"', 'trays[1] "T1" → cover', '"open"', "no known cover", '"closed"'),
    ("[materials.test-steel]", "[materials.copper]", "materials.copper", "", "built-in", '"copper-2"'),
    ('conductivity = "6.0 MS/m"\n', "", "materials.test-steel", "", "no conductivity", 'conductivity = "6.0 MS/m"'),
    ("= 300", '= "300"', "materials.test-steel → relative_permeability", '"300"', "plain number", "without quotes"),
    ("= 300", "= 0", "materials.test-steel → relative_permeability", "0", "outside 1 to", "300"),
    ("= 300", "= nan", "materials.test-steel → relative_permeability", "nan", "outside 1 to", "300"),
    ('"F1 screens", "T1"', '"F1 screns", "T1"', "bonds[1] → parts[1]", '"F1 screns"', "no known part", '"F1 screens"'),
    (
        '"F1 screens", "T1"',
        '"F1.4.screen", "T1"',
        "bonds[1] → parts[1]",
        '"F1.4.screen"',
        "no known part",
        "F1 screens",
    ),
    ('"F1 screens", "T1"', '"F1.1.conductor", "T1"', "bonds[1] → parts[1]", '"F1.1.conductor"', "conductor", '"T1"'),
    ('"F1 screens", "T1"', '"T1"', "bonds[1] → parts", '["T1"]', "only one part", '["F1 screens", "T1"]'),
    (
        *('"F1 screens", "T1"', '"F1 screens", "F1.2.screen"', "bonds[1] → parts[2]"),
        *('"F1.2.screen"', "already in this bond", "each part in one bond"),
    ),
    (SCREEN + "\n", "", "bonds[1] → parts[1]", '"F1 screens"', "whose cable has none", '"T1"'),
    ('"0.5 uT"', '"0.5 A/m"', 'receptors[1] "interferometer" → limit', '"0.5 A/m"', 'unit "A/m"', '"0.5 uT"'),
    ('to = ["3 m"', 'to = ["-300 cm"', 'traverses[1] "floor line" → to', '"-300 cm"', "same point", "another point"),
    ("points = 121", "points = 1", 'traverses[1] "floor line" → points', "1", "outside 2 to", "121"),
    ("points = 121", "points = 9.5", 'traverses[1] "floor line" → points', "9.5", "not a whole number", "121"),
    ("points = 121", "points = true", 'traverses[1] "floor line" → points', "true", "not a whole number", "121"),
    ("from =", "start =", 'traverses[1] "floor line" → start', '["-3 m", "1 m"]', "no known key", "from"),
    ('["2 m", "2 m"]', '["-2 m", "2 m"]', "map → window", '["-2 m", "2 m"]]', "no extent", "lower left"),
    ('["2 m", "2 m"]', '["2 m", "-2 m"]', "map → window", '["2 m", "-2 m"]]', "no extent", "lower left"),
    ('"0.5 %"', '"50 %"', "accuracy → tolerance", '"50 %"', "outside", "from 0.01 % to 20 %"),
    ('"0.5 %"', "0.5", "accuracy → tolerance", "0.5", "bare number", '"0.5 %"'),
]


@pytest.mark.parametrize(("old", "new", "key", "value", "wrong", "right"), BAD)
def test_a_bad_key_is_named_with_its_value_and_the_right_form(
    old: str, new: str, key: str, value: str, wrong: str, right: str
) -> None:
    matching = [p for p in problems_of(changed((old, new))) if p.key == key and wrong in p.wrong]
    assert len(matching) == 1, problems_of(changed((old, new)))
    assert value in matching[0].value
    assert right in matching[0].right
    assert matching[0].file == "feeder.toml"


# these take away a whole table or a needed key, so that two things are truly wrong
MORE_THAN_ONE = {"[[cables]]", '[cables."c.240"]', "[circuits]", "zzz", "start ="}


@pytest.mark.parametrize(
    ("old", "new"),
    [(old, new) for old, new, *_ in BAD if new not in MORE_THAN_ONE],
)
def test_one_mistake_is_told_once(old: str, new: str) -> None:
    found = problems_of(changed((old, new)))
    # what is renamed is missed where it is used: a circuit or tray in its bond, a material in its tray
    users = {'name = "F1"': 1, 'name = "T1"': 1, "[materials.test-steel]": 1}
    assert len(found) == 1 + users.get(old, 0)


def test_everything_wrong_is_told_at_once_in_the_order_of_the_file() -> None:
    text = changed(
        ('"50 Hz"', "50"),
        ('"copper", area', '"coper", area'),
        ('"56 mm"', '"56"'),
        ('"L1", "L2"', '"L1", "L4"'),
        ('cable = "c240"', 'cable = "c204"'),
        ('"channel"', '"chanel"'),
        ("points = 121", "points = 1"),
        ('["2 m", "2 m"]', '["-2 m", "2 m"]'),
    )
    keys = [
        *("frequency", "cables.c240 → conductor → material", 'circuits[1] "F1" → cable', 'circuits[1] "F1" → spacing'),
        *('circuits[1] "F1" → phases[2]', 'trays[1] "T1" → profile', 'traverses[1] "floor line" → points'),
        "map → window",
    ]
    found = [p.key for p in problems_of(text)]
    assert [key for key in found if key in keys] == keys


def test_the_message_is_readable_in_a_terminal() -> None:
    with pytest.raises(StudyError) as caught:
        loads(changed(('"56 mm"', "56")), "feeder.toml")
    assert str(caught.value) == (
        "feeder.toml: 1 thing to put right\n"
        '  circuits[1] "F1" → spacing = 56: is a bare number, its unit is missing\n'
        '      right: "56 mm" if that is the unit meant'
    )


def test_no_message_spreads_over_the_screen() -> None:
    for old, new, *_ in BAD:
        for problem in problems_of(changed((old, new))):
            assert all(len(line) < 250 for line in str(problem).splitlines())
            assert len(str(problem).splitlines()) == 2


@pytest.mark.parametrize(
    ("text", "key", "wrong", "right"),
    [
        (changed(('"56 mm"', "56 mm")), "line 15, column", "spacing = 56 mm", 'spacing = "56 mm"'),
        (changed(("[[circuits]]", "[[circuits]")), "line 11, column", "[[circuits]", "[[list of tables]]"),
        (changed(('current = "400 A"', 'current = "400 A"\ncurrent = "4 A"')), "line 19", "current", "once"),
        (changed(('"Feeder"', '"Feeder')), "line 2, column", "title", "quotes"),
    ],
)
def test_broken_toml_is_told_with_its_line(text: str, key: str, wrong: str, right: str) -> None:
    (problem,) = problems_of(text)
    assert problem.key.startswith(key)
    assert wrong in problem.wrong
    assert right in problem.right


def test_an_empty_file_is_told_what_a_study_needs() -> None:
    assert [p.key for p in problems_of("")] == ["title", "frequency", "cables", "circuits"]


@pytest.mark.parametrize("key", ["source_name", "source_text", "harmonics"])
def test_keys_that_are_no_part_of_the_file_are_refused(key: str) -> None:
    (problem,) = problems_of(f'{key} = "x"\n{GOOD}')
    assert (problem.key, problem.wrong) == (key, "is no known key")


def test_a_file_is_read_with_byte_order_mark_and_line_ends_of_any_system(tmp_path: Path) -> None:
    path = tmp_path / "feeder.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    study = load(path)
    assert study.title == "Feeder"
    assert study.source_name == str(path)
    assert not study.source_text.startswith("\ufeff")


def test_the_micro_sign_may_be_typed_either_way() -> None:
    for sign in ("\u00b5", "\u03bc"):
        assert loads(changed(("0.5 uT", f"0.5 {sign}T"))).receptors[0].limit == pytest.approx(5e-7, rel=1e-12)


def test_a_missing_file_is_told_with_the_nearest_one(tmp_path: Path) -> None:
    (tmp_path / "feeder.toml").write_text(GOOD, encoding="utf-8")
    with pytest.raises(StudyError, match=r"no such file(.|\n)*feeder\.toml, which is in that folder"):
        load(tmp_path / "feedr.toml")


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="no folder"):
        load(tmp_path / "nowhere" / "feeder.toml")


def test_a_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="this is a folder"):
        load(tmp_path)


def test_a_file_without_permission_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_path: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    with pytest.raises(StudyError, match="cannot be read \\(Permission denied\\)"):
        load(tmp_path / "feeder.toml")


def test_text_that_is_not_utf8_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "feeder.toml"
    path.write_bytes(GOOD.replace("uT", "\u00b5T").encode("latin-1"))
    with pytest.raises(StudyError, match=r"line 3\d: this is not UTF-8"):
        load(path)


@pytest.mark.parametrize(
    "text", ["a = " + "9" * 5000, "a = 0x" + "f" * 5000, "a = " + "[" * 3000, "a" + ".a" * 900 + " = 1"]
)
def test_an_absurd_file_is_told_and_not_crashed_on(text: str) -> None:
    assert problems_of(text)


TOML_VALUES = st.recursive(
    st.text(max_size=5) | st.integers() | st.floats() | st.booleans() | st.datetimes().map(lambda d: d.isoformat()),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["L1", "name", "material", "x"]), inner)
    ),
    max_leaves=4,
)


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {as_toml(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(sign):08x}" for sign in value if not 0xD800 <= ord(sign) < 0xE000) + '"'
    return repr(value)


@given(st.sampled_from(range(len(GOOD.splitlines()))), TOML_VALUES)
def test_any_value_anywhere_gives_a_study_or_told_problems(number: int, value: object) -> None:
    lines = GOOD.splitlines()
    key, equals, _ = lines[number].partition(" = ")
    if equals:
        lines[number] = f"{key} = {as_toml(value)}"
    told: tuple[Problem, ...] = ()
    try:
        loads("\n".join(lines))
    except StudyError as error:
        told = error.problems
    assert all(problem.wrong and problem.right for problem in told)


def test_a_table_of_currents_takes_balanced_angles_where_none_are_stated() -> None:
    table = '{ L1 = "400 A", L2 = ["390 A", "-118 deg"], L3 = "380 A" }'
    currents = phase_currents(loads(changed(('"400 A"', table))).circuits[0])
    assert currents["L1"] == pytest.approx(400, rel=1e-12)
    assert currents["L2"] == pytest.approx(390 * np.exp(-1j * math.radians(118)), rel=1e-12)
    assert currents["L3"] == pytest.approx(380 * np.exp(1j * math.radians(120)), rel=1e-12)


def test_a_neutral_current_needs_an_angle() -> None:
    text = changed(
        ('["L1", "L2", "L3"]', '["L1", "L2", "L3", "N"]'),
        ('"400 A"', '{ L1 = "4 A", L2 = "4 A", L3 = "4 A", N = "1 A" }'),
    )
    (problem,) = problems_of(text)
    assert problem.key == 'circuits[1] "F1" → current → N'
    assert "no angle" in problem.wrong
    currents = phase_currents(loads(text.replace('N = "1 A"', 'N = ["1 A", "30 deg"]')).circuits[0])
    assert currents["N"] == pytest.approx(np.exp(1j * math.pi / 6), rel=1e-12)


# a cable of 240 mm^2: radius sqrt(240/pi) = 8.7404 mm; 1.7 + 0.2 + 1.8 mm of layers; diameter 24.8808 mm, by hand
DIAMETER = 2 * (math.sqrt(240e-6 / math.pi) + 3.7e-3)


def test_a_conductor_without_diameter_is_the_circle_of_its_area() -> None:
    cable = construction(loads(GOOD).cables["c240"])
    assert cable.diameter == pytest.approx(DIAMETER, rel=1e-12)
    stated = loads(changed(('"70 degC"', '"70 degC", diameter = "18.5 mm"')))
    assert construction(stated.cables["c240"]).conductor_radius == pytest.approx(9.25e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("keys", "pitch"),
    [('spacing = "56 mm"', 0.056), ('clear_gap = "1 diameter"', 2 * DIAMETER), ('clear_gap = "0 mm"', DIAMETER)],
)
def test_flat_cables_lie_at_the_stated_spacing_or_gap(keys: str, pitch: float) -> None:
    study = loads(changed(('spacing = "56 mm"', keys)))
    axes = circuit_axes(study, study.circuits[0])
    assert axes == pytest.approx(np.array([[x * pitch, DIAMETER / 2] for x in (-1, 0, 1)]), abs=1e-12)


def test_trefoil_groups_stand_at_the_usual_gap_unless_stated() -> None:
    trefoil = changed(
        ('"flat"\nspacing = "56 mm"', '"trefoil"'),
        ('["L1", "L2", "L3"]', '["L1", "L2", "L3", "L1", "L2", "L3"]'),
    )
    for key, gap in (("", GROUP_CLEAR_GAP * DIAMETER), ('group_clear_gap = "30 mm"\n', 0.03)):
        study = loads(trefoil.replace("phases", f"{key}phases"))
        axes = circuit_axes(study, study.circuits[0])
        assert axes[3, 0] - axes[1, 0] - DIAMETER == pytest.approx(gap, abs=1e-12)


def test_positions_are_taken_as_they_are() -> None:
    study = loads(changed(('"flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]', f'"positions"\n{POSITIONS}')))
    expected = np.array([[-0.056, 0.028], [0, 0.028], [0.056, 0.028]])
    assert circuit_axes(study, study.circuits[0]) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("pairs", "key", "wrong"),
    [
        ([('"flat"\nspacing = "56 mm"', f'"positions"\n{POSITIONS}')], "rests_at", "does not go with positions"),
        ([('"flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]', '"positions"')], "positions", "is missing"),
        ([('"flat"\nspacing', '"trefoil"\nspacing'), ('"L2", "L3"]', '"L2", "L3", "N"]')], "phases", "in threes"),
        ([("spacing =", 'group_clear_gap = "1 mm"\nspacing =')], "group_clear_gap", "does not go with flat"),
        (
            [
                ('"flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]', f'"positions"\n{POSITIONS}'),
                ('"L2", "L3"]', '"L2"]'),
            ],
            "positions",
            "3 positions for 2 phases",
        ),
    ],
)
def test_keys_that_do_not_go_with_the_arrangement_are_told(pairs: list[tuple[str, str]], key: str, wrong: str) -> None:
    (problem,) = problems_of(changed(*pairs))
    assert problem.key == f'circuits[1] "F1" → {key}'
    assert wrong in problem.wrong


@pytest.mark.parametrize("table", ["receptors", "traverses"])
def test_a_second_place_of_the_same_name_is_told(table: str) -> None:
    block = GOOD.partition(f"[[{table}]]")[2].partition("\n[")[0]
    (problem,) = problems_of(f"{GOOD}\n[[{table}]]{block}")
    assert problem.wrong == f"is already the name of {table}[1]"


def test_a_material_of_the_study_may_be_given_by_resistivity() -> None:
    study = loads(changed(('conductivity = "6.0 MS/m"', 'resistivity = "0.2 uohm*m"')))
    assert material_of(study, "test-steel").conductivity == pytest.approx(5e6, rel=1e-12)
    assert material_of(study, "copper").relative_permeability == 1


def test_a_screen_is_as_warm_as_its_conductor_unless_stated() -> None:
    assert screen_temperature(loads(GOOD).cables["c240"]) == 70
    warm = changed(('thickness = "0.2 mm"', 'thickness = "0.2 mm", temperature = "60 degC"'))
    assert screen_temperature(loads(warm).cables["c240"]) == 60


def cable_from_python(**changes: object) -> dict[str, object]:
    conductor = Conductor(material="copper", area=240e-6, temperature=70.0)
    return {"cables": {"c240": Cable(conductor=conductor, insulation=1.7e-3, jacket=1.8e-3)}, **changes}


def circuit_from_python(**changes: object) -> Circuit:
    keys = {"name": "F1", "cable": "c240", "arrangement": "flat", "spacing": 0.056, "rests_at": (0.0, 0.0)}
    return Circuit.model_validate({**keys, "phases": ("L1", "L2", "L3"), "current": 400.0, **changes})


def test_python_takes_si_numbers_and_text_alike() -> None:
    for spacing in (0.056, "56 mm"):
        circuit = circuit_from_python(spacing=spacing)
        study = Study.model_validate(
            cable_from_python(title="x", frequency=50.0, circuits=(circuit,), receptors=()),
        )
        assert study.circuits[0].spacing == pytest.approx(0.056, rel=1e-12)
    assert Traverse(name="a", start=(0.0, 0.0), end=(1.0, 0.0)).points == 121


def test_python_meets_the_same_checks() -> None:
    with pytest.raises(ValidationError, match="outside what is allowed for this spacing"):
        circuit_from_python(spacing=-0.056)
    for changes, wrong in (({"cable": "c204"}, "no known cable"), ({"phases": ("L1",)}, "does not say")):
        with pytest.raises(ValidationError, match=wrong):
            Study.model_validate(
                cable_from_python(title="x", frequency=50.0, circuits=(circuit_from_python(**changes),))
            )
