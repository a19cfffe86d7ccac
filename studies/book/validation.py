"""The page of checks: every number of `trayfield verify` and of tests that name a source, by topic."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from studies.output.numbers import software_versions
from studies.text.markdown import as_markdown, escaped
from studies.text.marks import WORDS
from studies.text.numbers import power_of_ten, stated_number
from studies.text.table import Column, Table
from studies.text.units import NUMBER, Unit
from studies.verify.checks import Checked, CheckFamily, CheckOutcome, Plausibility, ReferenceMark, run_checks
from studies.verify.registry import FAMILIES, chosen_checks
from studies.verify.table import record_lists, shown_number, shown_per_cent, shown_unit

CLONE = Path(__file__).parents[2]
"""Where the tests are, if this is a clone of the repository."""
DIGITS, SMALL = 7, 1e-2
"""Digits of a number of a test, and below what it is written with a power of ten."""
INTRODUCTION = (
    "What `trayfield verify` compares: published values, exact solutions, an independent second method, and ranges "
    "that practice expects. Each number stands beside its source with two marks: how the number was obtained "
    "(confirmed, recomputed, quoted) and how well the reference is known (seen, named). Tests of the repository have "
    "one: seen or recomputed, named from memory, derived here, or common practice."
)
NOTE = (
    "Off: got over expected, less one; for an expected 0 and for phasors the difference itself over the scale of the "
    "check; after the stroke its tolerance. Of several numbers compared at once the one nearest its tolerance is "
    "shown, with their count. Tests without numbers compare more than one can show here: bounds, orders, whole tables."
)


@dataclass(frozen=True)
class Held:
    """A number beside the one that it is held to."""

    topic: str
    what: str
    expected: str
    got: str
    unit: str
    difference: float | None
    tolerance: float | None
    source: str
    mark: str
    passed: bool


COLUMNS: tuple[Column[Held], ...] = (
    Column("Check", lambda row: row.what),
    Column("Verdict", lambda row: "pass" if row.passed else "FAIL"),
    Column("Expected", lambda row: row.expected),
    Column("Got", lambda row: f"{row.got} {row.unit.replace(NUMBER.symbol, '')}".strip()),
    Column("Off / tolerance (%)", lambda row: _off(row)),
    Column("Source", lambda row: f"{row.source} [{row.mark}]" if row.mark else row.source),
)


def check_page(*, full: bool = False) -> str:
    """All checks of `trayfield verify`; if they are run, with their numbers and those of the tests of a clone."""
    lines = ["# Validation", "", INTRODUCTION, ""]
    if not full:
        return "\n".join([*lines, *(line for family in FAMILIES for line in _family(family))]) + "\n"
    outcomes = run_checks(chosen_checks(), lambda message: None)
    parts = [
        "# Validation",
        INTRODUCTION,
        NOTE,
        "## Checks of `trayfield verify`",
        *tables_by_topic(rows_of_checks(outcomes)),
    ]
    parts += ["## Tests against a source", *tables_by_topic(rows_of_tests("tests"))]
    return "\n\n".join([*parts, *record_lists(outcomes, software_versions())]) + "\n"


def tables_by_topic(rows: Iterable[Held]) -> list[str]:
    """A heading and a table for each topic, in the order in which the topics begin."""
    topics: dict[str, list[Held]] = {}
    for row in rows:
        topics.setdefault(row.topic, []).append(row)
    return [part for topic, own in topics.items() for part in (f"### {topic}", as_markdown(Table("", COLUMNS, own)))]


def rows_of_checks(outcomes: Sequence[CheckOutcome]) -> Iterator[Held]:
    """The numbers of the checks."""
    for outcome in outcomes:
        for row in outcome.results:
            known = "" if row.source.known is ReferenceMark.NONE else f", {row.source.known}"
            band = (row.low, row.high) if isinstance(row, Plausibility) else (row.published,)
            yield Held(
                topic=outcome.check.title,
                what=f"{row.quantity} ({row.method})",
                expected=" to ".join(shown_number(row, value) for value in band),
                got=shown_number(row, row.computed),
                unit=shown_unit(row).symbol,
                difference=row.difference if isinstance(row, Checked) else None,
                tolerance=row.tolerance if isinstance(row, Checked) else None,
                source=row.source.short,
                mark=f"{row.source.number}{known}",
                passed=row.passed,
            )


def rows_of_tests(*places: str) -> list[Held]:
    """The numbers of the tests below some places of a clone that name a source, from a run of them; none elsewhere."""
    if not (CLONE / "tests" / "against_the_world.py").exists():
        return []
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "against.json"
        command = (
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            "-p",
            "tests.against_the_world",
            "--against",
            str(file),
        )
        subprocess.run([sys.executable, *command, *places], cwd=CLONE, check=False, stdout=subprocess.DEVNULL)
        return [_of_test(row) for row in json.loads(file.read_text(encoding="utf-8"))]


def _of_test(row: dict[str, Any]) -> Held:
    expected, off = row["expected"], row["off"]
    size = 0.0 if expected is None else abs(_number(expected))
    several = f", nearest its tolerance of {row['compared']}" if row["compared"] > 1 else ""
    real = isinstance(expected, float) and isinstance(row["got"], float)
    topic, _, words = row["test"].partition(": ")
    sign = -1.0 if real and row["got"] < expected else 1.0
    return Held(
        topic=topic.capitalize(),
        what=f"{words}{several}",
        expected="" if expected is None else _shown(expected),
        got="" if expected is None else _shown(row["got"]),
        unit="",
        difference=None if expected is None else sign * off / (size or 1.0),
        tolerance=None if expected is None else row["tolerance"] / (size or 1.0),
        source=row["source"],
        mark=", ".join(WORDS[mark] for mark in row["marks"]),
        passed=row["passed"],
    )


def _off(row: Held) -> str | None:
    if row.difference is None or row.tolerance is None:
        return None
    return f"{shown_per_cent(row.difference, signed=True)} / {shown_per_cent(row.tolerance, signed=False)}"


def _number(value: float | list[float]) -> complex:
    return complex(*value) if isinstance(value, list) else value


def _shown(value: float | list[float]) -> str:
    if isinstance(value, list):
        return f"{_shown(value[0])} + j {_shown(value[1])}"
    return power_of_ten(value, DIGITS) if 0 < abs(value) < SMALL else stated_number(value, Unit("", 1.0), DIGITS)


def _family(family: CheckFamily) -> list[str]:
    checks = [f"- `{check.name}`: {escaped(check.title)}" for check in family.checks]
    return [f"## {family.name.replace('-', ' ').capitalize()}", "", *checks, ""]
