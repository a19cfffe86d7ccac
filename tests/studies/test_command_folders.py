"""Folders that the command refuses to write results to, before anything is computed."""

import shutil
from pathlib import Path

import pytest

import studies.solve.accuracy
from studies.command import BAD_INPUT, DONE, main
from tests.permissions import obeys_permissions
from tests.studies.command_studies import run_once, snapshot, sound_place

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")


@pytest.fixture
def place(tmp_path, monkeypatch):
    return sound_place(tmp_path, monkeypatch)


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    return run_once(tmp_path_factory)


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
    monkeypatch.setattr(studies.solve.accuracy, "unit_fields", lambda *_, **__: pytest.fail("something was computed"))
    target = make(place)
    before = snapshot(place)
    assert main(["run", "feeder.toml", "--out", str(target)]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(str(target))
    assert "--out" in said.err
    assert "Traceback" not in said.err
    assert snapshot(place) == before


@obeys_permissions
@pytest.mark.parametrize("earlier", [False, True])
def test_a_folder_in_a_place_without_permission_is_refused(earlier, place, capsys):
    closed = place / "closed"
    (closed / "results").mkdir(parents=True)
    if not earlier:
        (closed / "results").rmdir()
    shut = closed / "results" if earlier else closed  # an earlier folder is written into, a new one is made
    shut.chmod(0o555)
    try:
        assert main(["run", "feeder.toml", "--out", str(closed / "results")]) == BAD_INPUT
    finally:
        shut.chmod(0o755)
    assert "no permission" in capsys.readouterr().err


def test_a_finished_folder_is_taken_as_one_of_results(finished, place):
    shutil.copytree(finished / "results", place / "out")
    before = snapshot(place / "out")
    assert main(["run", "-q", "feeder.toml", "--keep-mesh", "--out", str(place / "out")]) == DONE
    assert set(snapshot(place / "out")) == set(before)
