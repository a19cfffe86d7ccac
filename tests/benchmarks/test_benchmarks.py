"""Each benchmark runs, in its smallest size, so that it does not rot; no time is asserted."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent
ROOT = FOLDER.parents[1]
SCRIPTS = sorted(path.name for path in FOLDER.glob("*.py") if not path.name.startswith(("test_", "_", "all")))
FIRST_LINE = {
    "abuse.py": r"8 attempts, seeds 1312 to 1319, 0 broke",
    "answers.py": r"as it is +\d+\.\d\d +0\.00 +1\.00",
    "peer.py": r"    3      0.7     3, 2, 2 +\d+ +0.0\d\d +0.0\d\d",  # the two agree to 0.1 %
    "sweeps.py": r"currents +\d+\.\d+ +\d+\.\d\d",
    "orders.py": r"12 cables +2 receptors +11,550 +11,550 +\d+\.\d\d +\d+ +yes",
    "demo.py": r"--help +\d+\.\d\d",
    "trays.py": r" 2 equal +of groups +\d{5}( +\d+\.\d+){3} +\d+ +\d+\.\d+",
    "solving.py": r"three cables +0\.7 +4 +\d{4,}( +\d+\.\d+){9} +\d+",
}


def test_every_benchmark_is_run_here():
    assert sorted(FIRST_LINE) == SCRIPTS


@pytest.mark.parametrize("name", SCRIPTS)
@pytest.mark.slow
def test_a_benchmark_prints_its_table(name):
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    line = [sys.executable, str(FOLDER / name), "--smallest"]
    done = subprocess.run(line, capture_output=True, text=True, timeout=300, check=False, env=environment)
    assert (done.returncode, done.stderr) == (0, "")
    assert re.search(FIRST_LINE[name], done.stdout)
    assert not re.search(r"\bnan\b|\binf\b", done.stdout)
