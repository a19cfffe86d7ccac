"""Any TOML gives a study or told problems, never a fault of the program."""

import copy
import json
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studies.study.file import StudyFile
from studies.study.reading import loads
from studies.text.problems import Problem, StudyError
from tests.studies.installation import DRAWN, FORMATION, changed

DRAWING = '[drawing]\nfile = "section.dxf"\nunit = "mm"\n\n[earth]'
WHOLE = tomllib.loads(changed((FORMATION, DRAWN), ("[earth]", DRAWING)))
WORDS = ("drawing", "cross-bonded", "closed", "L1", "N", "PE", "F1 screens", "T1", "copper", "path", "I", "1e999 m")
KEYS = (*WORDS, "3", "name", "material", "parts", "k1", "gap", "")

VALUES = st.recursive(
    st.sampled_from(WORDS)
    | st.sampled_from(["5 mm", "20 %", "400 Hz", "3", "1 A"])
    | st.text(max_size=4)
    | st.integers()
    | st.floats()
    | st.booleans(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=3),
    max_leaves=4,
)


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(key)} = {as_toml(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(sign):08x}" for sign in value if not 0xD800 <= ord(sign) < 0xE000) + '"'
    return repr(value)


def text_of(data: dict[str, Any]) -> str:
    return "\n".join(f"{json.dumps(key)} = {as_toml(value)}" for key, value in data.items())


def places(value: object) -> list[tuple[str | int, ...]]:
    """Every place in nested tables and lists."""
    inner: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    return [(key, *rest) for key, entry in inner for rest in [(), *places(entry)]]


PLACES = places(WHOLE)


def read(data: dict[str, Any]) -> None:
    told: tuple[Problem, ...] = ()
    try:
        loads(text_of(data))
    except StudyError as error:
        told = error.problems
    assert all(problem.wrong and problem.right for problem in told)
    assert all(len(str(problem).splitlines()) == 2 for problem in told)


@pytest.mark.parametrize("sign", ["\n", "\x1b[2J", "\x85", "\u2028", "\xa0"])
def test_signs_that_a_terminal_obeys_are_shown_by_their_numbers(sign: str) -> None:
    with pytest.raises(StudyError) as caught:
        loads(text_of({f"a{sign}b": 1, "title": f"c{sign}", "frequency": f"5 Hz{sign}d"}))
    message = str(caught.value)
    assert sign not in message.replace("\n    ", "").replace("\n  ", "")
    assert f"a\\u{ord(sign[0]):04x}" in message


def test_the_whole_study_is_sound_but_for_its_drawing() -> None:
    with pytest.raises(StudyError) as caught:
        loads(text_of(WHOLE))
    assert [problem.key for problem in caught.value.problems] == ["drawing → file"]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(PLACES), VALUES), min_size=1, max_size=3))
def test_values_of_any_kind_at_any_places_are_read_or_told(changes: list[tuple[tuple[str | int, ...], object]]) -> None:
    data: Any = copy.deepcopy(WHOLE)
    for place, value in changes:
        table = data
        for key in place[:-1]:
            try:
                table = table[key]
            except (KeyError, IndexError, TypeError):  # an earlier change took it away
                break
        else:
            last: Any = place[-1]
            if isinstance(table, dict) or (isinstance(table, list) and last in range(len(table))):
                table[last] = value
    read(data)


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(PLACES))
def test_a_study_without_any_one_of_its_keys_is_read_or_told(place: tuple[str | int, ...]) -> None:
    data: Any = copy.deepcopy(WHOLE)
    table = data
    for key in place[:-1]:
        table = table[key]
    del table[place[-1]]
    read(data)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from([*StudyFile.model_fields, "x", ""]), VALUES, max_size=8))
def test_a_study_of_anything_is_told(data: dict[str, Any]) -> None:
    read(data)
