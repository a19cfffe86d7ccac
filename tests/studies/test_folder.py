"""The results folder: all or nothing, the same every time, and careful with what others put there."""

import errno
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

import studies.output.files
import studies.output.write
from studies.command import BAD_INPUT, DONE, main
from studies.output.folder import FolderError, check_folder, whole_folder
from studies.output.write import write_results
from studies.runner import run
from studies.study.reading import loads
from studies.text.file_names import slugs
from tests.studies.feeder import FEEDER, FLOOR_LINE, accuracy

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")

STUDY = (
    FEEDER
    + """
[[receptors]]
name = "instrument"
at = ["1.5 m", "0.5 m"]
"""
    + FLOOR_LINE
    + accuracy("10 %")
)
WITHOUT_TRAVERSE = STUDY[: STUDY.index("[[traverses]]")] + STUDY[STUDY.index("[accuracy]") :]


def silent(message: str) -> None:
    """Progress that nobody reads."""


def snapshot(folder: Path) -> dict[str, bytes]:
    files = [path for path in folder.rglob("*") if path.is_file()]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def earlier_results(folder: Path) -> dict[str, bytes]:
    """A folder as a run leaves it, and what is in it."""
    (folder / "figures").mkdir(parents=True)
    (folder / "report.html").write_text("earlier report")
    (folder / "figures" / "map.png").write_bytes(b"earlier map")
    (folder / "results.json").write_text('{"schema": 1, "files": ["figures/map.png", "report.html"]}')
    return snapshot(folder)


def fill(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(f"new {name}")
    (folder / "results.json").write_text(json.dumps({"schema": 1, "files": sorted(names)}))


@pytest.fixture(scope="module")
def result():
    return run(loads(STUDY))


# --- whole or not at all ------------------------------------------------------------------------------------------


def test_a_new_folder_appears_whole_and_alone(tmp_path):
    with whole_folder(tmp_path / "results" / "feeder") as folder:
        fill(folder, "report.html", "figures/map.png")
        assert not [name for name in snapshot(tmp_path) if "/." not in name]
    assert set(snapshot(tmp_path)) == {
        f"results/feeder/{name}" for name in ("report.html", "figures/map.png", "results.json")
    }
    assert [path.name for path in (tmp_path / "results").iterdir()] == ["feeder"]


@pytest.mark.parametrize(
    "failure",
    [ValueError("bug"), OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt(), MemoryError()],
    ids=lambda failure: type(failure).__name__,
)
@pytest.mark.parametrize("earlier", [False, True])
def test_a_failure_while_writing_leaves_all_as_it_was(failure, earlier, tmp_path):
    target = tmp_path / "feeder"
    before = earlier_results(target) if earlier else {}

    def write_and_fail() -> None:
        with whole_folder(target) as folder:
            fill(folder, "report.html")
            raise failure

    with pytest.raises(type(failure)):
        write_and_fail()
    assert target.exists() == earlier
    assert snapshot(tmp_path) == {f"feeder/{name}": content for name, content in before.items()}
    assert len(list(tmp_path.iterdir())) == earlier


@pytest.mark.parametrize("failing", range(1, 7))  # the three earlier ones, and three new ones
@pytest.mark.parametrize("failure", [PermissionError(errno.EACCES, "Permission denied"), KeyboardInterrupt()])
def test_where_a_file_cannot_be_moved_the_earlier_ones_stay_and_new_ones_are_not_lost(
    failing, failure, tmp_path, monkeypatch
):
    target = tmp_path / "feeder"
    before = earlier_results(target)
    replace, calls = Path.replace, []

    def failing_replace(self, new):
        calls.append(new)
        if len(calls) == failing:
            raise failure  # as a spreadsheet does that holds a table open
        return replace(self, new)

    monkeypatch.setattr(Path, "replace", failing_replace)
    raised = FolderError if isinstance(failure, OSError) else KeyboardInterrupt
    with pytest.raises(raised) as told, whole_folder(target) as folder:
        fill(folder, "report.html", "tables/a.csv")
    assert len(calls) >= failing
    after = snapshot(target)
    if raised is FolderError:
        assert "Permission denied" in str(told.value)
        assert "whole in new files there" in str(told.value)
        assert after.pop("new files/report.html") == b"new report.html"
        assert after.pop("new files/tables/a.csv") == b"new tables/a.csv"
        assert "tables/a.csv" in json.loads(after.pop("new files/results.json"))["files"]
    assert after == before
    assert {path.name for path in target.iterdir()} <= {"figures", "report.html", "results.json", "new files"}


NO_SPACE = OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize(
    ("step", "failure"),
    [
        *((step, KeyboardInterrupt()) for step in ("save_figures", "write_report", "write_field", "tables")),
        *(("results_text", failure) for failure in (KeyboardInterrupt(), NO_SPACE)),
    ],
)
def test_an_interrupt_or_a_disk_without_room_leaves_the_earlier_results(step, failure, result, tmp_path, monkeypatch):
    target = tmp_path / "feeder"
    before = earlier_results(target)

    def fail(*arguments, **choices):
        raise failure

    monkeypatch.setattr(studies.output.write, step, fail)
    with pytest.raises(type(failure)):
        write_results(result, target, silent)
    assert snapshot(target) == before
    assert list(tmp_path.iterdir()) == [target]


def test_a_disk_too_full_for_figures_costs_the_figures_alone(tmp_path, monkeypatch, capsys):
    (tmp_path / "feeder.toml").write_text(STUDY)
    monkeypatch.chdir(tmp_path)

    def full(*arguments, **choices):
        raise NO_SPACE

    monkeypatch.setattr(studies.output.write, "save_figures", full)
    assert main(["run", "-q", "feeder.toml"]) == BAD_INPUT
    said = capsys.readouterr().err
    assert said.startswith("disk full after the solve: figures: OSError: [Errno 28] No space left on device")
    assert "results/feeder" in said
    assert "Traceback" not in said
    assert {"results/feeder/results.json", "results/feeder/report.html"} <= set(snapshot(tmp_path))


def test_results_that_their_folder_does_not_take_are_written_to_another(tmp_path, monkeypatch, capsys):
    (tmp_path / "feeder.toml").write_text(STUDY)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "elsewhere"))
    (tmp_path / "elsewhere").mkdir()
    real = whole_folder

    def full(target, kind):
        if "elsewhere" not in str(target):
            raise NO_SPACE
        return real(target, kind)

    monkeypatch.setattr(studies.output.files, "whole_folder", full)
    assert main(["run", "-q", "feeder.toml"]) == BAD_INPUT
    said = capsys.readouterr().err
    (place,) = (tmp_path / "elsewhere").glob("*/feeder")
    assert "No space left on device" in said
    assert str(place) in said
    assert (place / "results.json").exists()


