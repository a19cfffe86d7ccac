"""How long a user waits: from a cold start of the command to the finished report of the starter study, and for sweeps.

Run as `python tests/benchmarks/demo.py`. Each line is one command in a process of its own, the median of three runs:
seconds on the clock, processor seconds with those of its workers, and peak memory. Modules are compiled before, as
those of an installed program are. A sweep has 20 cases of currents or of gaps besides the base study, in one worker.
Below, when each stage of the last command began, as it tells itself. `--smallest` runs the first two commands once.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

COMMANDS = (["--help"], ["check", "demo.toml"], ["run", "demo.toml"])
SWEEPS = {
    "currents": ("current", [f"{400 + k} A" for k in range(1, 21)]),
    "gaps": ("clear_gap", [f"{0.5 + 0.04 * k:.2f} diameter" for k in range(20)]),
}


@dataclass(frozen=True)
class Measured:
    """One process."""

    seconds: float
    processor_seconds: float
    peak_megabytes: float
    told: str
    """What it wrote to standard error."""


def measure(arguments: list[str], folder: Path) -> Measured:
    """Run the command and wait for it; a status other than 0 raises."""
    line = [sys.executable, "-m", "studies.command", *arguments]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")
    start = time.perf_counter()
    with tempfile.TemporaryFile("w+") as told:
        with subprocess.Popen(line, cwd=folder, stdout=subprocess.DEVNULL, stderr=told, env=environment) as process:
            _, status, usage = os.wait4(process.pid, 0)  # the resources of this child alone
            process.returncode = os.waitstatus_to_exitcode(status)
        seconds = time.perf_counter() - start
        told.seek(0)
        text = told.read()
    if process.returncode != 0:
        raise RuntimeError(f"{' '.join(line)} ended with {process.returncode}: {text}")
    return Measured(seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, text)  # Linux counts in kB


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="the first two commands once")
    smallest = parser.parse_args().smallest
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        measure(["new", "-q", "demo.toml"], folder)
        base, _, _ = (folder / "demo.toml").read_text(encoding="utf-8").partition("\n[[variants]]")
        for name, (key, values) in SWEEPS.items():
            grid = f'\n[sweep]\n"circuits.F1.{key}" = {values!r}\n'
            (folder / f"{name}.toml").write_text(base + grid, encoding="utf-8")
        sweeps = [["compare", f"{name}.toml", "--workers", "1", "--anew"] for name in SWEEPS]
        print(f"{'command':24}{'seconds':>10}{'processor s':>14}{'peak MB':>10}")
        for arguments in COMMANDS[:2] if smallest else (*COMMANDS, *sweeps):
            runs = [measure(arguments, folder) for _ in range(1 if smallest else 3)]
            middle = [
                statistics.median(getattr(run, name) for run in runs) for name in list(Measured.__annotations__)[:3]
            ]
            print(f"{' '.join(arguments[:2]):24}{middle[0]:10.2f}{middle[1]:14.2f}{middle[2]:10.0f}")
        written = sum(path.stat().st_size for path in (folder / "results").rglob("*") if path.is_file())
        print(f"\nwritten: {written / 1e6:.1f} MB\nstages of the last command, since its imports:\n{runs[-1].told}")


if __name__ == "__main__":
    main()
