"""What the command refuses: meshes, studies and files that it cannot use; nothing is touched."""

import re

import pytest

from studies.command import BAD_INPUT, DONE, main
from tests.studies.command_studies import COLD, COPPER_70, FLAT, changed, run_once, snapshot, sound_place
from tests.studies.feeder import CIRCUIT, TRAY

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")


@pytest.fixture
def place(tmp_path, monkeypatch):
    return sound_place(tmp_path, monkeypatch)


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    return run_once(tmp_path_factory)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        ([('name = "F1"', 'name = "G1"')], ("not the study's parts", "G1.1.conductor", "F1.1.conductor")),
        ([(TRAY, "")], ("not the study's parts", "T1")),
        ([('"56 mm"', '"80 mm"')], ("another cross-section", "F1.1.conductor")),
        ([('"1.5 mm"', '"2 mm"')], ("another cross-section", "T1")),
    ],
)
def test_a_mesh_of_another_study_is_refused(edit, words, finished, place, capsys):
    (place / "other.toml").write_text(changed(*edit), encoding="utf-8")
    assert main(["run", "other.toml", "--mesh", str(finished / "results" / "section.msh")]) == BAD_INPUT
    said = capsys.readouterr().err
    assert all(word in said for word in words)
    assert not (place / "results").exists()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("none.msh", None, "no such mesh file"),
        ("mesh.vtk", b"", ".msh"),
        ("empty.msh", b"", "not a mesh"),
        ("text.msh", b"this is no mesh\n", "not a mesh"),
        ("binary.msh", bytes(range(256)), "not a mesh"),
    ],
)
def test_a_file_that_is_no_mesh_is_refused(name, content, words, place, capsys):
    if content is not None:
        (place / name).write_bytes(content)
    assert main(["run", "feeder.toml", "--mesh", name]) == BAD_INPUT
    said = capsys.readouterr()
    assert name in said.err
    assert words in said.err
    assert "Traceback" not in said.err
    assert not (place / "results").exists()


# --- bad studies --------------------------------------------------------------------------------------------------

