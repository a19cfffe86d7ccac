"""Cases a second on one core, by what changes from case to case, and what a second worker brings.

Run as `OMP_NUM_THREADS=1 python tests/benchmarks/sweeps.py`. Each line is the starter study with another current, gap,
frequency or metal in each of eight cases, solved by a worker that has solved one case already: processor seconds a
case, cases a second. Below, the seconds on the clock of sixteen cases of other gaps with one worker and with two,
start of the processes included, and their ratio; it says nothing on a machine with less than two idle cores.
`--smallest` solves two cases of the first line.
"""

import argparse
import json
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import studies
from studies.compare.case import Request
from studies.compare.case_key import case_key
from studies.compare.local import solved_locally
from studies.compare.worker import answer
from studies.output.numbers import software_versions
from studies.study.reading import loads_data

STARTER = Path(studies.__file__).parent / "study" / "starter.toml"
METALS = ("mild-steel", "aluminium-6061")
CHANGES: dict[str, tuple[str, str, Callable[[int], str]]] = {
    "currents": ("circuits", "current", lambda k: f"{401 + k} A"),
    "metals": ("trays", "material", lambda k: METALS[k % 2]),
    "frequencies": ("", "frequency", lambda k: f"{51 + k} Hz"),
    "gaps": ("circuits", "clear_gap", lambda k: f"{0.5 + 0.04 * k:.2f} diameter"),
}
"""Table and key that change, and the value in each case."""


def request(change: str, case: int) -> Request:
    """A case as a worker is asked for it."""
    data: dict[str, Any] = tomllib.loads(STARTER.read_text(encoding="utf-8"))
    for name in ("variants", "sweep"):
        data.pop(name, None)
    table, key, value = CHANGES[change]
    (data[table][0] if table else data)[key] = value(case)
    name = case_key(loads_data(data, "starter.toml"), software_versions())
    return Request(name, json.dumps({"key": name, "name": "starter.toml", "data": data}))


def seconds_of(change: str, cases: int) -> float:
    """Processor seconds of one case."""
    requests = [request(change, case) for case in range(cases)]
    start = time.process_time()
    for one in requests:
        found = json.loads(answer(one.text))
        if found["numbers"] is None:
            raise RuntimeError(found["message"])
    return (time.process_time() - start) / cases


def waited(workers: int, cases: int) -> float:
    """Seconds on the clock until some workers have solved all cases."""
    requests = [request("gaps", case) for case in range(cases)]
    start = time.perf_counter()
    if any(outcome.numbers is None for outcome in solved_locally(requests, workers)):
        raise RuntimeError("a case failed")
    return time.perf_counter() - start


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="two cases of the first line")
    smallest = parser.parse_args().smallest
    answer(request("gaps", -1).text)  # imports, and the mesh of another case
    print(f"{'other':14}{'s a case':>10}{'cases/s':>10}")
    for change in list(CHANGES)[:1] if smallest else CHANGES:
        spent = seconds_of(change, 2 if smallest else 8)
        print(f"{change:14}{spent:10.3f}{1 / spent:10.2f}", flush=True)
    if not smallest:
        one, two = (waited(workers, 16) for workers in (1, 2))
        print(f"\none worker {one:.2f} s, two {two:.2f} s, ratio {one / two:.2f}")


if __name__ == "__main__":
    main()