@pytest.mark.parametrize("asked", [["run"], ["run", "-q"]], ids=" ".join)
def test_results_that_go_nowhere_are_told_and_their_summary_is_printed(asked, tmp_path, monkeypatch, capsys):
    (tmp_path / "feeder.toml").write_text(STUDY)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))

    def full(target, kind):
        raise NO_SPACE

    monkeypatch.setattr(studies.output.files, "whole_folder", full)
    assert main([*asked, "feeder.toml"]) == BAD_INPUT
    said = capsys.readouterr()
    last = said.err.splitlines()[-1]
    no_room = "[Errno 28] No space left on device"
    told = f"the results cannot be written ({no_room}), nor elsewhere ({no_room}); make room, and run again"
    assert last == f"results/feeder: {told}"
    assert ("F1.1.conductor" in said.out) is ("-q" not in asked)


def test_a_disk_too_full_for_the_lock_is_told(tmp_path, monkeypatch, capsys):
    (tmp_path / "feeder.toml").write_text(STUDY)
    monkeypatch.chdir(tmp_path)

    def full(path, *arguments, **choices):
        raise NO_SPACE

    monkeypatch.setattr(Path, "write_text", full)
    assert main(["run", "-q", "feeder.toml"]) == BAD_INPUT
    said = capsys.readouterr().err
    assert said == "disk full: [Errno 28] No space left on device; make room, or write to another disk\n"


# --- what others put there ----------------------------------------------------------------------------------------


def test_files_of_users_survive_a_rerun_and_files_of_the_earlier_run_do_not(result, tmp_path):
    target = tmp_path / "feeder"
    write_results(result, target, silent)
    assert "tables/traverse_floor_line.csv" in snapshot(target)
    own = {
        "notes.txt": b"seen on site",
        "figures/photo.jpg": b"\xff\xd8",
        "photos/2/b.jpg": b"\xff\xd8",
        ".hidden": b"",
    }
    for name, content in own.items():
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        (target / name).write_bytes(content)
    (target / "empty").mkdir()
    (target / "link").symlink_to("notes.txt")
    write_results(run(loads(WITHOUT_TRAVERSE)), target, silent)
    after = snapshot(target)
    assert {name: after[name] for name in own} == own
    assert (target / "empty").is_dir()
    assert (target / "link").readlink() == Path("notes.txt")
    assert not [name for name in after if "floor_line" in name]
    assert list(tmp_path.iterdir()) == [target]


def test_a_file_of_a_user_with_the_name_of_a_new_one_is_kept_beside_it(tmp_path):
    target = tmp_path / "feeder"
    earlier_results(target)
    (target / "a.csv").write_text("mine")
    (target / "a (kept).csv").write_text("mine too")
    for _ in range(2):  # also when it is done again
        with whole_folder(target) as folder:
            fill(folder, "a.csv")
        after = {name: content.decode() for name, content in snapshot(target).items()}
        assert after.pop("results.json")
        assert after.pop("a.csv") == "new a.csv"
        assert sorted(after.values()) == ["mine", "mine too"]


