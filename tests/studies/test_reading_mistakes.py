"""What is said about mistakes in a study file: key, value, what is wrong, what is right; all at once, each once."""

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from studies.compare.plan import plan_of
from studies.section.cross_section import cross_section
from studies.study.findings import Place
from studies.study.reading import loads
from studies.study.toml_text import key_lines
from studies.text.problems import StudyError
from tests.studies.sound_study import CONDUCTOR, SCREEN, changed, problems_of

ROOT = Path(__file__).parents[2]

# what is changed in the good study, the key that must be named, the value, what is wrong, the right form
BAD = [
    ('"50 Hz"', "50", "frequency", "50", "bare number", '"50 Hz"'),
    ('"50 Hz"', '"0 Hz"', "frequency", '"0 Hz"', "outside", "above 0 Hz and at most 20 kHz"),
    ('"50 Hz"', '"50 kW"', "frequency", '"50 kW"', "no unit of frequency", '"50 Hz"'),
    ('"50 Hz"', "nan", "frequency", "nan", "not a finite number", '"50 Hz"'),
    ('"50 Hz"', '["50 Hz"]', "frequency", '["50 Hz"]', "a list", '"50 Hz"'),
    ('title = "Feeder"', 'title = " "', "title", '" "', "is empty", "words"),
    ('title = "Feeder"', "title = 7", "title", "7", "not text", "words"),
    ('title = "Feeder"', 'titel = "Feeder"', "titel", '"Feeder"', "no known key", "title"),
    ('title = "Feeder"\n', "", "title", "", "is missing", 'title = "'),
    ('frequency = "50 Hz"\n', "", "frequency", "", "is missing", 'frequency = "50 Hz"'),
    ("[cables.c240]", "[[cables]]", "cables", "", "named tables", "[cables.c240] with single brackets"),
    ("[cables.c240]", '[cables."c→240"]', "cables.c→240", "", "not a name", "letters, digits"),
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
    ('"56 mm"', '"56,0 mm"', 'circuits[1] "F1" → spacing', '"56,0 mm"', "comma", '"56.0 mm"'),
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
    ('"400 A"', '"400,5 A"', 'circuits[1] "F1" → current', '"400,5 A"', "the decimal sign is a point", '"400.5 A"'),
    ('"400 A"', '"1,400 A"', 'circuits[1] "F1" → current', '"1,400 A"', "comma", '"1.400 A" or "1400 A"'),
    ('"L1", "L2"', '"L1", "S"', 'circuits[1] "F1" → phases[2]', '"S"', "phase", '"L2"; phases R, S, T are written L1'),
    ('"L3"]', '"c"]', 'circuits[1] "F1" → phases[3]', '"c"', "no known phase", '"L3"; phases A, B, C are written L1'),
    (
        *('"400 A"', '{ L1 = "4 A", V = "4 A", L2 = "4 A", L3 = "4 A" }', 'circuits[1] "F1" → current → V'),
        *('"4 A"', "no phase of this circuit", '"L2"; phases U, V, W are written L1'),
    ),
    ("400 A", "400 Å", 'circuits[1] "F1" → current', '"400 Å"', "one number followed by one unit", '"400 A"'),
    ('name = "F1"', 'name = "F→1"', 'circuits[1] "F→1" → name', '"F→1"', "not a name", "letters, digits"),
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
MORE_THAN_ONE = {"[[cables]]", '[cables."c→240"]', "[circuits]", "zzz", "start ="}


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
        '  line 15, circuits[1] "F1" → spacing = 56: is a bare number, its unit is missing\n'
        '      right: "56 mm" if that is the unit meant'
    )


def test_no_message_spreads_over_the_screen() -> None:
    for old, new, *_ in BAD:
        for problem in problems_of(changed((old, new))):
            assert all(len(line) < 250 for line in str(problem).splitlines())
            assert len(str(problem).splitlines()) == 2


# what is changed in the good study, and the line that a reader has to mend
ON_LINES = [
    ('frequency = "50 Hz"', "frequency = 50", "frequency = 50"),
    ('"240 mm^2"', '"240 mm"', "conductor ="),
    ('jacket = "1.8 mm"\n', "", "[cables.c240]"),
    ('"L1", "L2", "L3"]', '\n  "L1",\n  # go\n  "L4", "L3"]', '"L4"'),
    ('"400 A"', '{ L1 = "4 A", L2 = "4 A", L3 = 4 }', "current ="),
    ('name = "T1"', 'name = "F1"', 'name = "F1"\nprofile'),
    ('title = "Feeder"', 'title = """\nFeeder"""\nfrequenzy = 1', "frequenzy"),
    ("[accuracy]\n", "accuracy.", "accuracy."),
    ('"0.5 %"', '"50 %"', "tolerance"),
    ('at = ["1.5 m", "0.5 m"]', 'at = ["1.5 m",\n0.5]', "0.5]"),
]


@pytest.mark.parametrize(("old", "new", "there"), ON_LINES)
def test_a_mistake_names_its_line(old: str, new: str, there: str) -> None:
    text = changed((old, new)).replace('accuracy.tolerance = "0.5 %"', 'accuracy.tolerance = "50 %"')
    line = text[: text.index(there)].count("\n") + 1
    with pytest.raises(StudyError) as caught:
        loads(text, "feeder.toml")
    assert f"line {line}, {caught.value.problems[0].key}" in str(caught.value)
    assert {problem.line for problem in caught.value.problems if problem.key != "title"} >= {line}


def test_every_key_of_every_example_has_its_line() -> None:
    for file in sorted((ROOT / "studies" / "examples").glob("*.toml")):
        text = file.read_text(encoding="utf-8")
        lines, rows = key_lines(text), text.splitlines()
        for place, value in values_in(tomllib.loads(text)):
            assert place in lines, (file, place)
            if isinstance(value, str) and "\n" not in value:
                assert value in rows[lines[place] - 1], (file, place)


def values_in(tables: object, place: Place = ()) -> Iterator[tuple[Place, object]]:
    inner = tables.items() if isinstance(tables, dict) else enumerate(tables) if isinstance(tables, list) else ()
    for key, value in inner:
        yield from values_in(value, (*place, key))
    if not inner:
        yield place, tables


def test_text_without_quotes_is_shown_with_a_decimal_point() -> None:
    (problem,) = problems_of(changed(('"400 A"', "400,5 A")))
    assert problem.right.endswith('current = "400.5 A"')
    assert problem.key.startswith("line 18")


def test_what_the_geometry_forbids_names_its_line() -> None:
    text = changed(('"56 mm"', '"20 mm"'))
    with pytest.raises(StudyError) as caught:
        cross_section(loads(text, "feeder.toml"))
    assert caught.value.problems[0].key.startswith('circuits "F1" cable 1')
    assert {problem.line for problem in caught.value.problems} == {text[: text.index("[[circuits]]")].count("\n") + 1}


def test_a_wrong_variant_names_its_line() -> None:
    text = changed() + '[[variants]]\nname = "wide"\nset = { "trays.T1.inside_width" = "1 m" }\n'
    text += '[[variants]]\nname = "tight"\nset = { "circuits.F1.spacing" = "20 mm" }\n'
    with pytest.raises(StudyError) as caught:
        plan_of(text, "feeder.toml")
    assert {(problem.key[:13], problem.line) for problem in caught.value.problems} == {
        ('case "tight":', text[: text.rindex("[[variants]]")].count("\n") + 1)
    }