BAD_STUDIES: dict[str, tuple[list[tuple[str, str]], tuple[str, ...]]] = {
    "open quotes": ([('"50 Hz"', '"50 Hz')], ("line 2", "not valid TOML", "frequency")),
    "text without quotes": ([('"50 Hz"', "50 Hz")], ("line 2", 'frequency = "50 Hz"')),
    "unknown key": ([("spacing", "spacin")], ("spacin", '"56 mm"', "no known key", "right: spacing")),
    "unknown table": ([("[[receptors]]", "[[receptor]]")], ("receptor", "no known key", "right: receptors")),
    "wrong unit": ([('"56 mm"', '"56 A"')], ("spacing", '"56 A"', "no unit of length", '"56 mm"')),
    "bare number": ([('"56 mm"', "56")], ("spacing", "= 56", "bare number", '"56 mm"')),
    "negative thickness": ([('"1.7 mm"', '"-1.7 mm"')], ("cables.c240", "insulation", '"-1.7 mm"', "from 0.01 mm")),
    "no thickness": ([('"1.5 mm"', '"0 mm"')], ("trays[1]", "thickness", '"0 mm"', "from 0.01 mm")),
    # 240 mm2 has a radius of 8.740 mm, with 3.5 mm around it a diameter of 24.481 mm: 4.48 mm too little at 20 mm
    "cables that overlap": ([('"56 mm"', '"20 mm"')], ('"F1" cable 1', '"F1" cable 2', "4.48 mm", '"F1" cable 3')),
    "cables in one place": (
        [(FLAT, 'arrangement = "positions"\npositions = [["0 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]]\n')],
        ('"F1" cable 1', '"F1" cable 2', "24.5 mm"),
    ),
    # axes at 180 mm, wall at 150 mm
    "cables beyond the wall": ([('"56 mm"', '"180 mm"')], ('"F1" cable 1, 3', '"T1"', "30 mm", "wider tray")),
    "cables through the wall": ([('"56 mm"', '"150 mm"')], ('"F1" cable 1', '"F1" cable 3', '"T1"', "overlap by 12.")),
    "cables through the floor": (
        [('rests_at = ["0 mm", "0 mm"]\nphases', 'rests_at = ["0 mm", "-5 mm"]\nphases')],
        ('"F1" cable 2', '"T1"', "overlap by"),
    ),
    "trays that overlap": (
        [("[[receptors]]", TRAY.replace("T1", "T2") + "[[receptors]]")],
        ('"T1"', '"T2"', "overlap"),
    ),
    "metal on metal": (
        [('"1.7 mm"', '"0.01 mm"'), ('jacket = "1.8 mm"\n', ""), ('"56 mm"', '"17.51 mm"')],
        ("F1.1.conductor", "F1.2.conductor", "T1", "metal", "0.05 mm"),
    ),
    "unknown phase": ([('"L3"]', '"L4"]')], ("phases[3]", '"L4"', '"L1", "L2", "L3", "N", "PE"')),
    "no frequency": ([('"50 Hz"', '"0 Hz"')], ("frequency", '"0 Hz"', "above 0 Hz")),
    "negative frequency": ([('"50 Hz"', '"-50 Hz"')], ("frequency", '"-50 Hz"', "above 0 Hz")),
    "nan": ([('"400 A"', "nan")], ("current", "nan", "not a finite number", '"400 A"')),
    "nan in quotes": ([('"400 A"', '"nan A"')], ("current", '"nan A"', "not a finite number")),
    "infinite": ([('"400 A"', '"1e999 A"')], ("current", '"1e999 A"', "not a finite number")),
    "huge current": ([('"400 A"', '"1e9 A"')], ("current", '"1e9 A"', "100 kA")),
    "empty circuits": ([(CIRCUIT, ""), ("title", "circuits = []\ntitle")], ("circuits", "is empty", "[[circuits]]")),
    "no circuits": ([(CIRCUIT, "")], ("circuits", "is missing")),
    "unknown material": ([('"mild-steel"', '"mild-stel"')], ("material", '"mild-stel"', '"mild-steel"')),
    "unknown cable": ([('cable = "c240"', 'cable = "c24"')], ("cable", '"c24"', '"c240"')),
    "unknown arrangement": ([('"flat"', '"flatt"')], ("arrangement", '"flatt"', '"trefoil"')),
    "no current": ([('current = "400 A"\n', "")], ("current", "is missing", '"400 A"')),
    "a phase without current": ([('"400 A"', '{ L1 = "400 A", L2 = "400 A" }')], ("current", "L3", "is missing")),
    "tolerance of nothing": ([('"10 %"', '"0 %"')], ("tolerance", '"0 %"', "0.01 %")),
    "limit of nothing": ([('"0.5 uT"', '"0 uT"')], ("limit", '"0 uT"', "above 0 uT")),
    "half a point": ([('["1.5 m", "0.5 m"]', '["1.5 m"]')], ("instrument", "at", "list of two")),
    "a line without length": ([('["3 m", "1 m"]', '["-3 m", "1 m"]')], ("floor line", "to", "same point")),
    "a line of one point": ([("points = 5", "points = 1")], ("floor line", "points", "from 2")),
    "a window inside out": ([('["-2 m", "-1 m"], ["2 m"', '["2 m", "-1 m"], ["-2 m"')], ("window", "lower left")),
    "a bond of screens that are not": (
        [("[map]", '[[bonds]]\nparts = ["F1 screens", "T1"]\n\n[map]')],
        ("bonds[1]", "F1 screens", "has none"),
    ),
    "trefoil of four": (
        [(FLAT, 'arrangement = "trefoil"\nrests_at = ["0 mm", "0 mm"]\n'), ('"L3"]', '"L3", "N"]')],
        ("phases", "4 entries", "threes"),
    ),
    "too few positions": (
        [(FLAT, 'arrangement = "positions"\npositions = [["0 mm", "28 mm"]]\n')],
        ("positions", "3 phases"),
    ),
    "a name twice": (
        [("[[trays]]", CIRCUIT.replace('"0 mm"]', '"500 mm"]') + "[[trays]]")],
        ("circuits[2]", "already"),
    ),
    "a tray named as the air": ([('"T1"', '"air"')], ('trays "air"', "another name")),
    "strands beside their area": ([('"240 mm^2",', '"240 mm^2", diameter = "10 mm",')], ("diameter", "16.3 mm")),
    "ohm/m for ohm/km": (
        [('"240 mm^2",', '"240 mm^2", dc_resistance = "0.0754 ohm/m",')],
        ("dc_resistance", "ohm/km"),
    ),
    "colder than the law of its metal": (
        [(TRAY, TRAY + COLD), (COPPER_70, 'material = "m", area = "240 mm^2", temperature = "-100 degC"')],
        ("cables.c240", "conductor", "temperature", "-100 degC"),
    ),
    "many at once": (
        [
            ('"50 Hz"', '"50"'),
            ('"56 mm"', "56"),
            ('"400 A"', '"400 V"'),
            ('"mild-steel"', '"wood"'),
            ("points", "pionts"),
        ],
        ("5 things", "frequency", "spacing", "current", '"wood"', "pionts"),
    ),
}


