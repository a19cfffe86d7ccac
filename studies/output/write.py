"""Writing a whole results folder."""

from __future__ import annotations

from pathlib import Path

from geometry.meshfile import write_mesh
from geometry.section_mesh import SectionMesh
from studies.accuracy import Progress
from studies.figures.catalogue import save_figures
from studies.output.folder import RESULTS, whole_folder
from studies.output.numbers import results_text, software_versions
from studies.output.tables import tables
from studies.output.viewer import write_field
from studies.report.contents import write_report
from studies.results import Result


def write_results(result: Result, target: Path, progress: Progress, keep_mesh: bool = False) -> None:
    """Write results.json, tables, field.vtu, figures and report to a folder, all of it or nothing."""
    with whole_folder(target) as folder:
        progress("writing tables and field")
        (folder / "tables").mkdir()
        for name, text in tables(result).items():
            (folder / "tables" / name).write_text(text, encoding="utf-8")
        write_field(result, folder / "field.vtu")
        if keep_mesh and isinstance(result.fields.mesh, SectionMesh):
            write_mesh(result.fields.mesh, folder / "section.msh")
        progress("drawing figures")
        (folder / "figures").mkdir()
        save_figures(result, folder / "figures")
        pictures = {path.stem: path.read_bytes() for path in sorted((folder / "figures").glob("*.png"))}
        progress("writing the report")
        report = write_report(result, pictures, software_versions())
        (folder / "report.html").write_text(report, encoding="utf-8")
        files = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
        (folder / RESULTS.manifest).write_text(results_text(result, files), encoding="utf-8")
