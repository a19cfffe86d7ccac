"""The command where the terminal has another encoding, takes nothing or is missing, and where the program fails."""

import importlib
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

import studies.output.write
from studies.command import DONE, LIMIT_EXCEEDED, NUMERICAL_FAILURE, PROGRAM_ERROR, main
from studies.text import streams as terminal
from tests.studies.command_studies import BASE, changed, numbers
from tests.studies.everything_asked import failing
from tests.studies.feeder import TRAY

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")

FULL = Path("/dev/full")
ONCE = changed((TRAY, ""), ('tolerance = "10 %"', 'tolerance = "20 %"'))
BAD_SURROGATE = os.fsdecode(b"caf\xe9")


def started(*arguments, cwd, **streams):
    """The command in a process of its own, with streams and environment as given."""
    environment = {**os.environ, **streams.pop("environment", {})}
    line = [sys.executable, "-m", "tests.few_points", *arguments]
    return subprocess.run(line, cwd=cwd, env=environment, timeout=120, check=False, **streams)


# --- signs that a terminal does not have --------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "cp437", "utf-8"])
def test_every_sign_is_written_in_every_encoding(encoding, monkeypatch):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    terminal.prepare()
    assert terminal.write("stdout", f"2.25 µT ± 0.03, 163 µΩ/m, 50\u202fHz, “é” − ∞ 中 {BAD_SURROGATE}\n")
    said = raw.getvalue().decode(encoding)
    expected = {
        "ascii": '2.25 uT +/- 0.03, 163 uohm/m, 50 Hz, "e" - infinite ? caf\\xe9\n',
        "utf-8": "2.25 µT ± 0.03, 163 µΩ/m, 50\u202fHz, “é” − ∞ 中 caf\\xe9\n",
        "cp1252": "2.25 µT ± 0.03, 163 µohm/m, 50 Hz, “é” - infinite ? caf\\xe9\n",
    }
    assert said == expected.get(encoding, said)
    assert "?" not in said.replace("?", "", said.count("中") == 0)


@pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")
def test_a_stream_that_takes_nothing_is_given_up_without_an_error():
    with FULL.open("w") as full, pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stderr", full)
        assert not terminal.write("stderr", "lost\n")
        assert terminal.write("stderr", "to nowhere\n")
        patch.setattr(sys, "stderr", None)
        assert not terminal.write("stderr", "nobody\n")


CASES = {
    "locale C": {"environment": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}},
    "full": {},
    "closed": {},
}


@pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("case", CASES)
def test_a_run_is_written_whatever_the_terminal_takes(case, tmp_path, monkeypatch):
    name = BAD_SURROGATE if case == "locale C" else "feeder"
    (tmp_path / f"{name}.toml").write_text(ONCE, encoding="utf-8")
    arguments = ("run", f"{name}.toml", "--fail-over-limit")
    if case == "full":  # what a full device does to the end of a process is read from its help
        monkeypatch.chdir(tmp_path)
        with FULL.open("w") as full, pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "stdout", full)
            patch.setattr(sys, "stderr", full)
            status = main(list(arguments))
    elif case == "closed":
        line = f"exec {sys.executable} -m tests.few_points {' '.join(arguments)} >&- 2>&-"
        status = subprocess.run(line, cwd=tmp_path, shell=True, timeout=120, check=False).returncode
    else:
        done = started(*arguments, cwd=tmp_path, capture_output=True, **CASES[case])
        status, said = done.returncode, done.stdout + done.stderr
        assert said.isascii()
        assert b"Traceback" not in said
        assert b"uT" in said
        assert b"ohm/km" in said
    assert status == LIMIT_EXCEEDED
    results = tmp_path / "results" / name
    assert numbers(results)["receptors"][0]["within_limit"] is False
    assert numbers(results)["failures"] == []
    assert {"report.html", "field.vtu", "figures", "tables"} <= {path.name for path in results.iterdir()}


def test_help_on_a_full_device_keeps_its_status(tmp_path):
    with FULL.open("w") as full:
        assert started("--help", cwd=tmp_path, stdout=full, stderr=full).returncode == DONE


# --- errors of the program ----------------------------------------------------------------------------------------


@pytest.fixture
def place(tmp_path, monkeypatch):
    (tmp_path / "feeder.toml").write_text(BASE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (IndexError("list index out of range"), PROGRAM_ERROR),
        (RecursionError("too deep"), PROGRAM_ERROR),
        (SystemExit(1), PROGRAM_ERROR),
        (ImportError("libGLU.so.1: cannot open"), PROGRAM_ERROR),
        (MemoryError(), NUMERICAL_FAILURE),
    ],
    ids=lambda value: type(value).__name__,
)
def test_an_error_that_ends_a_run_is_one_sentence_with_a_status_of_its_own(error, status, place, monkeypatch, capsys):
    monkeypatch.setattr(importlib.import_module("studies.answers.solutions"), "solve_to_tolerance", failing(error))
    assert main(["run", "-q", "feeder.toml", "--fail-over-limit"]) == status
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert type(error).__name__ in said.err
    assert str(error) in said.err
    if status == PROGRAM_ERROR:
        assert "Traceback" in (place / "results" / "feeder.error.txt").read_text(encoding="utf-8")
        assert "results/feeder.error.txt" in said.err


def test_debug_prints_the_traceback(place, monkeypatch, capsys):
    monkeypatch.setattr("studies.report.preview.preview", failing(IndexError("on purpose")))  # no module keeps it
    assert main(["check", "feeder.toml"]) == PROGRAM_ERROR
    assert "Traceback" not in capsys.readouterr().err
    assert main(["check", "feeder.toml", "--debug"]) == PROGRAM_ERROR
    assert "Traceback" in capsys.readouterr().err


def test_what_fails_after_the_solve_decides_the_status_and_is_named(place, monkeypatch, capsys):
    monkeypatch.setattr(studies.output.write, "write_field", failing(IndexError("on purpose")))
    assert main(["run", "feeder.toml", "--fail-over-limit"]) == PROGRAM_ERROR
    said = capsys.readouterr()
    for text in (said.out, said.err):
        assert "file field.vtu: IndexError: on purpose" in " ".join(text.split())
    assert "Above its limit: instrument" in said.out
    assert numbers(place / "results" / "feeder")["failures"] == [
        {"what": "file field.vtu", "why": "IndexError: on purpose"}
    ]


def test_a_failure_of_the_computation_after_the_solve_has_status_three(place, monkeypatch):
    monkeypatch.setattr(studies.output.write, "write_field", failing(MemoryError()))
    assert main(["run", "-q", "feeder.toml"]) == NUMERICAL_FAILURE