@pytest.mark.parametrize("what", ["run", "check"])
@pytest.mark.parametrize("case", BAD_STUDIES)
def test_a_bad_study_is_refused_with_all_that_is_wrong_and_nothing_is_touched(case, what, place, capsys):
    edits, words = BAD_STUDIES[case]
    (place / "bad.toml").write_text(changed(*edits), encoding="utf-8")
    earlier = place / "results" / "bad"
    earlier.mkdir(parents=True)
    (earlier / "results.json").write_text('{"schema": 1, "files": ["report.html"]}', encoding="utf-8")
    (earlier / "report.html").write_text("<p>earlier</p>", encoding="utf-8")
    before = snapshot(place)
    assert main([what, "bad.toml"]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("bad.toml: ")
    assert "Traceback" not in said.err
    for word in words:
        assert word in said.err, word
    (told,) = re.findall(r"^bad\.toml: (\d+) thing", said.err)
    assert said.err.count("    right: ") == int(told)  # each problem comes with what would be right
    assert snapshot(place) == before


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("none.toml", None, ("no such file", "feeder.toml")),
        ("no-such-folder/none.toml", None, ("no such file", "no-such-folder")),
        (".", None, ("folder",)),
        ("x" * 300 + ".toml", None, ("cannot be read",)),
        ("latin.toml", 'title = "Büro"\n'.encode("latin-1"), ("line 1", "UTF-8")),
        ("null.toml", b'title = "a\x00b"\n', ("not valid TOML",)),
        ("empty.toml", b"", ("title", "frequency", "cables", "circuits", "4 things")),
        ("deep.toml", b"a = " + b"[" * 20000, ("nested",)),
    ],
)
def test_a_file_that_is_no_study_is_refused(name, content, words, place, capsys):
    if content is not None:
        (place / name).write_bytes(content)
    assert main(["run", name]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    for word in words:
        assert word in said.err, word
    assert not (place / "results").exists()


def test_circuits_above_a_narrower_tray_are_no_circuits_beyond_its_wall(place, capsys):
    higher = FLAT.replace('"56 mm"', '"200 mm"').replace('["0 mm", "0 mm"]', '["0 mm", "400 mm"]')
    (place / "stacked.toml").write_text(changed((FLAT, higher)), encoding="utf-8")
    assert main(["check", "stacked.toml"]) == DONE
    assert capsys.readouterr().err == ""
