"""The `[[variants]]` of a study file: the base study with keys set, removed, and circuits transposed."""

from __future__ import annotations

from collections.abc import Iterator

from studies.compare.case import Draft
from studies.compare.case_words import words
from studies.compare.transposition import EXAMPLE as TRANSPOSE
from studies.compare.transposition import transpose_problem
from studies.study.dotted_keys import EXAMPLE, PathError, Tree, with_value, without
from studies.study.entries import label_problem
from studies.text.problems import Problem, choice_of

VARIANT_KEYS = ("name", "set", "remove", "transpose")
"""Keys of a variant."""
CHANGING_KEYS = VARIANT_KEYS[1:]
SETTINGS = 'set = { "circuits.F1.spacing" = "60 mm" }'
LABEL = "case"
"""Key of the study that names it among its cases; a variant has a name of its own."""


def variants_of(entries: object, base: Tree, taken: set[str], file: str, problems: list[Problem]) -> Iterator[Draft]:
    """The cases of the variants.

    Parameters
    ----------
    entries : object
        What stands under `variants`.
    base : dict
        Tables of the base study.
    taken : set of str
        Names of the base study, which no variant may have.
    file : str
        Name of the study file.
    problems : list of Problem
        Takes up what is wrong; a variant with problems is no case.
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
