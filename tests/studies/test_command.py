"""The command line: what each command does, says and leaves behind."""

import os
import pty
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest

import studies.solve.accuracy
from fem.solve import SolveError
from studies.command import BAD_INPUT, DONE, LIMIT_EXCEEDED, NUMERICAL_FAILURE, main
from tests.studies.command_studies import BASE, changed, command, numbers, run_once, sound_place

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")


@pytest.fixture
def place(tmp_path, monkeypatch):
    return sound_place(tmp_path, monkeypatch)


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    return run_once(tmp_path_factory)


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
    assert "already exists" in capsys.readouterr().err


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

    monkeypatch.setattr(studies.solve.accuracy, "unit_fields", fail)
    assert main(["run", "feeder.toml"]) == NUMERICAL_FAILURE
    said = capsys.readouterr()
    assert f"numerical failure: {failure}" in said.err
    assert said.out == ""
    assert [path.name for path in place.iterdir()] == ["feeder.toml"]


def test_an_interrupt_is_told_in_one_line(place, capsys, monkeypatch):
    def interrupt(*arguments, **choices):
        raise KeyboardInterrupt

    monkeypatch.setattr(studies.solve.accuracy, "unit_fields", interrupt)
    assert main(["run", "-q", "feeder.toml"]) == 130  # 128 + SIGINT, as shells have it
    assert capsys.readouterr().err == "interrupted; nothing was written\n"
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


def test_progress_is_one_renewed_line_on_a_terminal_and_is_wiped_at_the_end(place, monkeypatch):
    leader, follower = pty.openpty()
    pieces: list[bytes] = []
    reader = threading.Thread(target=lambda: pieces.extend(iter(lambda: read(leader), b"")))
    reader.start()
    with os.fdopen(follower, "w", encoding="utf-8") as terminal:  # closes it, whose other side then ends
        monkeypatch.setattr(sys, "stderr", terminal)
        assert main(["run", "feeder.toml"]) == DONE
    reader.join()
    os.close(leader)
    said = b"".join(pieces)
    assert b"\n" not in said
    assert said.count(b"\r") >= 8  # as many as there are plain lines, and the last wipe
    assert said.endswith(b" \r")


def read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 4096)
    except OSError:  # how Linux tells that the other side has closed
        return b""


def test_a_reader_that_leaves_early_changes_neither_results_nor_status(place):
    line = f'"{sys.executable}" -m tests.few_points run feeder.toml --fail-over-limit'
    script = f"{{ {line}; echo $? > status; }} 2>&1 | true"
    said = subprocess.run(["bash", "-c", script], cwd=place, capture_output=True, text=True, timeout=120, check=True)
    assert (place / "status").read_text().strip() == str(LIMIT_EXCEEDED)
    assert (place / "results" / "feeder" / "results.json").is_file()
    assert said.stderr == ""


# --- a mesh that is kept and used again ---------------------------------------------------------------------------


@pytest.mark.slow
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


AS_NUMPY_IS_LOADED = """
import os, sys

class Look:
    def find_spec(self, name, path=None, target=None):
        if name == "numpy":
            print(os.environ.get("OPENBLAS_NUM_THREADS"), os.environ.get("OMP_NUM_THREADS"))

sys.meta_path.insert(0, Look())
"""
STARTS = {
    "command": 'from studies.command import main\nmain(["check", "-q", "none.toml"])',
    "script": 'import studies\nstudies.load("none.toml")',
}


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize(("set_by_the_user", "seen"), [({}, "1 1"), ({"OMP_NUM_THREADS": "4"}, "1 4")])
def test_libraries_are_loaded_for_one_thread_unless_the_user_says_otherwise(start, set_by_the_user, seen, tmp_path):
    kept = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    path = os.pathsep.join([str(Path(__file__).parents[2]), kept.get("PYTHONPATH", "")])
    line = [sys.executable, "-c", AS_NUMPY_IS_LOADED + STARTS[start]]
    environment = {**kept, "PYTHONPATH": path, **set_by_the_user}
    done = subprocess.run(line, capture_output=True, text=True, check=False, cwd=tmp_path, env=environment)
    assert done.stdout.split("\n")[0] == seen
