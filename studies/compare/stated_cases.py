"""The cases that a study file states: the base study, its `[[variants]]`, and the grid of its `[sweep]`."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from studies.compare.case import BASE, Draft
from studies.compare.drafts import LABEL, Sweep, grid_of, swept, variants_of
from studies.compare.transposition import transposed_drafts, transposed_tables
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.section.route_sections import route_sections
from studies.study.dotted_keys import Tree
from studies.study.file import Study
from studies.study.reading import loads_data, text_of
from studies.study.toml_text import lines_named, tables_of
from studies.study.validation import CASE_TABLES
from studies.text.problems import Problem, StudyError
from studies.text.progress import Progress

Made = TypeVar("Made")

MOST_TOLD = 100
"""Most problems of single cases that are told one by one."""


def base_study(path: str | Path) -> Study:
    """The base study of a file whose cases are all sound; otherwise `StudyError` holds all problems of all cases."""
    base, _, _ = checked_cases(text_of(path), str(path), lambda *of: None)
    return base


def checked_cases(
    text: str,
    name: str,
    made: Callable[[Draft, Tree, Study, CrossSection], Made],
    report_progress: Progress | None = None,
) -> tuple[Study, list[Made], Sweep]:
    """The base study, what is made of each case, and the grid of the text of a study file; all cases are checked.

    name: Stands for the file in messages.
    made: What is kept of a case, from its draft, its tables, its study and the cross-section of that.

    Every case is sound in itself and in its geometry; otherwise `StudyError` holds all problems of all cases.
    """
    tables = tables_of(text, name)
    base = {key: value for key, value in tables.items() if key not in CASE_TABLES}
    first = base_name(base)
    problems: list[Problem] = []
    drafts = [Draft(first, "base", (), base)]
    drafts += variants_of(tables.get("variants", []), base, {BASE, first}, name, problems)
    grid = grid_of(tables.get("sweep", {}), base, name, problems)
    drafts += swept(grid, base)
    drafts += transposed_drafts(drafts)
    cases: list[Made] = []
    studies: list[Study] = []
    found: dict[Problem, list[str]] = {}
    for number, draft in enumerate(drafts):
        if report_progress is not None and number % 50 == 0:
            report_progress(f"checking case {number + 1} of {len(drafts)}")
        try:
            data = transposed_tables(draft.data, draft.transpose, name) if draft.transpose else draft.data
            study = loads_data(data, name, text)
            section = route_sections(study)[0][1] if study.route else cross_section(study)
        except StudyError as error:
            for problem in error.problems:
                found.setdefault(problem, []).append(draft.name)
            continue
        cases.append(made(draft, data, study, section))
        if not studies:
            studies.append(study)
    problems = [*_listing(found, first, name), *problems]
    if problems:
        with lines_named(text):
            raise StudyError(problems)
    return studies[0], cases, grid


def base_name(base: Mapping[str, object]) -> str:
    """Name of the base study among its cases."""
    name = base.get(LABEL)
    return name if isinstance(name, str) else BASE


def cases_note(study: Study) -> str:
    """One line on the further cases that the file of a study states; empty where it states none."""
    if not study.source_text:
        return ""
    tables = tables_of(study.source_text, study.source_name)
    variants, grid = tables.get("variants"), tables.get("sweep")
    count = len(variants) if isinstance(variants, list) else 0
    if isinstance(grid, dict) and grid:
        count += math.prod(len(values) if isinstance(values, list) else 1 for values in grid.values())
    if not count:
        return ""
    cases = "1 further case" if count == 1 else f"{count} further cases"
    base = f"the base study, “{study.case}”" if study.case else "the base study"
    return f"This is {base}; its file states {cases}: trayfield compare {study.source_name} compares them all."


def _listing(found: Mapping[Problem, list[str]], first: str, file: str) -> list[Problem]:
    """Each problem once, with the names of its cases; one of the base study is one of every case and names none."""
    told = [problem if cases[0] == first else _of_cases(problem, cases) for problem, cases in found.items()]
    if len(told) <= MOST_TOLD:
        return told
    rest = Problem(file, "further cases", "", f"have {len(told) - MOST_TOLD} problems more", "see above")
    return [*told[:MOST_TOLD], rest]


def _of_cases(problem: Problem, cases: Sequence[str]) -> Problem:
    shown = ", ".join(f'"{name}"' for name in cases[:3])
    more = f" and {len(cases) - 3} more" if len(cases) > 3 else ""
    head = f"{'cases' if len(cases) > 1 else 'case'} {shown}{more}"
    return replace(problem, key=f"{head}: {problem.key}", line=0)
