"""The command `compare`: from its options to a comparison in a folder, and what is said of it."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from studies.compare.case import Plan
from studies.compare.cluster import solved_on_cluster
from studies.compare.execute import Executor
from studies.compare.local import cores, solved_locally
from studies.compare.output import COMPARISON, Compared, Extras, compare
from studies.compare.plan import read_plan
from studies.compare.store import FILE, Store, StoreError
from studies.compare.words import comparison_summary
from studies.output.folder import check_folder
from studies.text.failures import Kind, collected, guarded
from studies.text.pdf import pdf_library
from studies.text.problems import Refused
from studies.text.progress import Progress, progress


def compare_command(options: argparse.Namespace, say: Progress, complain: Progress) -> set[Kind]:
    """Run the command: the comparison goes to `say`, failures to `complain`; their kinds."""
    target: Path = options.out or Path("results") / f"{options.study.stem}_comparison"
    if options.workers is not None and options.workers < 1:
        raise Refused(f"--workers {options.workers}: at least 1 process is needed, such as --workers {cores()}")
    plan: Plan | None = None
    try:
        check_folder(target, COMPARISON)
        if options.pdf:
            pdf_library()  # before the solve: a missing library is told at once
        with progress(options.quiet) as report_progress:
            plan = read_plan(options.study, report_progress)
            extras = Extras(options.pdf, options.xlsx, options.reports)
            compared = compare(plan, target, _executor(options), report_progress, options.anew, extras)
    except OSError as error:
        raise Refused(f"{target}: cannot be used ({error.strerror or error}); name another folder with --out") from None
    except KeyboardInterrupt:
        raise KeyboardInterrupt(_kept(plan, target)) from None
    return _told(compared, target, say, complain)


def _executor(options: argparse.Namespace) -> Executor:
    if options.dask is not None:
        return partial(solved_on_cluster, address=options.dask)
    return partial(solved_locally, workers=options.workers or cores())


def _told(compared: Compared, target: Path, say: Progress, complain: Progress) -> set[Kind]:
    comparison = compared.comparison
    failures = list(compared.failures)
    if comparison.solved:
        with collected() as more:
            say(guarded("summary", lambda: comparison_summary(comparison), ""))
        failures += more
        for note in compared.notes:
            say(f"\nNote: {note}.")
        say(f"\nComparison in {target}: comparison.html, comparison.csv, comparison.json, figures, {FILE}.")
    wrong = (*comparison.failed, *comparison.incomplete)
    for row in wrong:
        words = "error of the program" if row.kind == "program" else "numerical failure"
        after = "" if row.measured is None else ", after its solve"
        complain(f"{words} in case “{row.name}”{after}: {row.message}")
    if wrong:
        complain("The same command tries the failed cases again.")
    for failure in failures:
        complain(f"could not be written, all else is: {failure}")
    return {*(row.kind for row in wrong), *(failure.kind for failure in failures)}


def _kept(plan: Plan | None, target: Path) -> str:
    """What an interrupted comparison leaves, in words; empty if nothing."""
    if plan is None or not (target / FILE).exists():
        return ""
    keys = {case.key for case in plan.cases}
    try:
        with Store.opened(target / FILE) as store:
            count = len(store.finished(keys))
    except StoreError:
        return f"what is finished is stored in {target}"
    return f"{count} of {len(keys)} cases are stored in {target}, and the same command goes on from there"
