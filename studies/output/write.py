"""Writing a whole results folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from geometry.meshfile import write_mesh
from geometry.section_mesh import SectionMesh
from studies.answers.answers import Answers
from studies.output.files import folder_with_manifest, whole_file, write_page, write_text
from studies.output.folder import RESULTS
from studies.output.numbers import results_text, software_versions
from studies.output.tables import tables
from studies.output.viewer import write_field
from studies.report.contents import write_report
from studies.report.figures import save_figures
from studies.report.print import report_pdf, workbook
from studies.report.terminal import summary
from studies.text.failures import Failure, guarded, merged
from studies.text.progress import Progress


def write_results(
    result: Answers,
    target: Path,
    progress: Progress,
    keep_mesh: bool = False,
    pdf: bool = False,
    xlsx: bool = False,
    svg: bool = False,
) -> tuple[Failure, ...]:
    """Write results.json, tables, field.vtu, figures and report to a folder.

    `result`: what to write.
    `target`: the folder; an earlier one gives its place where at least results.json could be written.
    `keep_mesh`: whether the finest mesh is written to section.msh as well.
    `pdf`, `xlsx`: whether report.pdf and tables.xlsx are written as well.
    `svg`: whether each figure is written as SVG beside its PNG, as it always is for report.pdf, which shows it.

    The failures are those of the result and those of writing; each costs only itself. They are named in results.json
    and in the report.
    """

    def manifest(files: Sequence[str], found: Sequence[Failure]) -> str:
        return results_text(_with(result, found), files)

    with folder_with_manifest(target, RESULTS, manifest, result.failures) as (folder, found):
        progress("writing tables and field")
        _write_tables(result, folder / "tables")
        whole_file(folder / "field.vtu", partial(write_field, result))
        if keep_mesh and isinstance(result.fields.mesh, SectionMesh):
            whole_file(folder / "section.msh", partial(write_mesh, result.fields.mesh))
        progress("drawing figures")
        pictures = guarded("figures", partial(save_figures, result, folder / "figures", svg or pdf), None) or {}
        progress("writing the report")
        write_page(
            folder / "report.html",
            result.study.title,
            lambda: write_report(_with(result, found), pictures, software_versions()),
            lambda: summary(_with(result, found)),
        )
        if pdf:
            progress("writing the PDF")
            drawings = {path.stem: path.read_bytes() for path in sorted((folder / "figures").glob("*.svg"))}
            whole_file(
                folder / "report.pdf",
                lambda path: path.write_bytes(report_pdf(_with(result, found), drawings, software_versions())),
            )
        if xlsx:
            progress("writing the workbook")
            whole_file(
                folder / "tables.xlsx",
                lambda path: path.write_bytes(workbook(result, software_versions(), tables(result))),
            )
    return merged(result.failures, found)


def _with(result: Answers, found: Sequence[Failure]) -> Answers:
    return replace(result, failures=merged(result.failures, found))


def _write_tables(result: Answers, folder: Path) -> None:
    """Every table as CSV, each for itself."""
    texts = guarded("tables", partial(tables, result), None) or {}
    for name, text in texts.items():
        whole_file(folder / name, partial(write_text, text=text))