def test_a_file_of_a_user_in_the_place_of_a_folder_is_kept_beside_it(tmp_path):
    target = tmp_path / "feeder"
    earlier_results(target)
    (target / "tables").write_text("mine")
    (target / "b.csv").mkdir()
    (target / "b.csv" / "notes").write_text("mine too")
    with whole_folder(target) as folder:
        fill(folder, "tables/a.csv", "b.csv")
    after = snapshot(target)
    assert after.pop("results.json")
    assert after == {
        "tables/a.csv": b"new tables/a.csv",
        "tables (kept)": b"mine",
        "b.csv": b"new b.csv",
        "b (kept).csv/notes": b"mine too",
    }


def test_a_link_to_a_folder_stays_a_link(tmp_path):
    (tmp_path / "disk").mkdir()
    (tmp_path / "feeder").symlink_to("disk")
    for _ in range(2):
        with whole_folder(tmp_path / "feeder") as folder:
            fill(folder, "report.html")
    assert (tmp_path / "feeder").is_symlink()
    assert set(snapshot(tmp_path / "disk")) == {"report.html", "results.json"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["disk", "feeder"]


@pytest.mark.parametrize("manifest", ['{"schema": 1}', '{"schema": 1, "files": null}', '{"schema": 1, "files": 5}'])
def test_results_without_a_list_of_files_are_taken_and_all_in_them_is_kept(manifest, tmp_path):
    target = tmp_path / "feeder"
    target.mkdir()
    (target / "results.json").write_text(manifest)
    (target / "notes.txt").write_text("mine")
    with whole_folder(target) as folder:
        fill(folder, "report.html")
    assert set(snapshot(target)) == {"report.html", "notes.txt", "results.json"}


@pytest.mark.parametrize("manifest", ["", "[]", "5", '{"files": []}', "\udcff", '{"schema": 1'])
def test_a_folder_whose_results_cannot_be_read_is_refused(manifest, tmp_path):
    (tmp_path / "results.json").write_text(manifest, errors="surrogateescape")
    with pytest.raises(FolderError, match="other things"):
        check_folder(tmp_path)


def test_an_empty_folder_is_as_good_as_none(tmp_path):
    (tmp_path / "feeder").mkdir()
    check_folder(tmp_path / "feeder")
    with whole_folder(tmp_path / "feeder") as folder:
        fill(folder, "report.html")
    assert set(snapshot(tmp_path / "feeder")) == {"report.html", "results.json"}


def test_a_place_without_permission_is_refused_before_anything_is_computed(tmp_path, monkeypatch):
    target = tmp_path / "closed" / "feeder"
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != target)
    check_folder(target)  # it is not there yet, and its parent may be written
    earlier_results(target)
    with pytest.raises(FolderError, match="no permission"):
        check_folder(target)


def test_the_folder_has_the_permissions_of_any_new_one(tmp_path):
    (tmp_path / "ordinary").mkdir()
    with whole_folder(tmp_path / "feeder") as folder:
        fill(folder, "report.html")
    assert (tmp_path / "feeder").stat().st_mode == (tmp_path / "ordinary").stat().st_mode


# --- the same every time ------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_the_same_study_gives_the_same_bytes_in_every_file(tmp_path):
    (tmp_path / "feeder.toml").write_text(STUDY)
    for seed in ("1", "2"):  # the order of sets differs
        asked = ["feeder.toml", "--keep-mesh", "--svg", "--out", seed]
        line = [sys.executable, "-m", "tests.few_points", "run", "-q", *asked]
        done = subprocess.run(line, cwd=tmp_path, env={**os.environ, "PYTHONHASHSEED": seed}, timeout=120, check=False)
        assert done.returncode == DONE
    one, two = snapshot(tmp_path / "1"), snapshot(tmp_path / "2")
    assert set(one) == set(two)
    assert [name for name in one if one[name] != two[name]] == []
    endings = {Path(name).suffix for name in one}
    assert endings == {".json", ".csv", ".html", ".png", ".svg", ".vtu", ".msh"}


# --- file names ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["Floor line"], ["floor_line"]),
        (["a b", "a-b", "a_b"], ["a_b", "a_b_2", "a_b_3"]),
        (["a", "a_2", "A"], ["a", "a_2", "a_3"]),
        (["--", "Größe 1"], ["unnamed", "grosse_1"]),
        (["../x", "a/b\\c"], ["x", "a_b_c"]),
    ],
)
def test_file_names_are_distinct_and_hold_no_path(names, expected):
    assert slugs(names) == expected


def test_a_long_name_in_any_letters_fits_a_file_system():
    # 60 characters at most in a study; this one folds to three letters of two bytes each
    for letter in ("x", "\u0390", "\U00010400"):
        (slug,) = slugs([letter * 60])
        assert len(f"traverse_{slug}.csv".encode()) <= 255  # bytes in a file name, Linux and macOS
