"""What is wrong with the tables of a study, in the words of a study file: place, value, and what to write instead."""

import json
import math
import typing
from collections.abc import Mapping
from types import MappingProxyType

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from studies.study.entries import example_of, model_within
from studies.study.findings import Finding, Place
from studies.study.toml_text import LONGEST_SHOWN
from studies.text.printable import shortened
from studies.text.problems import Problem, nearest

DEEPEST_SHOWN = 4
"""Deepest nesting of lists and tables shown in a message. [levels]"""


CASE_TABLES = ("variants", "sweep")
"""Tables of further cases in the study file; `studies.compare.stated_cases` reads them, the study is the base case."""


def findings_of(error: ValidationError, root: type[BaseModel]) -> list[Finding]:
    """What a validation found wrong with the tables of the model `root`."""
    findings = []
    for line in error.errors(include_url=False):
        place = tuple(part for part in line["loc"] if part != "[key]")
        kind, context = line["type"], line.get("ctx", {})
        if kind == "study":
            findings.append(Finding(place, context["wrong"], context["right"]))
            continue
        field = _field(place, root)
        example = (example_of(field) if field is not None else None) or "see the documentation of this key"
        if kind == "missing":
            findings.append(Finding(place, "is missing", _statement(str(place[-1]), example)))
        elif kind == "extra_forbidden":
            findings.append(Finding(place, _UNKNOWN_KEY, _keys_right(place, root)))
        elif kind in ("model_type", "model_attributes_type", "dict_type", "mapping_type"):
            right = example if field is not None and isinstance(place[-1], str) else "a table of KEY = VALUE"
            thickness = place[-1] == "sheath" and str(line["input"])[:1].isdigit()
            right += PLASTIC_SHEATH if thickness else ""
            findings.append(Finding(place, "is not a table", right))
        else:
            findings.append(Finding(place, line["msg"][:1].lower() + line["msg"][1:], example))
    meant = meant_keys(findings)
    return [f for f in findings if f.wrong != "is missing" or f.place not in meant]


def meant_keys(findings: list[Finding]) -> set[Place]:
    """Places of the keys that misspelt ones stand for, so that these are not told a second time as missing."""
    return {(*f.place[:-1], f.right) for f in findings if f.wrong == _UNKNOWN_KEY}


_UNKNOWN_KEY = "is no known key"


OTHER_KEYS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        **dict.fromkeys(("section", "cross_section", "size"), ("area",)),
        **dict.fromkeys(("type", "form"), ("profile", "arrangement", "shape")),
        **dict.fromkeys(("position", "location", "place", "point"), ("at", "rests_at")),
        **dict.fromkeys(("formation", "layout", "laying"), ("arrangement",)),
        "gap": ("clear_gap",),
        "width": ("inside_width",),
        "height": ("inside_height",),
        "price": ("price_per_kwh",),
        "load": ("current",),
        "tolerance": ("laying_tolerance",),
    }
)
"""Keys that people write for one that is named otherwise here; the first that the table has is told."""
ELSEWHERE: Mapping[str, str] = MappingProxyType(
    {
        **dict.fromkeys(("screens", "bonding", "bonded", "earthing"), '[[bonds]] with parts = ["F1 screens"]'),
        **dict.fromkeys(("length", "run_length"), '[[route]] with length = "85 m", for what adds up along the run'),
        **dict.fromkeys(
            ("parallel", "cables_per_phase", "number"), 'labels repeated: phases = ["L1", "L2", "L3", "L1", ...]'
        ),
        **dict.fromkeys(("cos_phi", "power_factor", "power"), "[[loads]] with power and power_factor"),
        "voltage": '[supply] with voltage = "400 V"',
        "temperature": "temperature of the conductor, in [cables]",
    }
)
"""What a table of another name states, for keys that people write into circuits."""
PLASTIC_SHEATH = '; a sheath here is of metal, one of plastic is written jacket = "1.8 mm"'


def _statement(key: str, example: str) -> str:
    return example if example.startswith("[") and key in example.strip("[]").split(".") else f"{key} = {example}"


def _keys_right(place: Place, root: type[BaseModel]) -> str:
    model = _model(place[:-1], root)
    known = [field.validation_alias or key for key, field in model.model_fields.items()] if model else []
    words = [*(str(key) for key in known), *(CASE_TABLES if len(place) == 1 else ())]
    others = OTHER_KEYS.get(str(place[-1]), ())
    near = next((key for key in others if key in words), None) or nearest(str(place[-1]), words)
    if place[0] == "circuits" and not near and str(place[-1]) in ELSEWHERE:
        return ELSEWHERE[str(place[-1])]
    return near if near else f"one of {', '.join(words)}"


def _field(place: Place, root: type[BaseModel]) -> FieldInfo | None:
    """The model field that a place belongs to: that of its last key, or of the list or set it is an entry of."""
    model: type[BaseModel] | None = root
    field: FieldInfo | None = None
    inside_set = False
    for part in place:
        if isinstance(part, int):
            continue
        if inside_set:
            inside_set = False
            continue
        if model is None:
            return field
        field = next((f for key, f in model.model_fields.items() if part == (f.validation_alias or key)), None)
        if field is None:
            return None
        model = model_within(field.annotation)
        inside_set = typing.get_origin(field.annotation) is Mapping
    return field


def _model(place: Place, root: type[BaseModel]) -> type[BaseModel] | None:
    if not place:
        return root
    field = _field(place, root)
    return model_within(field.annotation) if field is not None else None


def order_in_file(place: Place, data: object) -> tuple[int, ...]:
    """Position in the order of the file; what is not in the file comes after what is."""
    order = []
    for part in place:
        if isinstance(data, Mapping):
            keys = list(data)
            order.append(keys.index(part) if part in data else len(keys))
            data = data.get(part)
        elif isinstance(data, list) and isinstance(part, int):
            order.append(part)
            data = data[part] if part < len(data) else None
    return tuple(order)


def problem_of(finding: Finding, data: object, file: str) -> Problem:
    """A finding with its place in words and the value that the tables have there."""
    words: list[str] = []
    for depth, part in enumerate(finding.place):
        if isinstance(part, int):
            words[-1] += f"[{part + 1}]"
        elif depth == 1 and finding.place[0] in ("cables", "materials"):
            words[-1] += f".{shortened(part, LONGEST_SHOWN)}"
        else:
            words.append(shortened(part, LONGEST_SHOWN))
        if isinstance(data, Mapping):
            data = data.get(str(part), _NOTHING)
        elif isinstance(data, list) and isinstance(part, int) and part < len(data):
            data = data[part]
            if isinstance(data, Mapping) and isinstance(data.get("name"), str) and data["name"]:
                words[-1] += f' "{shortened(data["name"], LONGEST_SHOWN)}"'
        else:
            data = _NOTHING
    value = "" if data is _NOTHING else shortened(as_written(data), LONGEST_SHOWN)
    return Problem(file, " → ".join(words), value, finding.wrong, finding.right)


_NOTHING = object()


def as_written(value: object, depth: int = 0) -> str:
    """A value as in a study file, deep tables cut."""
    if isinstance(value, Mapping | list) and depth > DEEPEST_SHOWN:
        return "..."
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {as_written(entry, depth + 1)}' for key, entry in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(as_written(entry, depth + 1) for entry in value)}]"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a number of very many digits"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, str | int | float | bool):
        return json.dumps(value, ensure_ascii=False)
    return str(value)
