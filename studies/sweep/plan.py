"""The cases that a study file states: the base study, its `[[variants]]`, and the grid of its `[sweep]`."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_origin

from studies.cross_section import cross_section
from studies.output.numbers import software_versions
from studies.problems import Problem, StudyError, choice_of
from studies.reading import CASE_TABLES, loads_data, tables_of, text_of
from studies.study import Study, StudyFile
from studies.sweep.case_key import case_key
from studies.sweep.paths import EXAMPLE, PathError, Tree, value_at, with_value, without

BASE = "base study"
"""Name of the first case."""
MOST_CASES = 10_000
"""Most cases of a grid."""
MOST_TOLD = 100
"""Most problems of single cases that are told one by one."""
LONGEST_NAME = 60
"""Longest name of a variant. [characters]"""
TOP_KEYS = {key: get_origin(field.annotation) is tuple for key, field in StudyFile.model_fields.items()}
"""Keys at the top of a study file, and whether a list of tables stands there."""
VARIANT_KEYS = ("name", "set", "remove")
GRID = '"circuits.F1.spacing" = ["30 mm", "56 mm", "80 mm"]'
SETTINGS = 'set = { "circuits.F1.spacing" = "60 mm" }'

Origin = Literal["base", "variant", "sweep"]
Progress = Callable[[str], None]


@dataclass(frozen=True)
class Case:
    """One case: the base study with some changes, known to be sound."""

    name: str
    origin: Origin
    changes: tuple[str, ...]
    """What differs from the base study, in the words of the study file."""
    settings: tuple[str, ...]
    """Value of each swept key in this case, in the order of the plan."""
    data: Tree
    """Its tables, as in a study file."""
    key: str
    """What it is known by among stored cases."""


@dataclass(frozen=True)
class Plan:
    """All cases of a study file, the base study first."""

    base: Study
    cases: tuple[Case, ...]
    swept: tuple[str, ...]
    """Dotted keys of the sweep."""


@dataclass(frozen=True)
class _Draft:
    """A case that is not checked yet."""

    name: str
    origin: Origin
    changes: tuple[str, ...]
    data: Tree


def read_plan(path: str | Path, tell: Progress | None = None) -> Plan:
    """Read a study file with its variants and its sweep, and check every case.

    Parameters
    ----------
    path : str or Path
        The study file.
    tell : callable, optional
        Told how far the check of many cases is.

    Returns
    -------
    plan : Plan
        Every case, sound in itself and in its geometry; otherwise `StudyError` holds all problems of all cases.
    """
    return plan_of(text_of(path), str(path), tell)


def plan_of(text: str, name: str = "study", tell: Progress | None = None) -> Plan:
    """Read the cases from the text of a study file; `name` stands for the file in messages."""
    tables = tables_of(text, name)
    base = {key: value for key, value in tables.items() if key not in CASE_TABLES}
    problems: list[Problem] = []
    drafts = [_Draft(BASE, "base", (), base)]
    drafts += _variants(tables.get("variants", []), base, name, problems)
    grid = _grid(tables.get("sweep", {}), base, name, problems)
    drafts += _swept(grid, base)
    cases: list[Case] = []
    studies: list[Study] = []
    versions = software_versions()
    checked = _Problems(name)
    for number, draft in enumerate(drafts):
        if tell is not None and number % 50 == 0:
            tell(f"checking case {number + 1} of {len(drafts)}")
        try:
            study = loads_data(draft.data, name, text)
            cross_section(study)
        except StudyError as error:
            checked.add(draft, error)
            continue
        settings = tuple(_bare(value_at(draft.data, path)) for path in grid)
        cases.append(Case(draft.name, draft.origin, draft.changes, settings, draft.data, case_key(study, versions)))
        if not studies:
            studies.append(study)
    problems = [*checked.listing(), *problems]
    if problems:
        raise StudyError(problems)
    return Plan(studies[0], tuple(cases), tuple(grid))


def cases_note(study: Study) -> str:
    """One line on the further cases that the file of a study states; empty where it states none."""
    if not study.source_text:
        return ""
    tables = tables_of(study.source_text, study.source_name)
    variants, grid = tables.get("variants"), tables.get("sweep")
    count = len(variants) if isinstance(variants, list) else 0
    if isinstance(grid, dict) and grid:
        count += math.prod(len(values) if isinstance(values, list) else 1 for values in grid.values())
    if not count:
        return ""
    cases = "1 further case" if count == 1 else f"{count} further cases"
    return f"This is the base study; its file states {cases}: trayfield compare {study.source_name} compares them all."


def _variants(entries: object, base: Tree, file: str, problems: list[Problem]) -> Iterator[_Draft]:
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        problems.append(Problem(file, "variants", _words(entries), "is not a list of tables", "[[variants]]"))
        return
    names = {BASE}
    for number, entry in enumerate(entries, 1):
        name = entry.get("name")
        place = f"variants[{number}]" + (f' "{name}"' if isinstance(name, str) and name else "")
        found = [*_name_problems(place, name, names, file), *_key_problems(place, entry, file)]
        if isinstance(name, str):
            names.add(name)
        data, changes = _changed(place, entry, base, file, found)
        problems += found
        if not found:
            yield _Draft(str(name), "variant", changes, data)


def _name_problems(place: str, name: object, taken: set[str], file: str) -> Iterator[Problem]:
    if name is None:
        yield Problem(file, f"{place} → name", "", "is missing", 'name = "trefoil"')
    elif not isinstance(name, str) or not name.strip() or name != name.strip() or not name.isprintable():
        yield Problem(file, f"{place} → name", _words(name), "is not a name", "words on one line in quotes")
    elif len(name) > LONGEST_NAME:
        yield Problem(file, f"{place} → name", _words(name), "is too long", f"{LONGEST_NAME} characters at most")
    elif name == BASE:
        yield Problem(file, f"{place} → name", _words(name), "is the first case, the study itself", "another name")
    elif name in taken:
        yield Problem(file, f"{place} → name", _words(name), "is the name of another variant", "a name for each")


def _key_problems(place: str, entry: Tree, file: str) -> Iterator[Problem]:
    for key in entry:
        if key not in VARIANT_KEYS:
            yield Problem(file, f"{place} → {key}", _words(entry[key]), "is no known key", choice_of(key, VARIANT_KEYS))
    if not entry.get("set") and not entry.get("remove"):
        yield Problem(file, place, "", "changes nothing", f"{SETTINGS}, or remove = [{EXAMPLE}]")


def _changed(place: str, entry: Tree, base: Tree, file: str, found: list[Problem]) -> tuple[Tree, tuple[str, ...]]:
    """The base study with what a variant removes and then sets; what cannot be done is added to the problems."""
    data, changes = base, []
    removed, settings = entry.get("remove", []), entry.get("set", {})
    if not isinstance(removed, list) or not all(isinstance(path, str) for path in removed):
        found.append(Problem(file, f"{place} → remove", _words(removed), "is not a list of keys", f"[{EXAMPLE}]"))
        removed = []
    if not isinstance(settings, dict):
        found.append(Problem(file, f"{place} → set", _words(settings), "is not a table", SETTINGS))
        settings = {}
    for path in removed:
        try:
            data = without(data, path)
        except PathError as error:
            found.append(Problem(file, f"{place} → remove", _words(path), error.wrong, error.right))
        else:
            changes.append(f"without {path}")
    for path, value in settings.items():
        try:
            data = with_value(data, path, _as_meant(path, value, base), TOP_KEYS)
        except PathError as error:
            found.append(Problem(file, f'{place} → set → "{path}"', _words(value), error.wrong, error.right))
        else:
            changes.append(f"{path} = {_words(value)}")
    return data, tuple(changes)


def _as_meant(path: str, value: object, base: Tree) -> object:
    """The value of a key; a dotted key without quotes has become tables within tables, in place of a whole list."""
    if isinstance(value, dict) and value and isinstance(base.get(path), list):
        key = ".".join([path, *_first_keys(value)])
        raise PathError("has no quotes, so that it stands for a whole list", f'the dotted key in quotes: "{key}"')
    return value


def _first_keys(table: object) -> Iterator[str]:
    while isinstance(table, dict) and table:
        key = next(iter(table))
        yield str(key)
        table = table[key]


def _grid(entries: object, base: Tree, file: str, problems: list[Problem]) -> dict[str, list[object]]:
    """Values of each swept key, without those keys that cannot be swept."""
    if not isinstance(entries, dict):
        problems.append(Problem(file, "sweep", _words(entries), "is not a table", f"[sweep] with {GRID}"))
        return {}
    grid: dict[str, list[object]] = {}
    before = len(problems)
    for path, values in entries.items():
        place = f'sweep → "{path}"'
        if isinstance(values, dict):
            key = ".".join([path, *_first_keys(values)])
            right = f'the dotted key in quotes: "{key}"'
            problems.append(Problem(file, place, _words(values), "is a table, not a list of values", right))
        elif not isinstance(values, list) or not values:
            wrong = "is empty" if values == [] else "is not a list of values"
            problems.append(Problem(file, place, _words(values), wrong, GRID))
        elif twice := [value for number, value in enumerate(values) if value in values[:number]]:
            problems.append(Problem(file, place, _words(twice[0]), "is there twice", "every value once"))
        else:
            try:
                with_value(base, path, values[0], TOP_KEYS)
            except PathError as error:
                problems.append(Problem(file, place, "", error.wrong, error.right))
            else:
                grid[path] = values
    count = math.prod(len(values) for values in grid.values())
    if count > MOST_CASES:
        right = f"at most {MOST_CASES} cases, by fewer values or fewer keys"
        problems.append(Problem(file, "sweep", "", f"is a grid of {count} cases", right))
    return {} if len(problems) > before else grid


def _swept(grid: dict[str, list[object]], base: Tree) -> Iterator[_Draft]:
    if not grid:
        return
    labels = _labels(list(grid))
    for values in itertools.product(*grid.values()):
        data = base
        for path, value in zip(grid, values, strict=True):
            data = with_value(data, path, value, TOP_KEYS)
        name = ", ".join(f"{label} {_bare(value)}" for label, value in zip(labels, values, strict=True))
        changes = tuple(f"{path} = {_words(value)}" for path, value in zip(grid, values, strict=True))
        yield _Draft(name, "sweep", changes, data)


def _labels(paths: list[str]) -> list[str]:
    """The shortest endings of dotted keys that tell them apart."""
    for count in range(1, max(path.count(".") for path in paths) + 2):
        labels = [" ".join(path.split(".")[-count:]) for path in paths]
        if len(set(labels)) == len(labels):
            return labels
    return paths


class _Problems:
    """Problems of cases; one that several cases share is told once, with their names."""

    def __init__(self, file: str) -> None:
        """Begin without any."""
        self._file = file
        self._cases: dict[Problem, list[str]] = {}

    def add(self, draft: _Draft, error: StudyError) -> None:
        """Take in what is wrong with a case."""
        for problem in error.problems:
            cases = self._cases.setdefault(problem, [])
            if BASE not in cases:  # what is wrong with the base study is wrong with every case
                cases.append(draft.name)

    def listing(self) -> list[Problem]:
        """Every problem with its cases named, those of the base study first and without."""
        told = [self._told(problem, cases) for problem, cases in self._cases.items()]
        if len(told) > MOST_TOLD:
            rest = Problem(self._file, "further cases", "", f"have {len(told) - MOST_TOLD} problems more", "see above")
            told = [*told[:MOST_TOLD], rest]
        return told

    def _told(self, problem: Problem, cases: list[str]) -> Problem:
        if cases == [BASE]:
            return problem
        shown = ", ".join(f'"{name}"' for name in cases[:3])
        more = f" and {len(cases) - 3} more" if len(cases) > 3 else ""
        head = f"{'cases' if len(cases) > 1 else 'case'} {shown}{more}"
        return Problem(problem.file, f"{head}: {problem.key}", problem.value, problem.wrong, problem.right)


def _words(value: object) -> str:
    """A value as in a study file, on one line and not too long."""
    if isinstance(value, dict):
        text = f"{{ {', '.join(f'{key} = {_words(entry)}' for key, entry in value.items())} }}"
    elif isinstance(value, list):
        text = f"[{', '.join(_words(entry) for entry in value)}]"
    elif value is None:
        return ""
    else:
        text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 90 else text[:87] + "..."


def _bare(value: object) -> str:
    return value if isinstance(value, str) else _words(value)
