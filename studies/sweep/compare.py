"""Comparing all cases of a study file: solve what is not stored yet, then write tables, figures and report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from studies.figures.comparison import comparison_figures, picture
from studies.output.folder import Kind, held_folder, whole_folder
from studies.output.numbers import software_versions
from studies.report.comparison import write_comparison_report
from studies.sweep.case import Plan
from studies.sweep.execute import Executor, execute
from studies.sweep.store import FILE, Store, is_store
from studies.sweep.table import Comparison, comparison_of
from studies.sweep.table_files import PARQUET_MISSING, comparison_csv, json_text, write_parquet

Progress = Callable[[str], None]

COMPARISON = Kind("a comparison", "comparison.json", lambda folder: is_store(folder / FILE))
"""The folder of a comparison, from the first stored case on."""


@dataclass(frozen=True)
class Compared:
    """What a comparison gave."""

    comparison: Comparison
    notes: tuple[str, ...]
    """What the user should know about the files."""


def compare(plan: Plan, target: Path, executor: Executor, tell: Progress, anew: bool = False) -> Compared:
    """Solve and compare all cases of a plan.

    Parameters
    ----------
    plan : Plan
        The cases.
    target : Path
        Folder of the comparison; cases that are stored there already are not solved again.
    executor : Executor
        Who solves the others, `studies.sweep.local` or `studies.sweep.cluster`.
    tell : callable
        Told what is being done.
    anew : bool
        Whether stored cases are solved again as well.

    Returns
    -------
    compared : Compared
        The comparison that is written to the folder, where at least one case has numbers.
    """
    with held_folder(target, COMPARISON):
        with Store.opened(target / FILE) as store:
            if anew:
                store.forget(section.key for section in plan.sections)
            outcomes = execute(plan, store, executor, tell)
        comparison = comparison_of(plan, outcomes, software_versions())
        notes = write_comparison(comparison, target, tell) if comparison.solved else ()
    return Compared(comparison, notes)


def write_comparison(comparison: Comparison, target: Path, tell: Progress) -> tuple[str, ...]:
    """Write table, figures and report into a folder; what the user should know of it."""
    notes = []
    with whole_folder(target, COMPARISON) as folder:
        tell("writing the table")
        (folder / "comparison.csv").write_text(comparison_csv(comparison), encoding="utf-8")
        if not write_parquet(comparison, folder / "comparison.parquet"):
            notes.append(PARQUET_MISSING)
        tell("drawing figures")
        (folder / "figures").mkdir()
        pictures = {}
        for stem, figure in comparison_figures(comparison).items():
            pictures[stem] = picture(figure, "png")
            (folder / "figures" / f"{stem}.png").write_bytes(pictures[stem])
            (folder / "figures" / f"{stem}.svg").write_bytes(picture(figure, "svg"))
        tell("writing the report")
        (folder / "comparison.html").write_text(write_comparison_report(comparison, pictures), encoding="utf-8")
        files = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
        (folder / COMPARISON.manifest).write_text(json_text(comparison, files), encoding="utf-8")
    return tuple(notes)
