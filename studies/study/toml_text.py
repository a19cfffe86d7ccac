"""The text of a study file: its tables, the line on which each key stands, and text that is no TOML."""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace

from studies.study.findings import Place, as_list, as_table
from studies.text.printable import shortened
from studies.text.problems import Problem, StudyError

LONGEST_SHOWN = 70
"""Longest value shown in a message. [characters]"""

DEEPEST = 20
"""Deepest nesting of lists and tables in a study file, more than any key needs. [levels]"""

TEXTS = r'"""(?:\\.|[^\\])*?"""|"(?:\\.|[^"\\\n])*"|' + r"'''.*?'''|'[^'\n]*'"
NESTING = re.compile(rf"{TEXTS}|#[^\n]*|[][{{}}\n]|(?<=[^\s\d.])\s*\.\s*(?=[^\s\d.])", re.DOTALL)
"""Signs that show how deep a place in a TOML text is: brackets, and points of dotted keys; texts and comments whole."""
TOKEN = re.compile(rf"{TEXTS}|#[^\n]*|[][{{}}=,.\n]|[^][{{}}=,.\n\s\"'#]+", re.DOTALL)
"""A text, comment, sign, line end or bare word of a TOML text."""


def tables_of(text: str, name: str) -> dict[str, object]:
    """The tables of a study file as they stand; text that is not valid TOML raises `StudyError`."""
    text = text.removeprefix("\ufeff")
    try:
        tables = tomllib.loads(text.replace("\r\n", "\n"))
    except ValueError as error:  # TOMLDecodeError, and numbers of too many digits
        raise StudyError([_broken_toml(text, name, str(error))]) from None
    except RecursionError:
        raise StudyError([_too_deep(text, name)]) from None
    if _depth(tables) > DEEPEST:
        raise StudyError([_too_deep(text, name)])
    return tables


@contextmanager
def lines_named(text: str) -> Iterator[None]:
    """Give each problem raised within the line of the study file with this text that holds its key or its table."""
    try:
        yield
    except StudyError as error:
        if not text:
            raise
        lines, tables = key_lines(text), tables_of(text, "")
        raise StudyError(
            [p if p.line else replace(p, line=_line(p.key, lines, tables)) for p in error.problems]
        ) from None


def _line(words: str, lines: Mapping[Place, int], tables: Mapping[str, object]) -> int:
    place = _place(words, tables)
    own = next((lines[place[:n]] for n in range(len(place), 0, -1) if place[:n] in lines), 0)
    # the head [cables.c240] alone makes the table cables as well
    own = own or next((line for at, line in lines.items() if place and at[:1] == place[:1]), 0)
    # what is in no table of the file belongs above the first of them
    return own or (min(lines.values(), default=1) if words else 0)


WORDS = re.compile(r'("[^"]*"|[^"[]*)((?:\[\d+\])*)\s*(?:"([^"]*)")?')
"""Part of a key in words: the key, indices, the name of an entry."""


def _place(words: str, tables: Mapping[str, object]) -> Place:
    """Place of a key in words: 'circuits[1] "F1" → phases[2]', 'trays "T1" → name', 'case "trefoil": circuits[1]'."""
    place: list[str | int] = []
    for part in re.split(r" → |: ", words):
        key, indices, name = WORDS.match(part.strip()).groups()  # type: ignore[union-attr]  # it matches every text
        key = key.strip(' "')
        named = not place and key.startswith(("cables.", "materials."))
        place += key.split(".", 1) if named else [key]
        place += [int(index) - 1 for index in re.findall(r"\d+", indices)]
        if name and not indices and len(place) == 1:
            place = ["variants" if key in ("case", "cases") else key]
            names = [as_table(entry).get("name") for entry in as_list(tables.get(str(place[0])))]
            place += [names.index(name)] if name in names else []
    return tuple(place)


def key_lines(text: str) -> dict[Place, int]:
    """Line of each table, key and entry of a list in a text that is valid TOML; lines count from 1."""
    return _Lines(text).found


