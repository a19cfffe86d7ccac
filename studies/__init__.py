"""Studies of single-core power cables on tray: study file, formulas, results, report and command."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from studies.text.threads import use_one_thread

if TYPE_CHECKING:
    from studies.compare.cases import compare_cases
    from studies.output.arrays import TableError
    from studies.output.folder import FolderError
    from studies.result import Result
    from studies.runner import NoSolutionError, RegionsError, run
    from studies.study.file import Study
    from studies.study.reading import load, loads
    from studies.text.problems import StudyError, TrayfieldError
    from studies.verify.named import verify_checks

use_one_thread()  # before NumPy is loaded, for the command, its workers and scripts

__all__ = [
    "FolderError",
    "NoSolutionError",
    "RegionsError",
    "Result",
    "Study",
    "StudyError",
    "TableError",
    "TrayfieldError",
    "compare_cases",
    "load",
    "loads",
    "run",
    "verify_checks",
]
_HOMES = {
    "FolderError": "output.folder",
    "NoSolutionError": "runner",
    "RegionsError": "runner",
    "Result": "result",
    "Study": "study.file",
    "StudyError": "text.problems",
    "TableError": "output.arrays",
    "TrayfieldError": "text.problems",
    "compare_cases": "compare.cases",
    "load": "study.reading",
    "loads": "study.reading",
    "run": "runner",
    "verify_checks": "verify.named",
}
"""Module of each name."""


def __getattr__(name: str) -> object:
    """Import what is asked for on its first use: the libraries behind it take a moment."""
    if name not in _HOMES:
        raise AttributeError(f"module 'studies' has no attribute {name!r}")
    return getattr(importlib.import_module(f"studies.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    """Names that are offered, also those not yet imported."""
    return sorted({*globals(), *__all__})
