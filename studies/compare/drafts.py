"""The cases that a study file states by its `[[variants]]` and by the grid of its `[sweep]`, not checked yet."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Iterator

from studies.compare.case import Draft
from studies.compare.transposition import EXAMPLE as TRANSPOSE
from studies.compare.transposition import transpose_problem
from studies.study.dotted_keys import EXAMPLE, PathError, Tree, first_keys, joined, parts_of, with_value, without
from studies.study.entries import label_problem
from studies.text.problems import Problem, choice_of

LONGEST = 90
"""Longest value that is written out. [characters]"""


def words(value: object) -> str:
    """A value as in a study file, on one line and not too long."""
    if isinstance(value, dict):
        text = f"{{ {', '.join(f'{key} = {words(entry)}' for key, entry in value.items())} }}"
    elif isinstance(value, list):
        text = f"[{', '.join(words(entry) for entry in value)}]"
    elif value is None:
        return ""
    else:
        text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."


def value_in_name(value: object) -> str:
    """The same in the name of a case, of a list its entries alone."""
    if isinstance(value, list) and all(isinstance(entry, str | int | float) for entry in value):
        return " ".join(bare(entry) for entry in value)
    return bare(value)


def bare(value: object) -> str:
    """The same, of a text without its quotes."""
    return value if isinstance(value, str) else words(value)


VARIANT_KEYS = ("name", "set", "remove", "transpose")
"""Keys of a variant."""
CHANGING_KEYS = VARIANT_KEYS[1:]
SETTINGS = 'set = { "circuits.F1.spacing" = "60 mm" }'
LABEL = "case"
"""Key of the study that names it among its cases; a variant has a name of its own."""


def variants_of(entries: object, base: Tree, taken: set[str], file: str, problems: list[Problem]) -> Iterator[Draft]:
    """The cases of the variants, of entries under `variants` and the tables of the base study.

    `taken` holds the names of the base study. `problems` takes up what is wrong; a variant with problems is no case.
    """
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        problems.append(Problem(file, "variants", words(entries), "is not a list of tables", "[[variants]]"))
        return
    names: set[str] = set()
    for number, entry in enumerate(entries, 1):
        name = entry.get("name")
        place = f"variants[{number}]" + (f' "{name}"' if isinstance(name, str) and name else "")
        found = [*_name_problems(place, name, taken, names, file), *_key_problems(place, entry, file)]
        if isinstance(name, str):
            names.add(name)
        data, changes, circuits = _changed(place, entry, base, file, found)
        problems += found
        if not found:
            yield Draft(str(name), "variant", changes, data, transpose=circuits)


def label_in_place(path: str, file: str, place: str) -> Iterator[Problem]:
    """That a case sets the name of the base study."""
    if path == LABEL:
        yield Problem(file, place, "", "is the name of the base study alone", "another key; each variant has its name")


def _name_problems(place: str, name: object, taken: set[str], names: set[str], file: str) -> Iterator[Problem]:
    if name is None:
        yield Problem(file, f"{place} → name", "", "is missing", 'name = "trefoil"')
    elif problem := label_problem(name):
        yield Problem(file, f"{place} → name", words(name), *problem)
    elif name in taken:
        yield Problem(file, f"{place} → name", words(name), "is the first case, the study itself", "another name")
    elif name in names:
        yield Problem(file, f"{place} → name", words(name), "is the name of another variant", "a name for each")


def _key_problems(place: str, entry: Tree, file: str) -> Iterator[Problem]:
    for key in entry:
        if key not in VARIANT_KEYS:
            yield Problem(file, f"{place} → {key}", words(entry[key]), "is no known key", choice_of(key, VARIANT_KEYS))
    if not any(entry.get(key) for key in CHANGING_KEYS) and "transpose" not in entry:
        yield Problem(file, place, "", "changes nothing", f"{SETTINGS}, or remove = [{EXAMPLE}], or {TRANSPOSE}")


def _changed(
    place: str, entry: Tree, base: Tree, file: str, found: list[Problem]
) -> tuple[Tree, tuple[str, ...], tuple[str, ...]]:
    """The base study with what a variant removes, then sets, its changes in words, and the circuits that it transposes.

    What cannot be done is told.
    """
    data, changes = base, []
    removed, settings = entry.get("remove", []), entry.get("set", {})
    if not isinstance(removed, list) or not all(isinstance(path, str) for path in removed):
        found.append(Problem(file, f"{place} → remove", words(removed), "is not a list of keys", f"[{EXAMPLE}]"))
        removed = []
    if not isinstance(settings, dict):
        found.append(Problem(file, f"{place} → set", words(settings), "is not a table", SETTINGS))
        settings = {}
    for path in removed:
        try:
            data = without(data, path)
        except PathError as error:
            found.append(Problem(file, f"{place} → remove", words(path), error.wrong, error.right))
        else:
            changes.append(f"without {path}")
    for path, value in settings.items():
        found += label_in_place(path, file, f'{place} → set → "{path}"')
        try:
            data = with_value(data, path, value)
        except PathError as error:
            found.append(Problem(file, f'{place} → set → "{path}"', words(value), error.wrong, error.right))
        else:
            changes.append(f"{path} = {words(value)}")
    if "transpose" not in entry:
        return data, tuple(changes), ()
    circuits = entry["transpose"]
    if problem := transpose_problem(circuits, data):
        found.append(Problem(file, f"{place} → transpose", words(circuits), *problem))
        return data, tuple(changes), ()
    return data, (*changes, f"{' and '.join(circuits)} transposed at each third"), tuple(circuits)


MOST_CASES = 10_000
"""Most cases of a grid."""
GRID = '"circuits.F1.spacing" = ["30 mm", "56 mm", "80 mm"]'

Sweep = dict[str, list[object]]
"""Values of each swept key."""


def grid_of(entries: object, base: Tree, file: str, problems: list[Problem]) -> Sweep:
    """The values of each swept key of what stands under `sweep`; nothing where it has problems, which are told."""
    if not isinstance(entries, dict):
        problems.append(Problem(file, "sweep", words(entries), "is not a table", f"[sweep] with {GRID}"))
        return {}
    grid: Sweep = {}
    before = len(problems)
    for path, values in entries.items():
        place = f'sweep → "{path}"'
        problems += label_in_place(path, file, place)
        if isinstance(values, dict):
            key = joined([path, *first_keys(values)])
            right = f'the dotted key in quotes: "{key}"'
            problems.append(Problem(file, place, words(values), "is a table, not a list of values", right))
        elif not isinstance(values, list) or not values:
            wrong = "is empty" if values == [] else "is not a list of values"
            problems.append(Problem(file, place, words(values), wrong, GRID))
        elif twice := [value for number, value in enumerate(values) if value in values[:number]]:
            problems.append(Problem(file, place, words(twice[0]), "is there twice", "every value once"))
        else:
            try:
                with_value(base, path, values[0])
            except PathError as error:
                problems.append(Problem(file, place, "", error.wrong, error.right))
            else:
                grid[path] = values
    count = math.prod(len(values) for values in grid.values())
    if count > MOST_CASES:
        right = f"at most {MOST_CASES} cases, by fewer values or fewer keys"
        problems.append(Problem(file, "sweep", "", f"is a grid of {count} cases", right))
    return {} if len(problems) > before else grid


def swept(grid: Sweep, base: Tree) -> Iterator[Draft]:
    """The cases of a grid, the last key changing first."""
    if not grid:
        return
    labels = shortest_endings(list(grid))
    for values in itertools.product(*grid.values()):
        data = base
        for path, value in zip(grid, values, strict=True):
            data = with_value(data, path, value)
        name = ", ".join(f"{label} {value_in_name(value)}" for label, value in zip(labels, values, strict=True))
        short = ", ".join(map(value_in_name, values)) if len(labels) > 1 else ""
        changes = tuple(f"{path} = {words(value)}" for path, value in zip(grid, values, strict=True))
        yield Draft(name, "sweep", changes, data, short)


def shortest_endings(paths: list[str]) -> list[str]:
    """The shortest endings of dotted keys that tell them apart."""
    parts = [parts_of(path) for path in paths]
    for count in range(1, max(map(len, parts)) + 1):
        labels = [" ".join(own[-count:]) for own in parts]
        if len(set(labels)) == len(labels):
            return labels
    return paths
