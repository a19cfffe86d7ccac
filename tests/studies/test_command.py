"""The command line: what each command does, says and leaves behind, and what it refuses."""

import json
import os
import pty
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import studies.accuracy
from fem.solve import SolveError
from studies.command import BAD_INPUT, DONE, LIMIT_EXCEEDED, NUMERICAL_FAILURE, main

# 0.5 uT at 1.5 m is exceeded by 400 A at 56 mm: sqrt(3) mu0 I s/(2 pi r^2) is 3.1 uT without the tray, and 2.3 uT
# with it; the tolerance is loose because these tests are of what is written, not of its digits
BASE = """title = "Feeder"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
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
material = "mild-steel"

[[receptors]]
name = "instrument"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"

[[traverses]]
name = "floor line"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 5

[map]
window = [["-2 m", "-1 m"], ["2 m", "2 m"]]

[accuracy]
tolerance = "10 %"
"""
FLAT = 'arrangement = "flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]\n'
CIRCUIT = BASE[BASE.index("[[circuits]]") : BASE.index("[[trays]]")]
TRAY = BASE[BASE.index("[[trays]]") : BASE.index("[[receptors]]")]
COLD = '[materials.m]\nconductivity = "6 MS/m"\nrelative_permeability = 1\ntemperature_coefficient = "0.02 1/K"\n'
COPPER_70 = 'material = "copper", area = "240 mm^2", temperature = "70 degC"'


