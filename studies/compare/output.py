"""Comparing all cases of a study file: solve what is not stored yet, then write tables, figures and report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from studies.compare.case import Plan
from studies.compare.case_reports import write_case_reports
from studies.compare.comparison import Comparison, comparison_of
from studies.compare.execute import Executor, execute
from studies.compare.figure import comparison_figures
from studies.compare.report import comparison_document, write_comparison_report
from studies.compare.store import FILE, Store, is_store
from studies.compare.table_files import PARQUET_MISSING, comparison_csv, comparison_json, write_parquet
from studies.compare.words import comparison_summary
from studies.output.files import folder_with_manifest, whole_file, write_page, write_text
from studies.output.folder import FolderKind, held_folder
from studies.output.numbers import software_versions
from studies.report.figures import save_drawn
from studies.report.print import attachments_of, workbook_of
from studies.report.sheet import identity_of, title_block_of
from studies.text.failures import Failure, collected, guarded
from studies.text.pdf import as_pdf
from studies.text.progress import Progress

COMPARISON = FolderKind("a comparison", "comparison.json", lambda folder: is_store(folder / FILE))
"""The folder of a comparison, from the first stored case on."""


@dataclass(frozen=True)
class Compared:
    """What a comparison gave."""

    comparison: Comparison
    notes: tuple[str, ...]
    """What the user should know about the files."""
    failures: tuple[Failure, ...] = ()
    """What could not be written; all else is."""


@dataclass(frozen=True)
class Extras:
    """What is written beside table, figures and page."""

    pdf: bool = False
    xlsx: bool = False
    reports: bool = False
    """Of every case its own results folder, which solves it again."""


def compare(
    plan: Plan,
    target: Path,
    executor: Executor,
    report_progress: Progress,
    anew: bool = False,
    extras: Extras = Extras(),  # it is frozen
) -> Compared:
    """Solve and compare all cases of a plan, and write the comparison to a folder if at least one case has numbers.

    Cases that are stored in the folder are solved again only if `anew`. The executor, of `studies.compare.local` or
    `studies.compare.cluster`, solves the others.
    """
    with held_folder(target, COMPARISON):
        with Store.opened(target / FILE) as store:
            if anew:
                store.forget(case.key for case in plan.cases)
            outcomes = execute(plan, store, executor, report_progress)
        comparison = comparison_of(plan, outcomes, software_versions())
        if not comparison.solved:
            return Compared(comparison, ())
        with collected() as failures:
            if extras.reports:
                pages = write_case_reports(plan, target, report_progress)
                rows = tuple(replace(row, report=pages.get(row.name, "")) for row in comparison.rows)
                comparison = replace(comparison, rows=rows)
            notes = write_comparison(comparison, target, report_progress, extras)
    return Compared(comparison, notes, tuple(failures))


def write_comparison(
    comparison: Comparison, target: Path, report_progress: Progress, extras: Extras = Extras()
) -> tuple[str, ...]:
    """Write table, figures and report into a folder; what the user should know of it.

    What fails costs only itself, is collected, and is named on the page and in comparison.json.
    """
    notes: list[str] = []

    def write_table(path: Path) -> None:
        if not write_parquet(comparison, path):
            notes.append(PARQUET_MISSING)

    with folder_with_manifest(target, COMPARISON, partial(comparison_json, comparison)) as (folder, found):
        report_progress("writing the table")
        whole_file(folder / "comparison.csv", lambda path: write_text(path, comparison_csv(comparison)))
        whole_file(folder / "comparison.parquet", write_table)
        report_progress("drawing figures")
        pictures = guarded("figures", lambda: _save_figures(comparison, folder / "figures"), None) or {}
        report_progress("writing the report")
        write_page(
            folder / "comparison.html",
            comparison.base.title,
            lambda: write_comparison_report(comparison, pictures, tuple(found)),
            lambda: comparison_summary(comparison),
        )
        if extras.pdf:
            report_progress("writing the PDF")
            drawings = {path.stem: path.read_bytes() for path in sorted((folder / "figures").glob("*.svg"))}
            whole_file(
                folder / "comparison.pdf", lambda path: path.write_bytes(comparison_pdf(comparison, drawings, found))
            )
        if extras.xlsx:
            report_progress("writing the workbook")
            whole_file(folder / "comparison.xlsx", lambda path: path.write_bytes(_workbook(comparison)))
    return tuple(notes)


def comparison_pdf(comparison: Comparison, drawings: Mapping[str, bytes], failures: Sequence[Failure]) -> bytes:
    """The report of a comparison as PDF with the study file attached; figures as SVG by their stems."""
    unlinked = replace(comparison, rows=tuple(replace(row, report="") for row in comparison.rows))
    page = write_comparison_report(unlinked, drawings, tuple(failures), for_print=True)
    return as_pdf(page, attachments_of(comparison.base))


def _workbook(comparison: Comparison) -> bytes:
    base = comparison.base
    facts = (*title_block_of(base).entries, *identity_of(base, comparison.versions).entries)
    blocks = comparison_document(comparison, {})
    return workbook_of(base.title, facts, blocks, {"comparison.csv": comparison_csv(comparison)})


def _save_figures(comparison: Comparison, folder: Path) -> dict[str, bytes]:
    figures = comparison_figures(comparison)
    return save_drawn({stem: partial(figures.__getitem__, stem) for stem in figures}, folder, vectors=True)
