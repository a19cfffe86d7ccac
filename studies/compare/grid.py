"""The `[sweep]` of a study file: every combination of the values of some keys."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from studies.compare.case import Draft
from studies.compare.case_words import brief, words
from studies.compare.variants import label_in_place
from studies.study.dotted_keys import PathError, Tree, first_keys, joined, parts_of, with_value
from studies.text.problems import Problem

MOST_CASES = 10_000
"""Most cases of a grid."""
GRID = '"circuits.F1.spacing" = ["30 mm", "56 mm", "80 mm"]'

Grid = dict[str, list[object]]
"""Values of each swept key."""


def grid_of(entries: object, base: Tree, file: str, problems: list[Problem]) -> Grid:
    """The values of each swept key of what stands under `sweep`; nothing where it has problems, which are told."""
    if not isinstance(entries, dict):
        problems.append(Problem(file, "sweep", words(entries), "is not a table", f"[sweep] with {GRID}"))
        return {}
    grid: Grid = {}
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


def swept(grid: Grid, base: Tree) -> Iterator[Draft]:
    """The cases of a grid, the last key changing first."""
    if not grid:
        return
    labels = labels_of(list(grid))
    for values in itertools.product(*grid.values()):
        data = base
        for path, value in zip(grid, values, strict=True):
            data = with_value(data, path, value)
        name = ", ".join(f"{label} {brief(value)}" for label, value in zip(labels, values, strict=True))
        short = ", ".join(map(brief, values)) if len(labels) > 1 else ""
        changes = tuple(f"{path} = {words(value)}" for path, value in zip(grid, values, strict=True))
        yield Draft(name, "sweep", changes, data, short)


def labels_of(paths: list[str]) -> list[str]:
    """The shortest endings of dotted keys that tell them apart."""
    parts = [parts_of(path) for path in paths]
    for count in range(1, max(map(len, parts)) + 1):
        labels = [" ".join(own[-count:]) for own in parts]
        if len(set(labels)) == len(labels):
            return labels
    return paths
