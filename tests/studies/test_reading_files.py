"""Files that are no study: broken TOML, other encodings, missing ones, and anything at all."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studies.study.reading import load, loads
from studies.text.problems import Problem, StudyError
from tests.studies.sound_study import GOOD, changed, problems_of


@pytest.mark.parametrize(
    ("text", "key", "wrong", "right"),
    [
        (changed(('"56 mm"', "56 mm")), "line 15, column", "spacing = 56 mm", 'spacing = "56 mm"'),
        (changed(("[[circuits]]", "[[circuits]")), "line 11, column", "[[circuits]", "[[list of tables]]"),
        (changed(('current = "400 A"', 'current = "400 A"\ncurrent = "4 A"')), "line 19", "current", "once"),
        (changed(('"Feeder"', '"Feeder')), "line 2, column", "title", "quotes"),
    ],
)
def test_broken_toml_is_told_with_its_line(text: str, key: str, wrong: str, right: str) -> None:
    (problem,) = problems_of(text)
    assert problem.key.startswith(key)
    assert wrong in problem.wrong
    assert right in problem.right


def test_an_empty_file_is_told_what_a_study_needs() -> None:
    assert [p.key for p in problems_of("")] == ["title", "frequency", "cables", "circuits"]


@pytest.mark.parametrize("key", ["source_name", "source_text", "harmonics"])
def test_keys_that_are_no_part_of_the_file_are_refused(key: str) -> None:
    (problem,) = problems_of(f'{key} = "x"\n{GOOD}')
    assert (problem.key, problem.wrong) == (key, "is no known key")


def test_a_file_is_read_with_byte_order_mark_and_line_ends_of_any_system(tmp_path: Path) -> None:
    path = tmp_path / "feeder.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    study = load(path)
    assert study.title == "Feeder"
    assert study.source_name == str(path)
    assert not study.source_text.startswith("\ufeff")


def test_a_missing_file_is_told_with_the_nearest_one(tmp_path: Path) -> None:
    (tmp_path / "feeder.toml").write_text(GOOD, encoding="utf-8")
    with pytest.raises(StudyError, match=r"no such file(.|\n)*feeder\.toml, which is in that folder"):
        load(tmp_path / "feedr.toml")


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="no folder"):
        load(tmp_path / "nowhere" / "feeder.toml")


def test_a_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="this is a folder"):
        load(tmp_path)


def test_a_file_without_permission_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_path: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    with pytest.raises(StudyError, match="cannot be read \\(Permission denied\\)"):
        load(tmp_path / "feeder.toml")


def test_text_that_is_not_utf8_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "feeder.toml"
    path.write_bytes(GOOD.replace("uT", "\u00b5T").encode("latin-1"))
    with pytest.raises(StudyError, match=r"line 3\d: this is not UTF-8"):
        load(path)


@pytest.mark.parametrize(
    "text", ["a = " + "9" * 5000, "a = 0x" + "f" * 5000, "a = " + "[" * 3000, "a" + ".a" * 900 + " = 1"]
)
def test_an_absurd_file_is_told_and_not_crashed_on(text: str) -> None:
    assert problems_of(text)


TOML_VALUES = st.recursive(
    st.text(max_size=5) | st.integers() | st.floats() | st.booleans() | st.datetimes().map(lambda d: d.isoformat()),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["L1", "name", "material", "x"]), inner)
    ),
    max_leaves=4,
)


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {as_toml(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(sign):08x}" for sign in value if not 0xD800 <= ord(sign) < 0xE000) + '"'
    return repr(value)


@given(st.sampled_from(range(len(GOOD.splitlines()))), TOML_VALUES)
def test_any_value_anywhere_gives_a_study_or_told_problems(number: int, value: object) -> None:
    lines = GOOD.splitlines()
    key, equals, _ = lines[number].partition(" = ")
    if equals:
        lines[number] = f"{key} = {as_toml(value)}"
    told: tuple[Problem, ...] = ()
    try:
        loads("\n".join(lines))
    except StudyError as error:
        told = error.problems
    assert all(problem.wrong and problem.right for problem in told)