class _Lines:
    """Walk through the tokens of a TOML text."""

    def __init__(self, text: str) -> None:
        self.found: dict[Place, int] = {}
        self._lists: dict[Place, int] = {}
        self._tokens = self._numbered(text.replace("\r\n", "\n"))
        self._step()
        table: Place = ()
        while self._token:
            if self._token == "[":
                table = self._head()
            elif self._token == "\n":
                self._step()
            else:
                self._statement(table)

    @staticmethod
    def _numbered(text: str) -> Iterator[tuple[str, int]]:
        number = 1
        for match in TOKEN.finditer(text):
            if not match[0].startswith("#"):
                yield match[0], number
            number += match[0].count("\n")

    def _step(self) -> None:
        self._token, self._number = next(self._tokens, ("", 0))

    def _key(self, end: str) -> list[str]:
        parts = []
        while self._token and self._token != end:
            if self._token != ".":
                quoted = self._token[0] in "\"'"
                parts.append(str(tomllib.loads(f"key = {self._token}")["key"]) if quoted else self._token)
            self._step()
        self._step()
        return parts

    def _below(self, place: Place, parts: Iterable[str]) -> Place:
        """Place of a dotted key; in a list of tables it belongs to the last of them."""
        for part in parts:
            place = (*place, part)
            place = (*place, self._lists[place] - 1) if place in self._lists else place
        return place

    def _head(self) -> Place:
        number = self._number
        self._step()
        in_list = self._token == "["
        if in_list:
            self._step()
        *above, last = self._key("]")
        place = self._below((), above)
        if in_list:
            self._lists[(*place, last)] = self._lists.get((*place, last), 0) + 1
            self.found.setdefault((*place, last), number)
            self._step()  # the second bracket
        place = self._below(place, [last])
        self.found[place] = number
        return place

    def _statement(self, table: Place) -> None:
        number = self._number
        for part in self._key("="):
            table = (*table, part)
            self.found.setdefault(table, number)
        self._value(table)

    def _value(self, place: Place) -> None:
        self.found.setdefault(place, self._number)
        if self._token not in ("[", "{"):
            while self._token not in (",", "]", "}", "\n", ""):
                self._step()
            return
        close, index = {"[": "]", "{": "}"}[self._token], 0
        self._step()
        while self._token not in (close, ""):
            if self._token in (",", "\n"):
                self._step()
            elif close == "]":
                self._value((*place, index))
                index += 1
            else:
                self._statement(place)
        self._step()


def _depth(tables: object) -> int:
    """Levels of tables and lists within each other."""
    depth, level = 0, [tables]
    while level := [
        entry
        for node in level
        if isinstance(node, dict | list)
        for entry in (node.values() if isinstance(node, dict) else node)
    ]:
        depth += 1
    return depth


def _too_deep(text: str, name: str) -> Problem:
    """The line on which brackets and dotted keys first go deeper than any key of a study."""
    number, brackets, points = 1, 0, 0
    for sign in NESTING.findall(text):
        brackets += (sign in "[{") - (sign in "]}")
        points = 0 if sign == "\n" else points + (sign.strip() == ".")
        if brackets + points > DEEPEST:
            break
        number += sign.count("\n")
    line = (text.splitlines() or [""])[min(number, len(text.splitlines())) - 1]
    wrong = f"is nested too deeply: {shortened(line.strip(), LONGEST_SHOWN)}"
    return Problem(name, f"line {number}", "", wrong, f"tables and lists of at most {DEEPEST} levels, as documented")


def _broken_toml(text: str, name: str, message: str) -> Problem:
    match = re.search(r"\s*\(at line (\d+), column (\d+)\)", message)
    wrong = re.sub(r"\s*\(at [^)]*\)", "", message)
    wrong = wrong[:1].lower() + wrong[1:]
    lines = text.splitlines() or [""]
    number, column = (int(match[1]), int(match[2])) if match else (len(lines), len(lines[-1]) + 1)
    line = lines[number - 1].strip() if number <= len(lines) else ""
    right = "KEY = VALUE with text and quantities in quotes, [table] or [[list of tables]]"
    twice = any(word in message for word in ("overwrite", "twice", "mutate", "already"))
    bare = re.fullmatch(r"([\w-]+)\s*=\s*([+-]?[\w.][^\"'\[\]{}#]*?)\s*(?:#.*)?", line)
    if twice:
        right = "every key and every [table] once; a list of tables in double brackets"
    elif bare and not re.fullmatch(r"[+-]?[\d.]+|true|false", bare[2]):
        value = re.sub(r"(?<=\d),(?=\d)", ".", bare[2])  # a decimal comma
        right = f'text and quantities in quotes: {bare[1]} = "{value}"'
    straight = re.sub("[\u201c\u201d\u201e]", '"', line)
    if straight != line:
        right = f"straight quotes: {shortened(straight, LONGEST_SHOWN)}"
    place = f"line {number}, column {column}"
    return Problem(name, place, "", f"is not valid TOML, {wrong}: {shortened(line, LONGEST_SHOWN)}", right)
