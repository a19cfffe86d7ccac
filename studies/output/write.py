"""Writing a whole results folder."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path

from geometry.meshfile import write_mesh
from geometry.section_mesh import SectionMesh
from studies.answers.answers import Answers
from studies.output.files import whole_file, write_text, write_traces
from studies.output.folder import RESULTS, whole_folder
from studies.output.numbers import results_text, software_versions
from studies.output.tables import tables
from studies.output.viewer import write_field
from studies.report.contents import write_report
from studies.report.figures import save_figures
from studies.report.terminal import summary
from studies.solve.accuracy import Progress
from studies.text.failures import Failure, collected, guarded, merged
from studies.text.html import plain_page


def write_results(result: Answers, target: Path, progress: Progress, keep_mesh: bool = False) -> tuple[Failure, ...]:
    """Write results.json, tables, field.vtu, figures and report to a folder.

    Parameters
    ----------
    result : Answers
        What to write.
    target : Path
        The folder; an earlier one gives its place where at least results.json could be written.
    progress : callable
        Told what is being done.
    keep_mesh : bool
        Whether the finest mesh is written to section.msh as well.

    Returns
    -------
    failures : tuple of Failure
        Those of the result and those of writing; each costs only itself. They are named in results.json and in the
        report.
    """
    with whole_folder(target) as folder, collected() as found:
        document = folder / RESULTS.manifest
        write_text(document, results_text(result))  # first: all else may fail
        progress("writing tables and field")
        _write_tables(result, folder / "tables")
        whole_file(folder / "field.vtu", partial(write_field, result))
        if keep_mesh and isinstance(result.fields.mesh, SectionMesh):
            whole_file(folder / "section.msh", partial(write_mesh, result.fields.mesh))
        progress("drawing figures")
        pictures = guarded("figures", partial(save_figures, result, folder / "figures"), None) or {}
        progress("writing the report")
        result = replace(result, failures=merged(result.failures, found))
        page = guarded("report", partial(write_report, result, pictures, software_versions()), None)
        result = replace(result, failures=merged(result.failures, found))
        if page is None:
            page = guarded("plain report", lambda: plain_page(result.study.title, summary(result)), None)
        if page is not None:
            whole_file(folder / "report.html", partial(write_text, text=page))
        failures = merged(result.failures, found)
        write_traces(folder, failures)
        written = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
        files = sorted(name for name in written if name != RESULTS.manifest)
        result = replace(result, failures=merged(failures, found))
        whole_file(folder / "new.json", lambda path: write_text(path, results_text(result, files)))
        guarded(f"list of files in {RESULTS.manifest}", lambda: (folder / "new.json").replace(document), None)
    return merged(result.failures, found)


def _write_tables(result: Answers, folder: Path) -> None:
    """Every table as CSV, each for itself."""
    texts = guarded("tables", partial(tables, result), None) or {}
    for name, text in texts.items():
        whole_file(folder / name, partial(write_text, text=text))
