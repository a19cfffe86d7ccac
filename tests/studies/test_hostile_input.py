"""Study files that steer a terminal, turn a page or flood a message: none reaches either."""

import json
import re
import tomllib
from typing import Any

import pytest

from studies.command import BAD_INPUT, main
from studies.compare.plan import plan_of
from studies.study.materials import material_of
from studies.study.reading import loads
from studies.study.toml_text import DEEPEST, tables_of
from studies.study.validation import CASE_TABLES
from studies.text.blocks import Listing, Text
from studies.text.html import plain_page, render
from studies.text.printable import LONGEST_ECHO, STEERING, printable, shortened, steering_signs
from studies.text.problems import Problem, StudyError
from tests.studies.command_studies import BASE
from tests.studies.solved_examples import EXAMPLES

pytestmark = pytest.mark.usefixtures("unrendered")

SIGNS = (
    "\x00",
    "\x07",
    "\x1b[31m",
    "\x1b]0;x\x07",
    "\n",
    "\r",
    "\x7f",
    "\x9b2J",
    "\u200f",
    "\u202e",
    "\u2066",
    "\ufeff",
)
"""NUL, bell, orders to a terminal, line ends, delete, and marks that are not seen and turn the direction."""


def steers(text: str) -> bool:
    return bool(STEERING.search(text.replace("\n", "")))


@pytest.mark.parametrize("sign", SIGNS)
def test_a_title_with_a_sign_that_cannot_be_seen_is_refused_with_its_number(sign):
    with pytest.raises(StudyError) as told:
        loads(BASE.replace('"Feeder"', json.dumps(f"Feeder{sign}1")))
    (problem,) = told.value.problems
    assert problem.key == "title"
    assert problem.wrong.startswith(f"has signs that cannot be seen: U+{ord(sign[0]):04X}")
    assert not steers(str(told.value))


@pytest.mark.parametrize("title", ["Prüfstand – 3 µm, Ω", "م‌ی‌خواهم", "电子显微镜", "a\u202fb\u00a0c"])
def test_titles_in_any_script_and_with_unusual_spaces_are_taken(title):
    assert loads(BASE.replace('"Feeder"', json.dumps(title, ensure_ascii=False))).title == title


def with_value(path: tuple[str | int, ...], value: object) -> str:
    """The base study as JSON-like TOML with one value replaced."""
    data = tomllib.loads(BASE)
    node: Any = data
    for part in path[:-1]:
        node = node[part]
    node[path[-1]] = value
    return "\n".join(f"{key} = {toml(entry)}" for key, entry in data.items())


def toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(key)} = {toml(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value)


def places(node: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Where each text of the base study stands."""
    if isinstance(node, dict | list):
        entries = node.items() if isinstance(node, dict) else enumerate(node)
        return [place for key, entry in entries for place in places(entry, (*path, key))]
    return [path]


MORE = BASE + (
    '\n[materials.m]\nconductivity = "6 MS/m"\ncurve_file = "m.csv"\n'
    '\n[drawing]\nfile = "m.dxf"\nunit = "mm"\n'
    '\n[[bonds]]\nparts = ["T1"]\n'
    '\n[[zones]]\nname = "z"\nwindow = [["2 m", "1 m"], ["3 m", "2 m"]]\nlimit = "1 uT"\n'
    '\n[[route]]\nname = "r"\nlength = "3 m"\nremove = ["circuits.F1.x"]\nset = { "circuits.F1.spacing" = "60 mm" }\n'
    '\n[order_search]\nreceptors = ["instrument"]\n'
    '\n[[variants]]\nname = "v"\nremove = ["circuits.F1.x"]\ntranspose = ["F1"]\n'
    'set = { "circuits.F1.spacing" = "60 mm" }\n'
    '\n[sweep]\n"circuits.F1.spacing" = ["60 mm", "70 mm"]\n'
)


CHANGES = ("route", "variants", "sweep")
"""Tables with dotted keys."""


def replaced(value: str) -> list[tuple[tuple[str | int, ...], str]]:
    """The study with each of its texts, and each of its keys, replaced in turn by a value."""
    found = []
    data = tomllib.loads(MORE)
    for path in places(data):
        changed = json.loads(json.dumps(data))
        node = changed
        for part in path[:-1]:
            node = node[part]
        node[path[-1]] = value
        found.append((path, "\n".join(f"{json.dumps(key)} = {toml(entry)}" for key, entry in changed.items())))
        if isinstance(path[-1], str):
            node[value] = node.pop(path[-1])
            found.append((path, "\n".join(f"{json.dumps(key)} = {toml(entry)}" for key, entry in changed.items())))
    return found


def told_of(text: str, cases: bool = False) -> str:
    try:
        plan_of(text) if cases else loads(text)
    except StudyError as error:
        return str(error)
    return ""


def test_no_message_repeats_much_of_a_value_or_a_sign_that_steers_a_terminal():
    for value, least in (
        ("\x1b[31m\u202e" + "x" * 5000, 80),
        ("5 mm " + "x" * 5000, 80),
        ("circuits.F1." + "x" * 3000, 40),
    ):
        messages = [
            (path, told_of(text, path[0] in CASE_TABLES))
            for path, text in replaced(value)
            if least > 40 or path[0] in CHANGES
        ]
        assert sum(bool(message) for _, message in messages) >= min(least, len(messages))
        for path, message in messages:
            assert not re.search("x" * (LONGEST_ECHO + 1), message), (path, message[:400])
            assert not steers(message), path


@pytest.mark.parametrize("text", ["x", "\x1b", "F1" * 400], ids=["plain", "steering", "long"])
def test_lists_and_tables_in_place_of_a_text_are_told_briefly(text):
    for value in ([text] * 200, {f"{text}{k}": text for k in range(100)}, [[[[[[[text]]]]]]]):
        for path in (("title",), ("circuits", 0, "name"), ("circuits", 0, "phases"), ("receptors", 0, "at")):
            message = told_of(with_value(path, value))
            assert message
            assert not steers(message)
            assert max(map(len, message.splitlines())) < 600


def test_a_study_file_whose_name_steers_a_terminal_is_named_in_words(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a\x1b[31m\nb.toml").write_text(BASE.replace('"50 Hz"', '"50 V"'))
    assert main(["run", "a\x1b[31m\nb.toml"]) == BAD_INPUT
    assert main(["run", "\u202ec.toml"]) == BAD_INPUT
    said = capsys.readouterr()
    assert not steers(said.out + said.err)
    assert said.err.startswith("a\\u001b[31m\\u000ab.toml: 1 thing to put right")


def test_a_folder_whose_name_steers_a_terminal_is_named_in_words(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "study.toml").write_text(BASE)
    (tmp_path / "out\x1b[31m").write_text("mine")
    assert main(["run", "study.toml", "--out", "out\x1b[31m"]) == BAD_INPUT
    said = capsys.readouterr().err
    assert said == "out\\u001b[31m: is a file; name a folder with --out\n"


@pytest.mark.parametrize(
    "line", [["run", "a.toml", "\x1b[31m"], ["\u202erun"], ["compare", "a.toml", "--workers", "\x1b"]]
)
def test_an_argument_that_steers_a_terminal_is_repeated_in_words(line, capsys):
    with pytest.raises(SystemExit) as ended:
        main(line)
    assert ended.value.code == BAD_INPUT
    said = capsys.readouterr().err
    assert not steers(said)
    assert re.search(r"\\u(001b|202e)|\\x1b", said)


def test_a_problem_keeps_key_and_value_short_and_on_one_line():
    problem = Problem("f\n", "k" * 500, "v\x1b" * 500, "is wrong\u00a0", "right")
    assert (problem.file, problem.wrong) == ("f\\u000a", "is wrong\\u00a0")
    assert len(problem.key) == len(problem.value) == LONGEST_ECHO
    assert problem.value.startswith("v\\u001bv")


def test_a_page_holds_no_sign_that_turns_what_stands_beside_it():
    # a comment of a study file may hold marks of direction; the page shows the file
    page = render("T", "", (Text(("a\x1bb",)), Listing("# limit \u202e Tu 001\u202c\n\tnext")))
    assert not STEERING.search(page.replace("\n", "").replace("\t", ""))
    assert not STEERING.search(plain_page("T", "a\u202eb\x1b\tc\n").replace("\n", "").replace("\t", ""))
    assert "# limit \\u202e Tu 001\\u202c\n\tnext" in page


DEEP = {
    "brackets": (f"a = 1\nb = {'[' * 3000}{']' * 3000}\n", 2),
    "tables": ("a = 1\n\nb = " + "{ c = " * 40 + "1" + " }" * 40 + "\n", 3),
    "points": (f'"a[[[[" = 1 # [[[[\nc{".d" * 2000} = 1\n', 2),
    "heading": (f"x = '''\n[[[[\n'''\n[{'.'.join('a' * 30)}]\n", 4),
    "several lines": ("a = [\n" + "[\n" * 30 + "]\n" * 31, DEEPEST + 1),
}


@pytest.mark.parametrize(("text", "line"), DEEP.values(), ids=DEEP)
def test_nesting_too_deep_is_told_with_its_line(text, line):
    with pytest.raises(StudyError) as told:
        tables_of(text, "study")
    (problem,) = told.value.problems
    assert problem.key == f"line {line}"
    assert "nested too deeply" in problem.wrong
    assert f"at most {DEEPEST} levels" in problem.right


def test_nesting_that_studies_have_is_far_from_too_deep():
    for example in EXAMPLES.glob("*.toml"):
        assert tables_of(example.read_text(encoding="utf-8"), "study")
    deep = "a = " + "[" * (DEEPEST - 1) + "]" * (DEEPEST - 1)
    assert tables_of(deep, "study")
    with pytest.raises(StudyError):
        tables_of(deep.replace("[", "[[", 2).replace("]", "]]", 2), "study")


SECRET = "root:x:0:0:hunter2"


@pytest.mark.parametrize("inside", [True, False], ids=["beside the study", "elsewhere"])
@pytest.mark.parametrize(
    "content",
    [SECRET, f"H_A_per_m,B_T\n{SECRET},1", "0,0\n100,0.5\n4711,0.25\n", "\xff"],
    ids=["words", "cells", "numbers", "bytes"],
)
def test_no_message_repeats_what_stands_in_a_file_of_a_curve(content, inside, tmp_path):
    folder = tmp_path / "studies"
    folder.mkdir()
    file = (folder if inside else tmp_path) / "curve.csv"
    file.write_bytes(content.encode("latin-1"))
    material = f'[materials.m]\nconductivity = "6 MS/m"\ncurve_file = "{file.name if inside else file}"\n'
    text = BASE.replace('material = "mild-steel"', 'material = "m"') + material
    with pytest.raises(StudyError) as told:
        material_of(loads(text, str(folder / "study.toml")), "m")
    message = str(told.value)
    assert "materials.m → curve_file" in message
    assert "hunter2" not in message
    assert ("4711" in message) is (inside and "4711" in content)  # of a curve of its own the numbers help
    if "\xff" not in content:
        assert re.search(r"line \d", message)


def test_a_curve_at_an_absolute_place_is_read(tmp_path):
    (tmp_path / "curve.csv").write_text("0,0\n100,0.5\n400,1\n2000,1.5\n")
    material = f'[materials.m]\nconductivity = "6 MS/m"\ncurve_file = "{tmp_path / "curve.csv"}"\n'
    study = loads(BASE.replace('material = "mild-steel"', 'material = "m"') + material)
    curve = material_of(study, "m").curve
    assert curve is not None


def test_signs_are_counted_and_shown_by_their_numbers():
    assert steering_signs("a\x1b\x1b\u202eb") == "U+001B, U+202E"
    assert printable("a\x1bb\nc", "\n") == "a\\u001bb\nc"
    assert printable("µΩ – 1\u202f000 ‘x’") == "µΩ – 1\u202f000 ‘x’"
    assert shortened("x" * LONGEST_ECHO) == "x" * LONGEST_ECHO
    assert shortened("x" * (LONGEST_ECHO + 1)) == "x" * (LONGEST_ECHO - 3) + "..."
