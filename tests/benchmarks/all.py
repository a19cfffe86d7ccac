"""All benchmarks, one below the other.

Run as `OMP_NUM_THREADS=1 python tests/benchmarks/all.py`, on an idle machine some twenty minutes; each script is one
process, whose lines stand below its name as it prints them alone. `--smallest` gives each its smallest size.
"""

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

FOLDER = Path(__file__).parent
SCRIPTS = ("demo", "sweeps", "answers", "solving", "trays", "orders", "peer")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="the smallest size of each")
    options = ["--smallest"] if parser.parse_args().smallest else []
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(FOLDER.parents[1]), os.environ.get("PYTHONPATH", "")]),
    }
    for name in SCRIPTS:
        start = time.perf_counter()
        line = [sys.executable, str(FOLDER / f"{name}.py"), *options]
        done = subprocess.run(line, capture_output=True, text=True, check=True, env=environment)
        print(f"--- {name} ({time.perf_counter() - start:.0f} s)")
        print("".join(f"  {row}\n" for row in done.stdout.splitlines()), flush=True)


if __name__ == "__main__":
    main()
