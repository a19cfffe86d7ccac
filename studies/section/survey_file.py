"""Readings of a survey from a CSV file: columns by their headings, units in the headings."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NoReturn

import shapely

from studies.section.loop_places import body_at
from studies.section.parts import PlacedCable, StudyPart, is_of
from studies.study.file import Study, beside
from studies.text.printable import shortened, visible
from studies.text.problems import Problem, StudyError

AXES = ("resultant", "x", "y")
"""What a meter may show: the resultant of all axes, or one axis."""
LENGTHS = {"m": 1.0, "cm": 1e-2, "mm": 1e-3}
FIELDS = {"T": 1.0, "mT": 1e-3, "uT": 1e-6, "µT": 1e-6, "nT": 1e-9, "mG": 1e-7, "G": 1e-4}
SHARES = {"%": 0.01}
AMPERES = {"A": 1.0, "kA": 1e3}
COLUMNS: Mapping[str, Mapping[str, float]] = {
    "x": LENGTHS,
    "y": LENGTHS,
    "field": FIELDS,
    "uncertainty": FIELDS | SHARES,
    "load": SHARES | AMPERES,
}
"""Columns of numbers with the units that their headings may name, by their size in SI."""
NEEDED = ("x", "y", "field", "uncertainty")
WORDS = ("name", "axis")
HEADING = re.compile(r"\s*([A-Za-z]+)\s*(?:[(\[]\s*(\S+?)\s*[)\]])?\s*")
EXAMPLE = "x (m), y (m), field (nT), uncertainty (%)"
MOST = 5000
"""Largest number of readings."""


@dataclass(frozen=True)
class Reading:
    """One reading of the field."""

    name: str
    at: tuple[float, float]
    """[m]"""
    axis: str
    """One of AXES."""
    field: float
    """Rms. [T]"""
    uncertainty: float
    """Standard uncertainty. [T]"""
    load: float
    """Load at the time, over the study's current. [-]"""


def survey_readings(study: Study) -> tuple[Reading, ...]:
    """The readings of a study's survey; a file that holds none, or a wrong one, raises `StudyError`."""
    if study.survey is None:
        return ()
    path = beside(study, study.survey.file)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else "it is not UTF-8 text"
        _refuse(study, "survey → file", f"cannot be read ({why})", f"a CSV file with the columns {EXAMPLE}")
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        _refuse(study, "survey → file", "is empty", f"a heading of columns such as {EXAMPLE}, then one line a reading")
    separator = max(";\t,", key=lines[0][1].count)
    rows = list(csv.reader((line for _, line in lines), delimiter=separator))
    table = _Table(study, separator, _columns(study, rows[0]))
    if not 1 <= len(rows) - 1 <= MOST:
        _refuse(study, "survey → file", f"holds {len(rows) - 1} readings", f"from 1 to {MOST} readings")
    readings = [table.reading(number, row) for (number, _), row in zip(lines[1:], rows[1:], strict=True)]
    if table.problems:
        raise StudyError(table.problems)
    return tuple(reading for reading in readings if reading is not None)


def survey_problems(study: Study, cables: Sequence[PlacedCable], parts: Sequence[StudyPart]) -> list[Problem]:
    """A meter stands in air, and there are more readings than numbers that the fit asks them for."""
    try:
        readings = survey_readings(study)
    except StudyError as error:
        return list(error.problems)
    problems = []
    for reading in readings:
        if (body := body_at(cables, parts, shapely.Point(reading.at))) is not None:
            key = f'survey → file, reading "{reading.name}"'
            problems.append(study.problem(key, f"is inside {body}", "a place in air, in the study's coordinates"))
    fitted = study.survey.permeability_of if study.survey is not None else None
    if fitted is not None and any(part.steel is not None and is_of(part.name, fitted) for part in parts):
        key, wrong = "survey → permeability_of", f"is {fitted}, whose permeability follows from its curve"
        problems.append(study.problem(key, wrong, "a part of steel that does not saturate, or leave it out"))
    return problems


@dataclass(frozen=True)
class _Column:
    place: int
    size: float
    """Of its unit in SI."""
    unit: str


