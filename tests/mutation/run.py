"""Plant faults in the code, one at a time, and count those that no test notices.

    python tests/mutation/run.py readers --sample 300 --seed 1

mutmut makes the faults (an operator, a number, a text, an argument each) and runs the tests that call the function
concerned. A sample of them is drawn, since all of them take days. The score and every survivor with its change are
written to `build/mutation/GROUP.md`. `pip install mutmut` first; it is no dependency of the tests. The tests of
`numbers` are those that notice most within seconds: the pinned numbers, and what solves little beside them.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SURVIVED, NO_TEST, SKIPPED = 0, 33, 34
"""Exit codes of mutmut for faults that are not noticed, that no test runs, and that are left out."""


@dataclass(frozen=True)
class Group:
    """Modules whose faults are planted together, and the tests that should notice."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]
    but: tuple[str, ...] = ()
    """Modules among them that are left out, since these tests do not look at what they make."""
    solved_once: bool = False
    """The solutions of the examples do not depend on these modules: they are computed once for all faults."""
    remembered: bool = False
    """What `geometry` and `fem` give to the same arguments is computed once for all faults."""


GROUPS = {
    "formulas": Group(("studies/formulas/*",), ("tests/formulas",)),
    "readers": Group(
        (
            "studies/report/*",
            "studies/output/*",
            "studies/text/*",
            "studies/answers/*words.py",
            "studies/answers/*tables.py",
            "studies/compare/report*.py",
        ),
        (
            *("tests/studies/test_cells.py", "tests/studies/test_said.py", "tests/studies/test_comparison_cells.py"),
            *("tests/studies/test_numbers.py", "tests/studies/test_report.py", "tests/studies/test_reservations.py"),
            *("tests/studies/test_tables.py", "tests/studies/test_terminal.py", "tests/studies/test_current_tables.py"),
            *("tests/studies/test_sweep_files.py", "tests/studies/test_sweep_words.py", "tests/studies/test_folder.py"),
            "tests/studies/test_viewer.py",
        ),
        solved_once=True,
    ),
    "numbers": Group(
        ("studies/answers/*", "studies/solve/*", "studies/section/run_bonds.py", "studies/section/lines.py"),
        (
            *("tests/studies/test_pinned_numbers.py", "tests/studies/test_route.py"),
            *("tests/studies/test_comparison_steps.py", "tests/studies/test_ladder_rails.py"),
            *("tests/studies/test_capacitance.py", "tests/studies/test_sweep_transposition.py"),
            "tests/studies/test_fault_steel.py",
            *("tests/studies/test_route_refusals.py", "tests/studies/test_route_screens.py"),
            *("tests/studies/test_reservations.py", "tests/studies/test_sequence_conventions.py"),
            *("tests/studies/test_exposure.py", "tests/studies/test_limit_rays.py", "tests/studies/test_map_extent.py"),
        ),
        but=(
            *("studies/answers/*words.py", "studies/answers/*tables.py", "studies/answers/*marks.py"),
            *("studies/answers/losses/developed.py", "studies/answers/element_fields.py", "studies/solve/mesh_size.py"),
            *("studies/answers/*figure.py", "studies/answers/figure_names.py", "studies/answers/orders/*"),
        ),
        remembered=True,
    ),
}
LEFT_OUT = "not mutmut and not registered_once and not killed and not browser"
"""Tests that look at the code itself, which has all faults side by side here, or that end processes."""

SETTINGS = """
[tool.mutmut]
source_paths = ["studies"]
only_mutate = {modules}
do_not_mutate = {but}
also_copy = ["fem", "geometry", "README.md", "DEVELOPERS.md", ".ci"]
pytest_add_cli_args = [{plugins}, "-m", "not slow", "-k", "{left_out}"]
pytest_add_cli_args_test_selection = {tests}
timeout_constant = 60.0
"""


