"""Run every example with two checkouts and list what differs in what a user gets.

    python tests/outputs/compare.py OLD NEW [--only NAME ...] [--keep FOLDER]

For a change that moves code and must change no number, and for one that must change those it names and no other. OLD
and NEW are checkouts, or folders that an earlier call has kept. Each example is run, checked and, where it has
variants, compared; the terminal's text and all files are kept. A text or an image either is the same or is named; of
results.json every number is set beside the other by its key, with the largest relative difference of each key.
"""

from __future__ import annotations

import argparse
import difflib
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

MISSING = object()
SECONDS = re.compile(r"^ *\d+\.\d s  ", re.MULTILINE)
"""What stands before a step of the progress."""


def main() -> int:
    """Make both sets of outputs and print their differences; 1 if there are any."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("old", type=Path)
    parser.add_argument("new", type=Path)
    parser.add_argument("--only", nargs="*", default=[], help="names of examples")
    parser.add_argument("--keep", type=Path, help="folder for the outputs of NEW, to serve as OLD later")
    parser.add_argument("--lines", type=int, default=6, help="changed lines shown of a text (default: 6)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        old = outputs(options.old, Path(scratch) / "old", options.only)
        new = outputs(options.new, options.keep or Path(scratch) / "new", options.only)
        differences = list(compared(old, new, options.lines))
    print("\n".join(differences) or "no difference")
    return 1 if differences else 0


def outputs(place: Path, folder: Path, only: list[str]) -> Path:
    """Folder with the outputs of a checkout; a folder that holds outputs is taken as it is."""
    if not (place / "studies").is_dir():
        return place
    examples = sorted((place / "studies" / "examples").glob("*.toml"))
    chosen = [path for path in examples if not only or path.stem in only]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(lambda path: make(place.resolve(), path.stem, folder.resolve()), chosen))
    if not only:
        said(place.resolve(), folder.resolve() / "verify.txt", ["verify"])
    return folder


def make(place: Path, name: str, folder: Path) -> None:
    """Run, check and compare one example into a folder."""
    study = str(place / "studies" / "examples" / f"{name}.toml")
    target = folder / name
    target.mkdir(parents=True, exist_ok=True)
    said(place, target / "check.txt", ["check", study])
    said(place, target / "run.txt", ["run", study, "-o", str(target / "run")])
    if "[[variants]]" in Path(study).read_text(encoding="utf-8"):
        said(place, target / "compare.txt", ["compare", study, "-o", str(target / "compare")])


def said(place: Path, target: Path, arguments: list[str]) -> None:
    """Keep what a command prints, with its exit status and without the names of folders."""
    environment = {**os.environ, "PYTHONPATH": str(place), "OMP_NUM_THREADS": "1", "COLUMNS": "80"}
    line = [sys.executable, "-m", "studies.command", *arguments]
    target.parent.mkdir(parents=True, exist_ok=True)
    done = subprocess.run(line, cwd=target.parent, env=environment, capture_output=True, text=True)
    text = f"{done.stdout}\n{done.stderr}\nstatus {done.returncode}\n"
    text = SECONDS.sub("  # s  ", text).replace(str(target.parent), "FOLDER").replace(str(place), "CHECKOUT")
    target.write_text(text, encoding="utf-8")


def compared(old: Path, new: Path, shown: int) -> Iterator[str]:
    """A line for each file, key or text that differs."""
    names = {path.relative_to(top) for top in (old, new) for path in top.rglob("*") if path.is_file()}
    for name in sorted(names):
        if not (old / name).exists() or not (new / name).exists():
            yield f"{name}: only in {'OLD' if (old / name).exists() else 'NEW'}"
            continue
        before, after = (old / name).read_bytes(), (new / name).read_bytes()
        if before == after:
            continue
        if name.name == "results.json":
            yield from numbers(str(name), json.loads(before), json.loads(after))
        elif name.suffix in (".txt", ".csv", ".html", ".md", ".json", ".toml"):
            yield from texts(str(name), before.decode(), after.decode(), shown)
        else:
            yield f"{name}: other bytes"


def texts(name: str, before: str, after: str, shown: int) -> Iterator[str]:
    """The first changed lines of a text."""
    changed = [
        line[:300]
        for line in difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
        if line[:1] in "+-" and line[:3] not in ("+++", "---")
    ]
    if changed:
        yield f"{name}: {len(changed)} lines changed"
        yield from (f"    {line}" for line in changed[:shown])


def numbers(name: str, before: object, after: object) -> Iterator[str]:
    """Each key of results.json whose values differ, with the largest relative difference."""
    found: dict[str, list[str | float]] = {}
    for key, one, two in pairs("", before, after):
        if one == two:
            continue
        both = isinstance(one, int | float) and isinstance(two, int | float)
        found.setdefault(key, []).append(
            abs(two - one) / max(abs(one), abs(two)) if both else f"{short(one)} -> {short(two)}"  # type: ignore[operator, arg-type]
        )
    for key, values in sorted(found.items()):
        relative = [value for value in values if isinstance(value, float)]
        others = [value for value in values if isinstance(value, str)]
        if relative:
            yield f"{name}: {key}: {len(relative)} numbers, at most {max(relative):.2g} of the value"
        if others:
            yield f"{name}: {key}: {len(others)} values, such as {others[0]}"


def pairs(key: str, one: object, two: object) -> Iterator[tuple[str, object, object]]:
    """Every value of two trees with its key, places in lists left out."""
    if isinstance(one, dict) and isinstance(two, dict):
        for name in {**one, **two}:
            yield from pairs(f"{key}.{name}", one.get(name, MISSING), two.get(name, MISSING))
    elif isinstance(one, list) and isinstance(two, list) and len(one) == len(two):
        for first, second in zip(one, two, strict=True):
            yield from pairs(key, first, second)
    else:
        yield key, one, two


def short(value: object) -> str:
    """A value in few signs."""
    return "missing" if value is MISSING else json.dumps(value)[:80]


if __name__ == "__main__":
    sys.exit(main())