def _columns(study: Study, heading: Sequence[str]) -> Mapping[str, _Column]:
    """The columns by name; one that is not known, has no unit or stands twice is refused."""
    found: dict[str, _Column] = {}
    known = (*COLUMNS, *WORDS)
    for place, text in enumerate(heading):
        match = HEADING.fullmatch(text)
        name = match[1].lower() if match else ""
        if match is None or name not in known or name in found:
            wrong = f'has the column "{shortened(visible(text))}"' + (" twice" if name in found else "")
            _refuse(study, "survey → file", wrong, f"columns {EXAMPLE}; further ones are name, axis and load (%)")
        units = COLUMNS.get(name, {"": 1.0})
        unit = match[2] or ""
        if unit not in units:
            wrong = f'has the column "{name}" with ' + (f'the unit "{shortened(visible(unit))}"' if unit else "no unit")
            _refuse(study, "survey → file", wrong, f"{name} ({next(iter(units))}); units are {', '.join(units)}")
        found[name] = _Column(place, units[unit], unit)
    if missing := [name for name in NEEDED if name not in found]:
        _refuse(study, "survey → file", f"has no column {' and none '.join(missing)}", f"columns {EXAMPLE}")
    currents = {c.current if isinstance(c.current, float) else None for c in study.circuits}
    if "load" in found and found["load"].unit in AMPERES and (len(currents) > 1 or None in currents):
        right = "load (%): phases or circuits of different currents have no load in amperes in common"
        _refuse(study, "survey → file", "has a load in amperes", right)
    return found


class _Table:
    """Rows of a survey file, with what is wrong in them."""

    def __init__(self, study: Study, separator: str, columns: Mapping[str, _Column]) -> None:
        self._study, self._separator, self._columns = study, separator, columns
        self.problems: list[Problem] = []

    def reading(self, number: int, row: Sequence[str]) -> Reading | None:
        """The reading of a line, None if something is wrong there."""
        before = len(self.problems)
        if len(row) != len(self._columns):
            right = f"{len(self._columns)} cells, separated as the heading is"
            self._wrong(number, "", f"has {len(row)} cells", right)
            return None
        value = {name: self._number(number, name, row) for name in COLUMNS if name in self._columns}
        axis = self._word("axis", row).lower() or AXES[0]
        if axis not in AXES:
            self._wrong(number, f"axis = {axis}", "is no axis", f"one of {', '.join(AXES)}")
        for name in ("field", "uncertainty", "load"):
            if name in value and not (value[name] > 0 or (name == "field" and value[name] == 0)):
                self._wrong(number, name, "is not above 0", f"a {name} above 0")
        if len(self.problems) > before or self._study.survey is None:
            return None
        field, spread = value["field"], value["uncertainty"]
        if self._columns["uncertainty"].unit in SHARES:
            spread *= field
        if spread <= 0:
            self._wrong(number, "uncertainty", "is 0 for a field of 0", "an uncertainty in the unit of the field")
            return None
        name = self._word("name", row) or f"line {number}"
        standard = spread / self._study.survey.coverage_factor
        return Reading(name, (value["x"], value["y"]), axis, field, standard, self._load(value))

    def _load(self, value: Mapping[str, float]) -> float:
        if "load" not in value:
            return 1.0
        current = self._study.circuits[0].current
        if self._columns["load"].unit in AMPERES and isinstance(current, float):
            return value["load"] / current
        return value["load"]

    def _word(self, name: str, row: Sequence[str]) -> str:
        return visible(row[self._columns[name].place].strip()) if name in self._columns else ""

    def _number(self, number: int, name: str, row: Sequence[str]) -> float:
        """The number of a cell in SI; NaN, with a problem, if it is none."""
        column = self._columns[name]
        text = row[column.place].strip()
        try:
            value = float(text.replace(",", ".") if self._separator != "," else text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            comma = "" if self._separator == "," else "; a decimal comma is understood"
            right = f"a number, in {column.unit}{comma}"
            self._wrong(number, f'{name} = "{text}"', "is no number", right)
        return value * column.size

    def _wrong(self, number: int, what: str, wrong: str, right: str) -> None:
        if len(self.problems) < 10:  # the first ones show what is wrong with all
            key = f"survey → file, its line {number}" + (f", {what}" if what else "")
            self.problems.append(self._study.problem(key, wrong, right))


def _refuse(study: Study, key: str, wrong: str, right: str) -> NoReturn:
    file = study.survey.file if study.survey is not None else ""
    raise StudyError([study.problem(key, wrong, right, f'"{file}"')]) from None
