"""A sound study in an empty folder, and one that was run, for the tests of the command line."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from studies.command import DONE, main
from tests.studies.feeder import FEEDER, FLOOR_LINE, TRAY, accuracy, replaced

# 0.5 uT at 1.5 m is exceeded by 400 A at 56 mm: sqrt(3) mu0 I s/(2 pi r^2) is 3.1 uT without the tray, and 2.3 uT
# with it; the tolerance is loose because these tests are of what is written, not of its digits
BASE = (
    FEEDER
    + TRAY
    + """
[[receptors]]
name = "instrument"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"
"""
    + FLOOR_LINE
    + """
[map]
window = [["-2 m", "-1 m"], ["2 m", "2 m"]]
"""
    + accuracy("10 %")
)
FLAT = 'arrangement = "flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]\n'
COLD = '[materials.m]\nconductivity = "6 MS/m"\nrelative_permeability = 1\ntemperature_coefficient = "0.02 1/K"\n'
COPPER_70 = 'material = "copper", area = "240 mm^2", temperature = "70 degC"'


def changed(*pairs: tuple[str, str]) -> str:
    return replaced(BASE, *pairs)


def snapshot(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by name."""
    files = [path for path in folder.rglob("*") if path.is_file() or path.is_symlink()]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files if path.exists()}


def command(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, as a user starts it."""
    line = [sys.executable, "-m", "studies.command", *map(str, arguments)]
    return subprocess.run(line, cwd=cwd, capture_output=True, text=True, timeout=120, check=False)


def numbers(folder: Path) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    return document


def sound_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty current folder with a sound study in it."""
    (tmp_path / "feeder.toml").write_text(BASE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study that was run once, with its mesh kept; for reading only."""
    folder = tmp_path_factory.mktemp("finished")
    study = folder / "feeder.toml"
    study.write_text(BASE, encoding="utf-8")
    assert main(["run", "-q", str(study), "--keep-mesh", "--out", str(folder / "results")]) == DONE
    return folder
