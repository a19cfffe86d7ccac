"""What a section of the route changes in the tables of its study."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from studies.study.dotted_keys import TOP_KEYS, PathError, Tree, parts_of, with_value, without
from studies.study.file import Study
from studies.study.findings import as_list, as_table
from studies.text.printable import shortened
from studies.text.problems import Problem, choice_of

CHANGEABLE = ("circuits", "cables", "trays", "metalwork", "materials", "drawing", "receptors", "earth", "bonds")
"""Tables of the study that a section may have otherwise; of the bonds those of metal alone."""
SAME = ("current", "frequency", "harmonics", "further_currents", "direct_current", "net_current")
"""Keys of a circuit that are those of the whole run."""
COMMON = ("title", "case", "document", "frequency", "accuracy")
"""Keys that hold for every section."""
OWN_TABLES = frozenset(TOP_KEYS) - {*CHANGEABLE, *COMMON}
"""Tables that ask for something of the study's own cross-section."""


def section_tables(tables: Tree, section: Mapping[str, Any]) -> tuple[Tree, list[tuple[str, object, PathError]]]:
    """The tables of a study with what a section of its route removes and sets.

    What is not of the section, as the route itself, is left out. A form of `remove` or `set` that is broken in itself
    is passed over. Keys that lead nowhere, or to what is that of the whole run, are returned with value and error.
    """
    changed = {key: value for key, value in tables.items() if key not in OWN_TABLES}
    wrong: list[tuple[str, object, PathError]] = []
    for path in as_list(section.get("remove")):
        try:
            _require_changeable(str(path))
            changed = without(changed, str(path))
        except PathError as error:
            wrong.append(("remove", path, error))
    for path, value in as_table(section.get("set")).items():
        try:
            _require_changeable(path)
            changed = with_value(changed, path, value)
        except PathError as error:
            wrong.append((f'set → "{path}"', value, error))
    return changed, wrong


def of_section(number: int, name: object, problem: Problem) -> Problem:
    """A problem of a section's cross-section, told with its section."""
    label = f'route[{number}] "{name}"' if isinstance(name, str) and name else f"route[{number}]"
    return replace(problem, key=f"{label}: {problem.key}")


def _require_changeable(path: str) -> None:
    top, *rest = parts_of(path)
    shown = shortened(path)
    if top not in CHANGEABLE:
        if top in TOP_KEYS:
            raise PathError(f'"{shown}" is that of the whole run', f"a key of {', '.join(CHANGEABLE)}")
        raise PathError(
            f'leads nowhere: there is no "{shortened(top)}"', f"a key that begins with {choice_of(top, CHANGEABLE)}"
        )
    if top == "circuits" and rest and rest[-1] in SAME:
        raise PathError(f'"{shown}" is that of the whole run', "the same currents and frequencies all along")


def is_transposed(study: Study) -> bool:
    """Whether the study's route runs through its own cross-section alone, in different phase orders."""
    sections = study.route
    return any(one.phases for one in sections) and not any(one.settings or one.remove for one in sections)
