"""`trayfield verify`: what it prints, writes and refuses, and its exit status."""

import json
import re
from pathlib import Path

import numpy as np
import pytest

from studies.command import BAD_INPUT, DONE, NUMERICAL_FAILURE, main
from studies.verify import checks, inductance, induction_machine
from studies.verify.registry import FAMILIES, chosen_checks

QUICK = ["skin-fit", "strand-factors"]


def test_only_the_named_checks_are_run_and_shown(capsys):
    assert main(["verify", "--only", *QUICK]) == DONE
    said = capsys.readouterr()
    titles = re.findall(r"^([a-z0-9-]+): [A-Z]", said.out, re.MULTILINE)
    assert titles == QUICK
    assert "2 checks: 10 of 10 numbers within their tolerance (10 published, 0 own method)." in said.out
    assert "[confirmed, seen]" in said.out
    assert "check 2 of 2" in said.err


def test_the_head_names_the_columns(capsys):
    main(["verify", "--only", "skin-fit"])
    head = capsys.readouterr().out.splitlines()[1]
    assert re.split(r" {2,}", head) == ["Quantity", "Published", "Computed", "Unit", "Deviation (%)", "Verdict"]


def test_list_names_all_checks_and_runs_none(capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "run_checks", None)
    assert main(["verify", "--list", "-o", str(tmp_path / "record")]) == DONE
    said = capsys.readouterr().out
    assert all(check.name in said and check.title in said for check in chosen_checks())
    assert all(family.name in said.splitlines() for family in FAMILIES)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_check_is_bad_input_with_the_nearest_name(capsys):
    assert main(["verify", "--only", "strand-factor"]) == BAD_INPUT
    said = capsys.readouterr()
    assert "no check or family is named 'strand-factor'; did you mean 'strand-factors'?" in said.err
    assert said.out == ""


def test_the_record_holds_what_the_terminal_shows(capsys, tmp_path):
    folder = tmp_path / "results" / "feeder"
    assert main(["verify", "--only", *QUICK, "-o", str(folder)]) == DONE
    shown = [re.split(r" {2,}", line) for line in capsys.readouterr().out.splitlines() if line.endswith("  pass")]
    assert sorted(path.name for path in folder.iterdir()) == ["verification.json", "verification.md"]
    stored = json.loads((folder / "verification.json").read_text(encoding="utf-8"))
    assert len(shown) == len(stored["comparisons"]) == 10
    assert [float(row[2]) for row in shown] == pytest.approx([e["computed"] for e in stored["comparisons"]], rel=1e-6)
    assert stored["checks"] == QUICK
    assert stored["software"]["numpy"] == np.__version__
    assert f"- numpy {np.__version__}" in (folder / "verification.md").read_text(encoding="utf-8")


def test_no_clock_is_in_the_record(tmp_path):
    for name in ("a", "b"):
        assert main(["verify", "-q", "--only", "strand-factors", "team-30a", "-o", str(tmp_path / name)]) == DONE
    for file in ("verification.md", "verification.json"):
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_quiet_says_nothing_while_all_is_well(capsys):
    assert main(["verify", "-q", "--only", "skin-fit"]) == DONE
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("silence", [[], ["-q"]])
def test_a_tampered_value_fails_is_named_filed_and_gives_status_3(silence, capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(inductance, "strand_mean_radius", lambda radius, strands: 0.75 * radius)
    status = main(["verify", *silence, "--only", "strand-factors", "--out", str(tmp_path / "record")])
    assert status == NUMERICAL_FAILURE
    said = capsys.readouterr()
    assert "FAILED  strand-factors: mean radius over radius, 3 wires (formula)" in said.err
    assert ("FAIL\n" in said.out) is not bool(silence)
    stored = json.loads((tmp_path / "record" / "verification.json").read_text(encoding="utf-8"))
    assert stored["passed"] is False
    assert not any(entry["passed"] for entry in stored["comparisons"])


def test_a_tampered_problem_fails_too(monkeypatch, capsys):
    monkeypatch.setattr(induction_machine, "DENSITY", 3.11e6)
    assert main(["verify", "-q", "--only", "machine"]) == NUMERICAL_FAILURE
    assert "0 of 4 numbers within their tolerance" in capsys.readouterr().err


def test_a_check_that_cannot_be_computed_gives_status_3_and_writes_nothing(capsys, monkeypatch, tmp_path):
    def singular(*arguments: object) -> None:
        raise np.linalg.LinAlgError("singular matrix")

    monkeypatch.setattr(inductance, "bundle_mean_radius", singular)
    assert main(["verify", "-q", "--only", *QUICK, "-o", str(tmp_path / "record")]) == NUMERICAL_FAILURE
    said = capsys.readouterr().err
    assert said == "numerical failure: check 'strand-factors' could not be computed: singular matrix\n"
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_written_is_refused_before_anything_is_computed(capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "run_checks", None)
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert main(["verify", "-o", str(tmp_path / "file")]) == BAD_INPUT
    assert "is a file; name a folder with --out" in capsys.readouterr().err


def test_a_disk_that_fills_up_is_told_without_a_traceback(capsys, monkeypatch, tmp_path):
    def full(*arguments: object, **options: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    assert main(["verify", "-q", "--only", "skin-fit", "-o", str(tmp_path / "record")]) == BAD_INPUT
    assert "the record cannot be written" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_help_shows_an_example_and_the_options(capsys):
    with pytest.raises(SystemExit) as left:
        main(["verify", "--help"])
    assert left.value.code == DONE
    said = " ".join(capsys.readouterr().out.split())
    assert "Example: trayfield verify --out results/feeder" in said
    for option in ("--only NAME", "--list", "-o DIR", "-q"):
        assert option in said
