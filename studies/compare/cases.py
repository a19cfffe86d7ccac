"""Comparing the cases of a study file from Python."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from studies.compare.comparison import Comparison
from studies.compare.local import cores, solved_locally
from studies.compare.output import compare
from studies.compare.plan import read_plan


def compare_cases(
    path: str | Path,
    folder: str | Path | None = None,
    workers: int | None = None,
    anew: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Comparison:
    """Solve a study file with its variants and its sweep, as `trayfield compare` does, and compare the cases.

    path: The study file.
    folder: Where the comparison is written and finished cases are stored; results/STUDY_comparison if not given.
    workers: Solving processes; one for each processor if not given.
    anew: Whether stored cases are solved again.
    progress: Told in words what is being done.
    Raises StudyError: With everything that is wrong with any case; FolderError if the folder is not one of this study.

    >>> import studies
    >>> comparison = studies.compare_cases("feeder.toml", workers=1)
    >>> comparison
    <Comparison of “Feeder on a steel tray near an instrument”: 2 cases
      base study, trefoil>
    >>> flat, trefoil = [row.number("b_rms_t.instrument") for row in comparison.rows]
    >>> trefoil < flat
    True
    """
    report_progress = progress or (lambda message: None)
    target = Path("results") / f"{Path(path).stem}_comparison" if folder is None else Path(folder)
    executor = partial(solved_locally, workers=workers or cores())
    return compare(read_plan(path, report_progress), target, executor, report_progress, anew).comparison
