"""Keys of the study file by name, and the page of one with an example."""

from __future__ import annotations

import re
from collections.abc import Sequence

from studies.study.file import StudyFile
from studies.study.key_reference import NEEDED, NONE, Key, keys
from studies.text.blocks import Text
from studies.text.table import Column, Table
from studies.text.terminal import as_text

_DOTTED = '"circuits.F1.clear_gap"'


def _of_cases(table: str, path: str, meaning: str, form: str, default: str, example: str) -> Key:
    return Key(table, path, StudyFile, "", meaning, form, default, example)


CASE_KEYS: tuple[Key, ...] = (
    _of_cases("[[variants]]", "name", "name of the case", "words on one line", NEEDED, 'name = "flat, touching"'),
    _of_cases(
        *("[[variants]]", "set", "keys of the study that differ, with their values"),
        *("dotted keys in quotes with their values", NONE, f'set = {{ {_DOTTED} = "0 mm" }}'),
    ),
    _of_cases(
        *("[[variants]]", "remove", "keys of the study that the case does not have"),
        *("list of dotted keys", NONE, f"remove = [{_DOTTED}]"),
    ),
    _of_cases(
        *("[[variants]]", "transpose", "circuits laid in three equal sections with their phases transposed"),
        *("list of circuits", NONE, 'transpose = ["F1"]'),
    ),
    _of_cases(
        *("[sweep]", '"DOTTED KEY"', "values of a key; each combination of all keys here is a case"),
        *("list of values", NONE, f'{_DOTTED} = ["0 mm", "1 diameter"]'),
    ),
)
"""Keys of the tables that state further cases, which `trayfield compare` solves."""


def all_keys() -> tuple[Key, ...]:
    """Every key of a study file, those of variants and sweep last."""
    return (*keys(), *CASE_KEYS)


def owner(key: Key) -> str:
    """Name of the table that a key belongs to, "circuits" for [[circuits]]; empty for keys of the study itself."""
    return key.table.strip("[]").partition(".")[0]


def dotted(key: Key) -> str:
    """Name of a key with its table's, such as circuits.spacing."""
    return ".".join(filter(None, (owner(key), key.path)))


def keys_named(name: str) -> tuple[Key, ...]:
    """Keys of a name: all keys of a table, a key by its whole name, or every key that ends so.

    Names of circuits, trays and cables may stand between, as in a dotted key: circuits.F1.spacing.
    """
    parts = [part for part in re.split(r"[.\s\[\]]+", name.strip()) if part]
    every = all_keys()
    if not parts:
        return ()
    if len(parts) == 1 and (own := tuple(key for key in every if owner(key) == parts[0])):
        return own
    whole = ".".join(parts)
    for words in (name, whole, ".".join((parts[0], *parts[2:]))):
        if found := tuple(key for key in every if dotted(key) == words):
            return found
    return tuple(key for key in every if f".{dotted(key)}".endswith(f".{whole}"))


def key_table(rows: Sequence[Key], caption: str) -> Table[Key]:
    """Keys with their meaning and default."""
    columns: tuple[Column[Key], ...] = (
        Column("Key", lambda key: key.path, brief=True),
        Column("Meaning", lambda key: key.meaning, brief=True),
        Column("Default", lambda key: key.default, brief=True),
        Column("Form", lambda key: key.form),
        Column("Example", lambda key: key.example or None),
    )
    return Table(caption, columns, rows)


def keys_by_table(rows: Sequence[Key]) -> list[Table[Key]]:
    """A table of keys for each table of the study file."""
    heads = dict.fromkeys(key.table for key in rows)
    return [key_table([key for key in rows if key.table == head], head or "The study itself") for head in heads]


def key_page(key: Key) -> str:
    """What a key is, how it is written, what holds without it, and an example to paste."""
    lines = (f"Meaning: {key.meaning}.", f"Form: {key.form.replace('`', '')}.", f"Default: {key.default}.")
    return page(dotted(key), lines, key_example(key))


def key_example(key: Key) -> str:
    """Example of a key below the head of its table; of one within a table of its own, that table in braces."""
    if not key.example:
        return key.form.partition("`")[2].rstrip("`")
    statement = key.example
    outer, _, own = key.path.rpartition(".")
    if outer and key.model is not StudyFile:
        holder = next((each.example for each in all_keys() if dotted(each) == dotted(key).rpartition(".")[0]), "")
        within = re.search(rf"[{{,] *{own} = ", holder) is not None
        statement = holder if within else f"{outer} = {{ {key.example} }}"
    head = key.table.replace("NAME", "c240" if owner(key) == "cables" else "test-steel")
    return f"{head}\n{statement}" if head else statement


def page(name: str, lines: Sequence[str], example: str = "") -> str:
    """A name above lines about it and an example, which is not wrapped so that it can be pasted."""
    about = as_text(Text(tuple(lines), "list", name))
    pasted = "\n".join(f"    {line}".rstrip() for line in example.splitlines())
    return f"{about}\n\n{pasted}" if pasted else about
