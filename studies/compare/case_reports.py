"""The full results of every case, each in a folder of its own below the comparison."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path

from studies.compare.case import Case, Plan
from studies.output.folder import held_folder
from studies.output.write import write_results
from studies.runner import run
from studies.study.reading import loads_data
from studies.text.failures import guarded
from studies.text.file_names import slugs
from studies.text.progress import Progress

FOLDER, PAGE, KEY = "reports", "report.html", "case.txt"
"""Folder of all reports; in that of a case its page, and what it was made for."""


def write_case_reports(plan: Plan, target: Path, report_progress: Progress) -> Mapping[str, str]:
    """Solve each case again and write its results folder; one of the same case is left as it is.

    Returns pages: Path of each case's page from the folder of the comparison, by the case's name. A case whose report
    fails has none, and costs no other.
    """
    found: dict[str, str] = {}
    for number, (case, slug) in enumerate(zip(plan.cases, slugs(case.name for case in plan.cases), strict=True), 1):
        report_progress(f"report {number} of {len(plan.cases)}: {case.name}")
        place = target / FOLDER / slug
        make = partial(_written, plan, case, place)
        if guarded(f"report of case “{case.name}”", make, False):
            found[case.name] = f"{FOLDER}/{slug}/{PAGE}"
    return found


def _written(plan: Plan, case: Case, place: Path) -> bool:
    mark = place / KEY
    if mark.exists() and mark.read_text(encoding="utf-8") == case.key and (place / PAGE).exists():
        return True
    study = loads_data({**case.data, "title": f"{plan.base.title}: {case.name}"}, plan.base.source_name)
    place.mkdir(parents=True, exist_ok=True)
    with held_folder(place):
        write_results(run(study), place, lambda message: None)
        mark.write_text(case.key, encoding="utf-8")
    return True
