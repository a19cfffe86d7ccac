"""The plan of a comparison: the cases that a study file states, each with what it is known by among stored ones."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from studies.compare.case import Case, Draft, Plan
from studies.compare.case_key import case_key
from studies.compare.drafts import bare
from studies.compare.stated_cases import checked_cases
from studies.output.numbers import software_versions
from studies.section.parts import CrossSection
from studies.section.run_bonds import joining_words
from studies.study.dotted_keys import Tree, value_at
from studies.study.file import Study
from studies.study.reading import text_of
from studies.study.route_changes import is_transposed
from studies.text.progress import Progress


def read_plan(path: str | Path, report_progress: Progress | None = None) -> Plan:
    """Read a study file with its variants and its sweep, and check every case as `checked_cases` does."""
    return plan_of(text_of(path), str(path), report_progress)


def plan_of(text: str, name: str = "study", report_progress: Progress | None = None) -> Plan:
    """Read the cases from the text of a study file; `name` stands for the file in messages."""
    versions = software_versions()

    def made(draft: Draft, data: Tree, study: Study, section: CrossSection) -> Case:
        along = is_transposed(study)
        return Case(
            draft.name,
            draft.origin,
            draft.changes,
            (),
            data,
            case_key(study, versions),
            short=draft.short or draft.name,
            sections=len(study.route) if along else 1,
            joining=joining_words(section, study) if along else "",
        )

    base, cases, grid = checked_cases(text, name, made, report_progress)
    settled = [replace(case, settings=tuple(bare(value_at(case.data, path)) for path in grid)) for case in cases]
    return Plan(base, tuple(settled), tuple(grid))