def main() -> None:
    """Draw, run, report."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("group", choices=GROUPS)
    parser.add_argument("--sample", type=int, default=300, help="number of faults to plant (default: 300)")
    parser.add_argument("--seed", type=int, default=1, help="of the draw (default: 1)")
    parser.add_argument("--processes", type=int, default=os.cpu_count(), help="faults planted at a time")
    options = parser.parse_args()
    place = copied(options.group)
    mutmut(place, "none.such")  # makes all faults and finds the tests of each; then it finds nothing to run
    names = sorted(name for name, code in codes(place).items() if code != SKIPPED)
    drawn = random.Random(options.seed).sample(names, min(options.sample, len(names)))
    mutmut(place, *drawn, processes=options.processes)
    report(options.group, place, drawn, len(names))


def copied(group: str) -> Path:
    """A copy of the tracked files with the settings of a group; an earlier copy is removed."""
    place = ROOT / "build" / "mutation" / group
    shutil.rmtree(place, ignore_errors=True)
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    for name in listed.splitlines():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, place / name)
        if name.startswith("studies/formulas/"):
            (place / name).write_text(registered_below((ROOT / name).read_text(encoding="utf-8")), encoding="utf-8")
    chosen = GROUPS[group]
    plugins = ["tests.mutation.attribution", *(["tests.mutation.remembered"] if chosen.remembered else [])]
    settings = SETTINGS.format(
        modules=json.dumps(chosen.modules),
        but=json.dumps(chosen.but),
        tests=json.dumps(chosen.tests),
        plugins=", ".join(f'"-p", "{plugin}"' for plugin in plugins),
        left_out=LEFT_OUT,
    )
    with (place / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(settings)
    return place


def registered_below(source: str) -> str:
    """Source with each formula registered below its function: mutmut plants no faults in a decorated function."""
    lines = source.splitlines()
    functions = [node for node in ast.parse(source).body if isinstance(node, ast.FunctionDef) and node.decorator_list]
    for function in reversed(functions):
        decorator, end = function.decorator_list[0], function.end_lineno or 0
        above = slice(decorator.lineno - 1, decorator.end_lineno)
        lines.insert(end, "\n".join(lines[above]).removeprefix("@") + f"({function.name})")
        del lines[above]
    return "\n".join(lines) + "\n"


def mutmut(place: Path, *names: str, processes: int | None = 1) -> None:
    """Run mutmut in a copy for faults of these names."""
    environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    environment.pop("PYTHONPATH", None)  # the copy is to be imported, not the checkout
    if GROUPS[place.name].solved_once:
        environment["TRAYFIELD_TEST_SOLVED"] = str(place / "solved")
    program = Path(sys.executable).with_name("mutmut")
    line = [str(program), "run", "--max-children", str(processes), *names]
    with (place / "mutmut.log").open("ab") as log:
        subprocess.run(line, cwd=place, env=environment, stdout=log, stderr=log, check=False)


def codes(place: Path) -> dict[str, int | None]:
    """Exit code of each fault by its name, None where it was not planted."""
    found: dict[str, int | None] = {}
    for path in sorted((place / "mutants").rglob("*.meta")):
        found |= json.loads(path.read_text(encoding="utf-8"))["exit_code_by_key"]
    if not found:
        raise SystemExit(f"no faults were made; see {place / 'mutmut.log'}")
    return found


def report(group: str, place: Path, drawn: list[str], possible: int) -> None:
    """Write the score by module and the survivors with their changes, and print the score."""
    found = codes(place)
    unnoticed = [name for name in drawn if found[name] in (SURVIVED, NO_TEST)]
    planted = [name for name in drawn if found[name] is not None]
    modules = Counter(name.split(".x")[0] for name in planted)
    lost = Counter(name.split(".x")[0] for name in unnoticed)
    noticed = len(planted) - len(unnoticed)
    score = (
        f"{noticed} of {len(planted)} faults noticed, {noticed / max(len(planted), 1):.1%} ({possible} are possible)"
    )
    lines = [f"# Faults planted in {group}", "", score, "", "| module | planted | unnoticed |", "|---|---|---|"]
    lines += [f"| {module} | {count} | {lost[module]} |" for module, count in sorted(modules.items())]
    for name in unnoticed:
        change = subprocess.run(
            [str(Path(sys.executable).with_name("mutmut")), "show", name], cwd=place, capture_output=True, text=True
        ).stdout
        kept = [line for line in change.splitlines() if line[:1] in "+-" and line[:3] not in ("+++", "---")]
        lines += ["", f"`{name}`{' (no test runs it)' if found[name] == NO_TEST else ''}", "```diff", *kept, "```"]
    (place.parent / f"{group}.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(score)


if __name__ == "__main__":
    main()
