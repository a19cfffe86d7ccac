"""JSON Schema of the study file, by which an editor completes and checks keys, words and units.

It is made from the models. Rules between keys are left to `trayfield check`, and so are ranges of quantities, which are
text with a unit: the schema marks a wrong sign or zero, and `x-range` tells both ends in SI.
"""

from __future__ import annotations

import json
import tomllib
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from studies.lookups.keys import CASE_KEYS, owner
from studies.study.entries import Schema
from studies.study.file import StudyFile
from studies.study.key_reference import Key, keys

DROPPED = ("title", "default")
"""Titles repeat the names of the keys; defaults are numbers in SI, which no study file may hold."""


def schema_text() -> str:
    """The schema as JSON."""
    return json.dumps(study_schema(), indent=1, ensure_ascii=False) + "\n"


def study_schema() -> Schema:
    """The schema of a whole study file, variants and sweep included."""
    own = StudyFile.model_json_schema(by_alias=True, mode="validation")
    described: dict[str, dict[str, Key]] = {key.model.__name__: {} for key in keys()}
    for key in keys():
        described[key.model.__name__][key.path.rpartition(".")[2]] = key
    for name, table in (("StudyFile", own), *own["$defs"].items()):
        for each, entry in table.get("properties", {}).items():
            if each in described.get(name, {}):
                _describe(entry, described[name][each])
    own["properties"] |= {"variants": _variants(), "sweep": _sweep()}
    whole: Schema = _plain(own)
    return {"$schema": GenerateJsonSchema.schema_dialect, "title": "trayfield study", **whole}


def _describe(entry: Schema, key: Key) -> None:
    """Say of a key what the reference says of it, in the words that an editor shows."""
    default = "" if key.default in ("needed", "none") else f" Default: {key.default}."
    entry["description"] = f"{key.meaning}. {key.form}.{default}".replace("`", "")
    if key.example and key.default != "see its keys" and " with " not in key.example:
        entry["examples"] = list(tomllib.loads(key.example).values())


def _plain(node: Any, is_names: bool = False) -> Any:
    """A schema without nulls, which TOML does not have, and without what `DROPPED` names."""
    if isinstance(node, list):
        return [_plain(entry) for entry in node]
    if not isinstance(node, dict):
        return node
    kept = {
        key: _plain(value, key in ("properties", "$defs"))
        for key, value in node.items()
        if is_names or key not in DROPPED
    }
    choices = [choice for choice in kept.get("anyOf", ()) if choice != {"type": "null"}]
    if not is_names and "anyOf" in kept:
        rest = {key: value for key, value in kept.items() if key != "anyOf"}
        return {**choices[0], **rest} if len(choices) == 1 else {"anyOf": choices, **rest}
    return kept


def _variants() -> Schema:
    properties: Schema = {
        "name": {"type": "string", "minLength": 1},
        "set": {"type": "object"},
        "remove": {"type": "array", "items": {"type": "string"}},
        "transpose": {"type": "array", "items": {"type": "string"}},
    }
    for key in CASE_KEYS:
        if owner(key) == "variants":
            properties[key.path]["description"] = f"{key.meaning}. {key.form}."
    table = {"type": "object", "properties": properties, "required": ["name"], "additionalProperties": False}
    return {"type": "array", "items": table, "description": "other cases of the study, each with some keys changed."}


def _sweep() -> Schema:
    values = {"type": "array", "minItems": 1}
    words = "values of dotted keys in quotes; every combination is a case."
    return {"type": "object", "additionalProperties": values, "description": words}
