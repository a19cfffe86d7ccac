"""The reference of keys: complete, and each example as sound as it looks."""

import tomllib
from typing import Any

import pytest
from pydantic import BaseModel, TypeAdapter

from studies.study.entries import FROM_FILE, KeyTable
from studies.study.file import Study
from studies.study.key_reference import Key, key_reference, keys
from studies.study.reading import loads
from tests.studies.installation import INSTALLATION

KEYS = keys()


def models(model: type[BaseModel]) -> list[type[BaseModel]]:
    return [model, *(inner for sub in model.__subclasses__() for inner in models(sub))]


def test_every_field_of_every_model_is_in_the_reference() -> None:
    abstract = (KeyTable, Study)  # no tables of the file by themselves
    fields = {(model, name) for model in models(KeyTable) if model not in abstract for name in model.model_fields}
    assert fields == {(key.model, key.field) for key in KEYS}


def test_no_key_is_there_twice() -> None:
    places = [(key.table, key.path) for key in KEYS]
    assert len(places) == len(set(places))


@pytest.mark.parametrize("key", KEYS, ids=lambda key: f"{key.table} {key.path}")
def test_every_key_says_what_it_is_and_how_it_is_written(key: Key) -> None:
    assert key.meaning
    assert key.form
    assert key.default
    assert key.example or key.form == f"table `{key.form.removeprefix('table `').removesuffix('`')}`"


@pytest.mark.parametrize("key", [key for key in KEYS if key.example], ids=lambda key: f"{key.table} {key.path}")
def test_every_example_is_sound(key: Key) -> None:
    field = key.model.model_fields[key.field]
    (value,) = tomllib.loads(key.example).values()
    adapter: TypeAdapter[Any] = TypeAdapter(field.rebuild_annotation())
    adapter.validate_python(value, context={FROM_FILE: True})


def test_the_reference_names_every_key_of_a_full_study() -> None:
    text = key_reference()
    assert loads(INSTALLATION)
    for line in INSTALLATION.splitlines():
        key = line.partition(" = ")[0] if " = " in line else line.replace(".hv", ".NAME").replace(".lv", ".NAME")
        key = key.replace(".soft", ".NAME").replace(".hard", ".NAME")
        assert not key or f"`{key}`" in text


def test_the_reference_is_a_table_of_five_columns_for_each_table_of_the_file() -> None:
    rows = [line for line in key_reference().splitlines() if line.startswith("|")]
    assert all(row.replace("\\|", "").count("|") == 6 for row in rows)
    assert len([row for row in rows if row.startswith("| `")]) == len(KEYS)
    heads = [line for line in key_reference().splitlines() if line.startswith("### ")]
    assert len(heads) == len(set(heads)) == len({key.table for key in KEYS})


@pytest.mark.parametrize(
    ("table", "path", "default"),
    [
        ("[[trays]]", "temperature", "20 degC"),
        ("[cables.NAME]", "armour.fill", "100 %"),
        ("[accuracy]", "tolerance", "0.5 %"),
        ("[[bonds]]", "kind", '"both ends"'),
        ("[[bonds]]", "earth", "false"),
        ("[[circuits]]", "name", "needed"),
        ("[drawing]", "at", "[0 m, 0 m]"),
    ],
)
def test_defaults_are_written_with_their_usual_units(table: str, path: str, default: str) -> None:
    (key,) = (key for key in KEYS if (key.table, key.path) == (table, path))
    assert key.default == default


def test_choices_are_told_where_a_key_goes_with_some_of_them() -> None:
    (width,) = (key for key in KEYS if (key.table, key.path) == ("[[trays]]", "inside_width"))
    assert width.meaning.endswith("needed by channel, ladder, duct")
    (turned,) = (key for key in KEYS if (key.table, key.path) == ("[[metalwork]]", "turned"))
    assert turned.meaning.endswith("goes with I, L, rectangle")
