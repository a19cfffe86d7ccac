"""Dotted keys into the tables of a study file: `circuits.F1.spacing` is the spacing of the circuit named F1.

Entries of a list are addressed by their name, those without one by their number from 1. A name with a point in it has
quotation marks of its own: `circuits.'=E01.F1'.spacing`.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from studies.text.printable import shortened
from studies.text.problems import WrongInput, choice_of, nearest

Tree = dict[str, Any]
"""Tables of a study file as they stand: texts, numbers, lists and tables."""

EXAMPLE = '"circuits.F1.spacing"'
QUOTED = "\"circuits.'=E01.F1'.spacing\""
LISTS = (
    *("circuits", "trays", "metalwork", "bonds", "receptors", "zones", "traverses", "route", "faults", "loads"),
    *("loops", "stated_limits", "plates"),
)
"""Keys at the top of a study file that hold a list of tables."""
TOP_KEYS = {
    **dict.fromkeys(
        ("title", "case", "document", "frequency", "phase_colours", "cables", "materials", "drawing", "earth", "map"),
        False,
    ),
    **dict.fromkeys(("current_sweep", "shielding", "energy", "laying_tolerance", "order_search"), False),
    **dict.fromkeys(("remedies", "shield_search", "causes"), False),
    **dict.fromkeys(("route_screens", "course", "supply", "survey", "accuracy"), False),
    **dict.fromkeys(LISTS, True),
}
"""Keys at the top of a study file, and whether a list of tables stands there; those of `StudyFile`, which is built on
this module."""


class PathError(WrongInput):
    """A dotted key that leads nowhere."""


def with_value(data: Tree, path: str, value: object) -> Tree:
    """A copy of the tables with a value set at a dotted key, such as "circuits.F1.spacing".

    A table under a new name adds an entry to a list of tables. A key that leads nowhere raises `PathError`, and so does
    one without quotes, which has become tables within tables in place of a whole list.
    """
    if isinstance(value, Mapping) and value and isinstance(data.get(path), list):
        key = joined([path, *first_keys(value)])
        raise PathError("has no quotes, so that it stands for a whole list", f'the dotted key in quotes: "{key}"')
    parts = _parts(path, [*TOP_KEYS, *data])
    changed, value = copy.copy(data), copy.deepcopy(value)
    if len(parts) > 1 and TOP_KEYS.get(parts[0]):
        changed.setdefault(parts[0], [])
    node, part = _copied_down_to(changed, parts, add=True), parts[-1]
    if isinstance(node, dict):
        node[part] = value
        return changed
    index = _index(node, part)
    if isinstance(value, dict):
        value = {"name": part, **value}
    if index is not None:
        node[index] = value
    elif isinstance(value, dict) and not part.isdigit():
        node.append(value)
    else:
        raise _no_entry(node, parts, len(parts) - 1)
    return changed


def without(data: Tree, path: str) -> Tree:
    """The tables without a dotted key and what stands there; a key that is not there raises `PathError`."""
    parts = _parts(path, data)
    changed = copy.copy(data)
    node = _copied_down_to(changed, parts, add=False)
    del node[_key(node, parts, len(parts) - 1)]
    return changed


def value_at(data: Tree, path: str) -> object:
    """Value at a dotted key, None if there is none."""
    node: object = data
    for part in parts_of(path):
        if isinstance(node, dict):
            node = node.get(part)
        elif isinstance(node, list):
            index = _index(node, part)
            node = None if index is None else node[index]
        else:
            return None
    return node


def first_keys(table: object) -> Iterator[str]:
    """The first key of a table, the first within it, and so on."""
    while isinstance(table, Mapping) and table:
        key = next(iter(table))
        yield str(key)
        table = table[key]


SEGMENT = re.compile(r"""(?:'([^']+)'|"([^"]+)"|([^.'"][^.]*))(?:\.(?=.)|$)""")
"""One name of a dotted key: in quotation marks of either kind, or without a point."""


def parts_of(path: str) -> list[str]:
    """The names of a dotted key; what is none raises `PathError`."""
    parts, end = [], 0
    while end < len(path) and (match := SEGMENT.match(path, end)):
        parts.append(match[1] or match[2] or match[3])
        end = match.end()
    if not parts or end < len(path) or any(part != part.strip() for part in parts):
        right = f"names joined by points, such as {EXAMPLE}, those with a point in them in marks of their own: {QUOTED}"
        raise PathError("is no dotted key", right)
    return parts


def joined(parts: Iterable[str]) -> str:
    """A dotted key of some names, those with a point in them in quotation marks."""
    return ".".join(_quoted(part) if "." in part or part[:1] in ("'", '"') else part for part in parts)


def _quoted(part: str) -> str:
    return f'"{part}"' if "'" in part else f"'{part}'"


def _parts(path: str, known: Iterable[str]) -> list[str]:
    parts = parts_of(path)
    words = list(known)
    if parts[0] not in words:
        near = nearest(parts[0], words)
        raise PathError(
            f'leads nowhere: there is no "{shortened(parts[0])}"',
            f'"{shortened(joined([near, *parts[1:]]))}"'
            if near
            else f"a key that begins with {choice_of(parts[0], words)}",
        )
    return parts


def _copied_down_to(node: Any, parts: list[str], add: bool) -> Any:
    """The table or list that holds the last of the names, with what leads to it copied and put in its place.

    `add` adds an empty table under a name that a table lacks.
    """
    for depth, part in enumerate(parts[:-1]):
        key = part if add and isinstance(node, dict) else _key(node, parts, depth)
        below = node.get(key, {}) if isinstance(node, dict) else node[key]
        node[key] = _copied(below, parts, depth)
        node = node[key]
    return node


def _key(node: Tree | list[Any], parts: list[str], depth: int) -> Any:
    part = parts[depth]
    key = _index(node, part) if isinstance(node, list) else part if part in node else None
    if key is None:
        raise _no_entry(node, parts, depth)
    return key


def _copied(node: object, parts: list[str], depth: int) -> Any:
    if isinstance(node, dict | list):
        return copy.copy(node)
    so_far = shortened(joined(parts[: depth + 1]))
    shown = shortened(json.dumps(node, ensure_ascii=False, default=str))
    wrong = f'leads nowhere: "{so_far}" is {shown}, which holds no "{shortened(parts[depth + 1])}"'
    raise PathError(wrong, f'the whole of it as "{so_far}"')


def _index(entries: list[Any], part: str) -> int | None:
    names = [entry.get("name") if isinstance(entry, dict) else None for entry in entries]
    if part in names:
        return names.index(part)
    if part.isdigit() and 1 <= int(part) <= len(entries) and names[int(part) - 1] is None:
        return int(part) - 1
    return None


def _no_entry(node: Tree | list[Any], parts: list[str], depth: int) -> PathError:
    part, before = parts[depth], parts[:depth]
    if isinstance(node, dict):
        names = list(node)
    else:
        names = [
            str(entry["name"]) if isinstance(entry, dict) and "name" in entry else str(number)
            for number, entry in enumerate(node, 1)
        ]
    near = nearest(part, names)
    if near is not None:
        right = f'"{shortened(joined([*before, near, *parts[depth + 1 :]]))}"'
    else:
        place = f'"{shortened(joined(before))}"'
        right = f"{place} holds {choice_of(part, names)}" if names else f"another key; {place} is empty"
    return PathError(
        f'leads nowhere: there is no "{shortened(part)}" in "{shortened(joined(before)) or "the study"}"', right
    )