def changed(*pairs: tuple[str, str]) -> str:
    text = BASE
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def snapshot(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by name."""
    files = [path for path in folder.rglob("*") if path.is_file() or path.is_symlink()]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files if path.exists()}


def command(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, as a user starts it."""
    line = [sys.executable, "-m", "studies.command", *map(str, arguments)]
    return subprocess.run(line, cwd=cwd, capture_output=True, text=True, timeout=120, check=False)


@pytest.fixture
def place(tmp_path, monkeypatch):
    """An empty current folder with a sound study in it."""
    (tmp_path / "feeder.toml").write_text(BASE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """A study that was run once, with its mesh kept; for reading only."""
    folder = tmp_path_factory.mktemp("finished")
    study = folder / "feeder.toml"
    study.write_text(BASE, encoding="utf-8")
    assert main(["run", "-q", str(study), "--keep-mesh", "--out", str(folder / "results")]) == DONE
    return folder


def numbers(folder: Path) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    return document


# --- what each command does ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["new", "check", "run"])
def test_help_of_each_command_ends_with_an_example_of_it(name, capsys):
    with pytest.raises(SystemExit) as left:
        main([name, "--help"])
    assert left.value.code == DONE
    assert f"Example: trayfield {name} feeder.toml" in " ".join(capsys.readouterr().out.split())


def test_help_names_every_command_and_exit_status(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    said = " ".join(capsys.readouterr().out.split())
    for word in ("new", "check", "run", "0 done", "1 a limit is exceeded", "2 bad input", "3 numerical failure"):
        assert word in said


@pytest.mark.parametrize("arguments", [[], ["draw"], ["run"], ["run", "a.toml", "--colour"], ["new"]])
def test_a_command_line_that_makes_no_sense_is_bad_input(arguments, capsys):
    with pytest.raises(SystemExit) as left:
        main(arguments)
    assert left.value.code == BAD_INPUT
    assert "usage: trayfield" in capsys.readouterr().err


def test_new_check_and_run_work_one_after_the_other_in_processes_of_their_own(tmp_path):
    new = command("new", "first.toml", cwd=tmp_path)
    assert (new.returncode, new.stderr) == (DONE, "")
    assert "first.toml written" in new.stdout
    check = command("check", "first.toml", cwd=tmp_path)
    assert (check.returncode, check.stderr) == (DONE, "")
    assert (tmp_path / "first.section.png").read_bytes().startswith(b"\x89PNG")
    assert not (tmp_path / "results").exists()
    for word in ("F1.1.conductor", "F1.3.conductor", "T1", "400", "instrument", "line beside the tray", "121 points"):
        assert word in check.stdout
    run = command("run", "first.toml", cwd=tmp_path)
    assert run.returncode == DONE
    assert "Above its limit: instrument." in run.stdout
    for name in ("results.json", "report.html", "field.vtu", "tables/losses.csv", "figures"):
        assert (tmp_path / "results" / "first" / name).exists(), name
    assert sorted(path.name for path in tmp_path.iterdir()) == ["first.section.png", "first.toml", "results"]
    assert [path.name for path in (tmp_path / "results").iterdir()] == ["first"]


def test_new_leaves_an_existing_file_as_it_is(place, capsys):
    assert main(["new", "feeder.toml"]) == BAD_INPUT
    assert (place / "feeder.toml").read_text(encoding="utf-8") == BASE
    assert "exists already" in capsys.readouterr().err


@pytest.mark.parametrize(
    "target", ["feeder", "feeder.txt", ".", "", "/", "..", "no-such-folder/feeder.toml", "x" * 300]
)
def test_new_refuses_what_cannot_be_a_study_file(target, place, capsys):
    assert main(["new", target]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert ".toml" in said.err
    assert [path.name for path in place.iterdir()] == ["feeder.toml"]


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_check_draws_in_the_format_of_the_ending(ending, place, capsys):
    assert main(["check", "feeder.toml", "--out", f"drawing.{ending}"]) == DONE
    start = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[ending]
    assert (place / f"drawing.{ending}").read_bytes().startswith(start)
    assert "Nothing was solved" in capsys.readouterr().out


@pytest.mark.parametrize("target", ["drawing.xyz", "drawing", "no-such-folder/drawing.png", "."])
def test_check_refuses_a_drawing_it_cannot_write(target, place, capsys):
    assert main(["check", "feeder.toml", "--out", target]) == BAD_INPUT
    assert "--out" in capsys.readouterr().err
    assert [path.name for path in place.iterdir()] == ["feeder.toml"]


# --- exit status, silence and progress ----------------------------------------------------------------------------


def test_an_exceeded_limit_is_status_1_only_when_asked_and_the_results_are_written_all_the_same(place, capsys):
    assert main(["run", "feeder.toml", "--fail-over-limit"]) == LIMIT_EXCEEDED
    assert "Above its limit: instrument." in capsys.readouterr().out
    receptor = numbers(place / "results" / "feeder")["receptors"][0]
    assert receptor["within_limit"] is False
    (place / "kept.toml").write_text(changed(('"0.5 uT"', '"50 uT"')), encoding="utf-8")
    assert main(["run", "kept.toml", "--fail-over-limit"]) == DONE
    assert "Above its limit" not in capsys.readouterr().out


@pytest.mark.parametrize("failure", [SolveError("no finite solution"), MemoryError("out of memory")])
def test_a_numerical_failure_is_status_3_and_leaves_nothing(failure, place, capsys, monkeypatch):
    def fail(*arguments, **choices):
        raise failure

    monkeypatch.setattr(studies.accuracy, "solve_unit_voltages", fail)
    assert main(["run", "feeder.toml"]) == NUMERICAL_FAILURE
    said = capsys.readouterr()
    assert f"numerical failure: {failure}" in said.err
    assert said.out == ""
    assert [path.name for path in place.iterdir()] == ["feeder.toml"]


def test_an_interrupt_is_told_in_one_line(place, capsys, monkeypatch):
    def interrupt(*arguments, **choices):
        raise KeyboardInterrupt

    monkeypatch.setattr(studies.accuracy, "solve_unit_voltages", interrupt)
    assert main(["run", "-q", "feeder.toml"]) == 130  # 128 + SIGINT, as shells have it
    assert capsys.readouterr().err == "stopped; nothing was written\n"
    assert [path.name for path in place.iterdir()] == ["feeder.toml"]


def test_quiet_says_nothing_at_all(place, capfd):
    assert main(["new", "-q", "other.toml"]) == DONE
    assert main(["check", "-q", "feeder.toml"]) == DONE
    assert main(["run", "-q", "feeder.toml"]) == DONE
    assert capfd.readouterr() == ("", "")


def test_quiet_says_nothing_when_a_mesh_is_read(finished, place, capfd):
    assert main(["run", "-q", "feeder.toml", "--mesh", str(finished / "results" / "section.msh")]) == DONE
    assert capfd.readouterr() == ("", "")


def test_progress_is_plain_lines_on_standard_error_where_there_is_no_terminal(place, capfd):
    assert main(["run", "feeder.toml"]) == DONE
    lines = capfd.readouterr().err.splitlines()
    assert len(lines) >= 6  # two meshes, two solves, figures, report at the least
    for line in lines:
        assert re.fullmatch(r" *\d+\.\d s  \w[^\r\x1b]*", line), line


def test_progress_is_one_renewed_line_on_a_terminal_and_is_wiped_at_the_end(place):
    leader, follower = pty.openpty()
    line = [sys.executable, "-m", "studies.command", "run", "feeder.toml"]
    with subprocess.Popen(line, cwd=place, stderr=follower, stdout=subprocess.DEVNULL) as process:
        os.close(follower)
        said = b""
        while True:
            try:
                piece = os.read(leader, 4096)
            except OSError:  # how Linux tells that the other side has closed
                break
            if not piece:
                break
            said += piece
    os.close(leader)
    assert process.returncode == DONE
    assert b"\n" not in said
    assert said.count(b"\r\x1b[2K") >= 7  # as many as there are plain lines, and the last wipe
    assert said.endswith(b"\r\x1b[2K")


def test_a_reader_that_leaves_early_changes_neither_results_nor_status(place):
    line = f'"{sys.executable}" -m studies.command run feeder.toml --fail-over-limit'
    script = f"{{ {line}; echo $? > status; }} 2>&1 | true"
    said = subprocess.run(["bash", "-c", script], cwd=place, capture_output=True, text=True, timeout=120, check=True)
    assert (place / "status").read_text().strip() == str(LIMIT_EXCEEDED)
    assert (place / "results" / "feeder" / "results.json").is_file()
    assert said.stderr == ""


# --- a mesh that is kept and used again ---------------------------------------------------------------------------


def test_a_kept_mesh_gives_the_same_numbers_within_their_error(finished, place):
    first = numbers(finished / "results")
    assert main(["run", "-q", "feeder.toml", "--mesh", str(finished / "results" / "section.msh")]) == DONE
    again = numbers(place / "results" / "feeder")
    assert again["accuracy"]["levels"][0]["unknowns"] == first["accuracy"]["levels"][-1]["unknowns"]
    for key, value, error in (
        ("receptors", "b_rms_t", "b_rms_error_t"),
        ("losses", "loss_w_per_m", "loss_error_w_per_m"),
    ):
        for one, other in zip(first[key], again[key], strict=True):
            # the estimate of the coarser run bounds its own error; the finer run adds its own
            assert abs(one[value] - other[value]) <= one[error] + other[error]
            assert other[value] == pytest.approx(one[value], rel=0.01)  # and both are the same physics


def test_without_the_choice_no_mesh_is_kept(place):
    assert main(["run", "-q", "feeder.toml"]) == DONE
    assert not (place / "results" / "feeder" / "section.msh").exists()


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


# --- bad results folders ------------------------------------------------------------------------------------------


def _file(place: Path) -> Path:
    (place / "out").write_text("my notes")
    return place / "out"


def _below_a_file(place: Path) -> Path:
    return _file(place) / "results"


def _other_things(place: Path) -> Path:
    (place / "out").mkdir()
    (place / "out" / "thesis.txt").write_text("three years")
    return place / "out"


def _other_results(place: Path) -> Path:
    (place / "out").mkdir()
    (place / "out" / "results.json").write_text('{"winner": "L2"}')
    return place / "out"


def _damaged_results(place: Path) -> Path:
    (place / "out").mkdir()
    (place / "out" / "results.json").write_text('{"schema": 1, "files": [')
    return place / "out"


def _link_to_nothing(place: Path) -> Path:
    (place / "out").symlink_to(place / "gone")
    return place / "out"


def _too_long(place: Path) -> Path:
    return place / ("x" * 300)


@pytest.mark.parametrize(
    "make", [_file, _below_a_file, _other_things, _other_results, _damaged_results, _link_to_nothing, _too_long]
)
def test_a_folder_that_is_not_one_of_results_is_refused_before_anything_is_computed(make, place, capsys, monkeypatch):
    monkeypatch.setattr(studies.accuracy, "solve_unit_voltages", lambda *_, **__: pytest.fail("something was computed"))
    target = make(place)
    before = snapshot(place)
    assert main(["run", "feeder.toml", "--out", str(target)]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(str(target))
    assert "--out" in said.err
    assert "Traceback" not in said.err
    assert snapshot(place) == before


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
@pytest.mark.parametrize("earlier", [False, True])
def test_a_folder_in_a_place_without_permission_is_refused(earlier, place, capsys):
    closed = place / "closed"
    (closed / "results").mkdir(parents=True)
    if not earlier:
        (closed / "results").rmdir()
    closed.chmod(0o555)
    try:
        assert main(["run", "feeder.toml", "--out", str(closed / "results")]) == BAD_INPUT
    finally:
        closed.chmod(0o755)
    assert "no permission" in capsys.readouterr().err


def test_a_finished_folder_is_taken_as_one_of_results(finished, place):
    shutil.copytree(finished / "results", place / "out")
    before = snapshot(place / "out")
    assert main(["run", "-q", "feeder.toml", "--keep-mesh", "--out", str(place / "out")]) == DONE
    assert set(snapshot(place / "out")) == set(before)
