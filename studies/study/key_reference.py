"""The reference of keys: every key of a study file, what it is, how it is written and what it is without a statement.

It is read from the models and the tables of choices, so that it cannot say anything else than they do.
"""

import ast
import inspect
import math
import sys
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from types import MappingProxyType

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from studies.study.circuits import ARRANGEMENTS, Circuit
from studies.study.entries import KeyTable, entries_of, example_of, model_within
from studies.study.file import StudyFile
from studies.study.key_sets import KeySet
from studies.study.metalwork import SHAPES, Metalwork
from studies.study.quantities import KINDS, RANGES
from studies.study.trays import PROFILES, Tray

CHOICES: Mapping[type[BaseModel], Mapping[str, KeySet]] = MappingProxyType(
    {Circuit: ARRANGEMENTS, Tray: PROFILES, Metalwork: SHAPES}
)
"""Models of which some keys go with a choice only."""

NEEDED = "needed"
NONE = "none"

UNITS_SHOWN: Mapping[str, tuple[str, float]] = MappingProxyType(
    {"ratio": ("%", 100.0), "angle": ("deg", math.degrees(1))}
)
"""Units of defaults whose SI unit is not the usual one, with the number of them in one. [-]"""


@dataclass(frozen=True)
class Key:
    """One key of the study file."""

    table: str
    """Head of the table that it is a key of, such as "[[circuits]]"; empty for keys of the study itself."""
    path: str
    """Key within that table, such as "conductor.area"."""
    model: type[BaseModel]
    field: str
    """Name of the model's field, which is that of the key if Python allows it."""
    meaning: str
    form: str
    default: str
    example: str


def keys() -> tuple[Key, ...]:
    """Every key of a study file in the order of the models, each table of keys before the keys that it holds."""
    return tuple(_keys(StudyFile, "", ""))


def key_reference() -> str:
    """The reference of keys as Markdown, a table of keys for each table of the study file."""
    lines = []
    table = None
    for key in keys():
        if key.table != table:
            table = key.table
            title = f"`{table}`" if table else "The study"
            lines += [
                "",
                f"### {title}",
                "",
                "| Key | What it is | Form | Default | Example |",
                "|---|---|---|---|---|",
            ]
        cells = (f"`{key.path}`", key.meaning, key.form, key.default, f"`{key.example}`" if key.example else "")
        lines.append(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |")
    return "\n".join(lines).strip() + "\n"


def meaning_of(model: type[BaseModel], field: str) -> str:
    """What stands under a field of a model in its module; the models do not read it, which took half of their time."""
    tables = (own for own in model.__mro__ if issubclass(own, KeyTable))
    return next(filter(None, (_said_in(own.__module__).get((own.__name__, field)) for own in tables)), "")


@cache
def _said_in(module: str) -> Mapping[tuple[str, str], str]:
    """The text under each field of the classes of a module."""
    return {
        (own.name, field.target.id): inspect.cleandoc(text.value.value)
        for own in ast.parse(inspect.getsource(sys.modules[module])).body
        if isinstance(own, ast.ClassDef)
        for field, text in pairwise(own.body)
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name)
        if isinstance(text, ast.Expr) and isinstance(text.value, ast.Constant) and isinstance(text.value.value, str)
    }


def _keys(model: type[BaseModel], table: str, before: str) -> Iterator[Key]:
    inner: list[tuple[type[BaseModel], str]] = []
    for name, field in model.model_fields.items():
        key = str(field.validation_alias or name)
        path = f"{before}{key}"
        held = model_within(field.annotation)
        meaning = " ".join(f"{meaning_of(model, name)}; {_choices(model, key)}".split()).rstrip(";")
        default = _default(model, key, field)
        head = _head(key, field) if held is not None and not table else ""
        stated = example_of(field) if not head else None
        form = (
            f"table `{head}`" if head else "; each ".join(dict.fromkeys(e.words for e in entries_of(field))) or "table"
        )
        yield Key(table, path, model, name, meaning, form, default, f"{key} = {stated}" if stated else "")
        if held is not None and head:
            inner.append((held, head))
        elif held is not None:
            yield from _keys(held, table, f"{path}.")
    for held, head in inner:
        yield from _keys(held, head, "")


def _head(key: str, field: FieldInfo) -> str:
    origin = typing.get_origin(field.annotation)
    if origin is Mapping:
        return f"[{key}.NAME]"
    return f"[[{key}]]" if origin is tuple else f"[{key}]"


def _choices(model: type[BaseModel], key: str) -> str:
    """With which choices a key goes, and which of them need it."""
    choices = CHOICES.get(model, {})
    allowed = [name for name, choice in choices.items() if key in choice.allowed]
    needing = [name for name, choice in choices.items() if key in choice.required]
    if len(allowed) == len(choices) and not needing:
        return ""
    also = [name for name in allowed if name not in needing]
    needed = f"needed by {', '.join(needing)}" if needing else ""
    return "; ".join(filter(None, (needed, f"goes with {', '.join(also)}" if also else "")))


def _default(model: type[BaseModel], key: str, field: FieldInfo) -> str:
    if field.is_required():
        return NEEDED
    value = field.get_default(call_default_factory=True)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, int | float):
        return _number(value, next((entry.quantity for entry in entries_of(field)), ""))
    if isinstance(value, tuple) and value:
        return f"[{', '.join(_number(part, 'coordinate') for part in value)}]"
    return "see its keys" if isinstance(value, BaseModel) else NONE


def _number(value: float, quantity: str) -> str:
    if not quantity:
        return f"{value:g}"
    kind = KINDS[RANGES[quantity].kind]
    unit, times = UNITS_SHOWN.get(kind.name, (kind.si, 1.0))
    return f"{value * times:g} {unit}"
