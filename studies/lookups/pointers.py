"""Where to look up what a mistake in a study is about: the command that lists the right words or shows the key."""

from __future__ import annotations

import re

from studies.lookups.keys import dotted, keys_named
from studies.study.key_reference import Key
from studies.text.problems import Problem, StudyError

MOST = 4
"""Most commands below a message."""
SUBJECT_OF = (
    ("known material", "materials"),
    ("magnetisation curve", "curves"),
    ("reference level", "levels"),
    ("has no level at", "levels"),
    ("wire gauge", "conductors"),
    ("known profile", "profiles"),
    ("known shape", "profiles"),
    ("known arrangement", "profiles"),
)
"""Words of a mistake, and the subject that lists what would be right."""


def with_pointers(error: StudyError) -> str:
    """The message of an error, with the commands that show the keys concerned below it."""
    found = dict.fromkeys(filter(None, map(pointer, error.problems)))
    if not found:
        return str(error)
    shown = [f"    trayfield list {each}" for each in list(found)[:MOST]]
    return "\n".join([str(error), "  Look up:", *shown])


def pointer(problem: Problem) -> str:
    """What `trayfield list` should be asked about a problem, such as "keys circuits.spacing"; empty if nothing."""
    for words, subject in SUBJECT_OF:
        if words in problem.wrong:
            return subject
    key = problem.key.rpartition(": ")[2]
    names = [re.sub(r'\[\d+\]| ".*"', "", part) for part in key.split(" → ")]
    names[0] = names[0].partition(".")[0]
    while names:
        found = _keys(names)
        if len(found) == 1 or (found and len(names) == 1):
            return f"keys {dotted(found[0]) if len(found) == 1 else names[0]}"
        names.pop()
    return ""


def _keys(names: list[str]) -> tuple[Key, ...]:
    """Keys at a place of the study, without those that only end so."""
    whole = ".".join(names)
    return tuple(key for key in keys_named(whole) if dotted(key) == whole or len(names) == 1)
