"""The command line: new, check, run, live, compare, verify; list, schema, completion."""

from __future__ import annotations

import argparse
import contextlib
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from studies.options import parser
from studies.text import streams as terminal
from studies.text.printable import printable
from studies.text.problems import Refused, StudyError
from studies.text.threads import search_memory_seldom, spare_help_on_drawing

if TYPE_CHECKING:
    from studies.result import Result
    from studies.text.failures import Failure, Kind

DONE, LIMIT_EXCEEDED, BAD_INPUT, NUMERICAL_FAILURE, PROGRAM_ERROR, INTERRUPTED = 0, 1, 2, 3, 4, 130
STATUS: dict[Kind, int] = {
    "input": BAD_INPUT,
    "disk": BAD_INPUT,
    "numerical": NUMERICAL_FAILURE,
    "program": PROGRAM_ERROR,
}
"""Exit status by kind of failure. Of several failures the highest status counts, and it outranks an exceeded limit."""
WORDS: dict[Kind, str] = {
    "input": "bad input",
    "disk": "disk full",
    "numerical": "numerical failure",
    "program": "error of the program",
}
TRACES = ".error.txt"
"""Suffix of the file beside a results folder that holds the traceback of an error that ended the run."""
NEW_LINE = "\n"
MOST_NAMED = 6
"""Largest number of failures that the terminal names."""
SCHEMA_FILE = "study.schema.json"
"""Usual name of the schema of the study file."""
SCHEMA_LINE = f"#:schema ./{SCHEMA_FILE}"
"""First line of a study file that names the schema, as editors of TOML read it."""
DRAWINGS = (".png", ".svg", ".pdf")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    The status is 0 done, 1 limit exceeded, 2 bad input or a full disk, 3 numerical failure, 4 error of the program,
    130 interrupted.
    """
    search_memory_seldom()
    terminal.prepare()
    try:
        options = parser(ACTIONS).parse_args(arguments)
        command: Callable[[argparse.Namespace], int] = options.command
        try:
            return command(options)
        except Refused as error:
            return _refused(error)
        except KeyboardInterrupt as interrupt:
            _complain(f"interrupted; {str(interrupt) or 'nothing was written'}")
            return INTERRUPTED
        except (Exception, SystemExit) as error:  # a library that ends the process must not decide the status
            return _ended(options, error)
    finally:
        terminal.close()


def _ended(options: argparse.Namespace, error: BaseException) -> int:
    """Report in one sentence what ended the command; print the traceback or write it to a file beside the results."""
    from studies.text.failures import kind_of, reason, trace_of

    kind = kind_of(error)
    if kind != "program" and not options.debug:
        remedy = "; make room, or write to another disk" if kind == "disk" else ""
        _complain(f"{WORDS[kind]}: {str(error) or reason(error)}{remedy}")
        return STATUS[kind]
    where = "--debug prints the traceback"
    if options.debug:
        _complain(trace_of(error))
        where = "the traceback is above"
    elif (place := _trace_file(options)) is not None:
        with contextlib.suppress(OSError):
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(trace_of(error), encoding="utf-8", errors="backslashreplace")
            where = f"the traceback is in {place}"
    _complain(f"{WORDS[kind]}: {reason(error)}; {where}")
    return STATUS[kind]


def _trace_file(options: argparse.Namespace) -> Path | None:
    """File for the traceback of a command that writes a results folder."""
    if options.command is not _run:
        return None
    folder = _results_folder(options)
    return folder.with_name(f"{folder.name}{TRACES}")


def _results_folder(options: argparse.Namespace) -> Path:
    folder: Path = options.out or Path("results") / options.study.stem
    return folder


def _new(options: argparse.Namespace) -> int:
    from studies.study.starter import STARTER, TEMPLATES

    text = TEMPLATES[options.template] if options.template else STARTER
    target: Path = options.study
    if target.suffix != ".toml":
        example = target.with_suffix(".toml") if target.name else "feeder.toml"
        return _refuse(f"{target}: the name of a study file ends in .toml, for example {example}")
    try:
        with target.open("x", encoding="utf-8") as file:
            file.write(f"{SCHEMA_LINE}\n{text}" if options.schema else text)
    except FileExistsError:
        return _refuse(f"{target}: already exists and was not overwritten; choose another name")
    except OSError as error:
        return _refuse(f"{target}: cannot be written ({error.strerror}); choose another place")
    if options.schema and (status := _schema_written(target.parent / SCHEMA_FILE)) != DONE:
        return status
    compared = f", trayfield compare {target}" if "\n[[variants]]" in text else ""
    _say(options, f"{target} written. Next: trayfield check {target}, then trayfield run {target}{compared}")
    return DONE


def _schema_written(target: Path) -> int:
    from studies.lookups.schema import schema_text

    try:
        target.write_text(schema_text(), encoding="utf-8")
    except OSError as error:
        return _refuse(f"{target}: cannot be written ({error.strerror}); choose another place")
    return DONE


def _check(options: argparse.Namespace) -> int:
    spare_help_on_drawing()
    from studies.compare.stated_cases import base_study, cases_note
    from studies.section.course import course_frames
    from studies.section.cross_section import cross_section
    from studies.section.route_sections import route_sections
    from studies.solve.mesh_size import mesh_note

    study = base_study(options.study)
    section = cross_section(study)
    along = route_sections(study, section)
    if study.course is not None:
        course_frames(study, section)
    large = mesh_note(study, section)
    from studies.drawing.cross_section import draw_cross_section
    from studies.report.preview import preview

    target: Path = options.out or Path(f"{options.study.stem}.section.png")
    if target.suffix.lower() not in DRAWINGS:
        return _refuse(f"{target}: the name of a drawing ends in {', '.join(DRAWINGS)}; name another file with --out")
    try:
        draw_cross_section(study, section).savefig(target, dpi=150)
    except (OSError, ValueError) as error:
        return _refuse(f"{target}: the drawing cannot be written ({error}); name another file with --out")
    _say(options, preview(study, section, along))
    if large:
        _say(options, f"  with {large}")
    _say(options, f"\nCross-section drawn in {target}. Nothing was solved.")
    if note := cases_note(study):
        _say(options, f"\n{note}")
    return DONE


def _run(options: argparse.Namespace) -> int:
    spare_help_on_drawing()
    from studies.output.folder import check_folder, held_folder
    from studies.study.reading import load
    from studies.text.pdf import pdf_library

    target = _results_folder(options)
    try:
        study = load(options.study)
        if options.remedies and study.remedies is None:
            study = study.with_({"remedies": {}})
        check_folder(target)
        if options.pdf:
            pdf_library()  # before the solve: a missing library is told at once
    except OSError as error:
        return _refuse(f"{target}: cannot be used ({error.strerror}); name another folder with --out")
    from geometry.meshfile import MeshFileError, read_mesh
    from studies.runner import run
    from studies.text.progress import progress

    try:
        with held_folder(target), progress(options.quiet) as report_progress:
            mesh = None if options.mesh is None else read_mesh(options.mesh)
            result = run(study, report_progress, mesh)
            status, failures, place = _written(options, result, report_progress)
    except MeshFileError as error:
        return _refuse(str(error))
    return max(status, _said(options, replace(result, failures=failures), place))


def _written(
    options: argparse.Namespace, result: Result, report_progress: Callable[[str], None]
) -> tuple[int, tuple[Failure, ...], Path]:
    """Write results to their folder, or to a temporary one if that fails; return status, failures and folder."""
    from studies.output.folder import FolderError
    from studies.output.write import write_results
    from studies.report.terminal import summary
    from studies.text.failures import kind_of

    target = _results_folder(options)
    asked = {"keep_mesh": options.keep_mesh, "pdf": options.pdf, "xlsx": options.xlsx, "svg": options.svg}
    try:
        return DONE, write_results(result, target, report_progress, **asked), target
    except Exception as error:  # solved results are kept, whatever is wrong with the folder
        try:
            place = Path(tempfile.mkdtemp(prefix="trayfield-")) / target.name
            failures = write_results(result, place, report_progress, **asked)
        except OSError as other:
            _say(options, summary(result))
            wrong = f"{target}: the results cannot be written ({error}), nor elsewhere ({other})"
            raise FolderError(f"{wrong}; make room, and run again") from other
        _complain(f"{target}: the results cannot be written ({error}); they are in {place}")
        return BAD_INPUT if isinstance(error, OSError | FolderError) else STATUS[kind_of(error)], failures, place


def _said(options: argparse.Namespace, result: Result, place: Path) -> int:
    """Print the summary of a run and its folder; name the failures, which decide the exit status."""
    from studies.compare.stated_cases import cases_note
    from studies.report.terminal import summary
    from studies.text.failures import collected, guarded, merged

    with collected() as more:
        _say(options, guarded("summary", lambda: summary(result), ""))
        exceeded = [entry.name for entry in (*result.exceeded(), *result.exceeded_elsewhere())]
        exceeded += [f"{entry.name} (run in space)" for entry in result.exceeded_in_space()]
        exceeded += [f"{row.place} (95th percentile of its layings)" for row in result.exceeded_as_laid()]
        exceeded += [f"{row.place} (with net currents)" for row in result.exceeded_with_net_currents()]
        if exceeded:
            _say(options, f"\nAbove its limit: {', '.join(exceeded)}.")
        along = [
            f"{entry.receptor} beside {entry.section}"
            + ("" if entry.load_b_rms_t is None else f" at {entry.judged_at}")
            for entry in result.exceeded_along_route()
        ]
        if hot := [row.cable for row in result.above_permitted()]:
            _say(options, f"\nAbove its permitted current: {', '.join(hot)}.")
        contradicted = result.survey is not None and not result.survey.agrees
        if contradicted:
            _say(options, "\nThe survey does not agree with the study.")
        if along:
            _say(options, f"\nAbove its limit along the route: {', '.join(along)}.")
        _say(options, f"\nResults in {place}: report.html, results.json, figures, tables, field.vtu.")
        if note := guarded("note on cases", lambda: cases_note(result.study), ""):
            _say(options, f"\n{note}")
    failures = merged(result.failures, more)
    if failures:
        _complain(_not_complete(failures, place))
        return max(STATUS[failure.kind] for failure in failures)
    return LIMIT_EXCEEDED if (exceeded or along or hot or contradicted) and options.fail_over_limit else DONE


def _not_complete(failures: Sequence[Failure], place: Path) -> str:
    """Failures after the solve, in one sentence."""
    worst = max(failures, key=lambda failure: STATUS[failure.kind])
    named = "; ".join(str(failure) for failure in failures[:MOST_NAMED])
    more = f"; and {len(failures) - MOST_NAMED} more" if len(failures) > MOST_NAMED else ""
    return (
        f"{WORDS[worst.kind]} after the solve: {named}{more}. Everything else is in {place}; the tracebacks are in "
        "failures.txt"
    )


def _live(options: argparse.Namespace) -> int:
    try:
        from studies.live.command import live
    except ModuleNotFoundError as error:
        if (error.name or "").startswith("studies"):
            raise
        return _refuse(f"live needs {error.name}: pip install 'trayfield[live]'; without it, use trayfield run")
    live(options.study, options.port, lambda message: _say(options, message))
    return DONE


def _compare(options: argparse.Namespace) -> int:
    spare_help_on_drawing()
    from studies.compare.command import compare_command

    kinds = compare_command(options, lambda message: _say(options, message), _complain)
    return max((STATUS[kind] for kind in kinds), default=DONE)


def _verify(options: argparse.Namespace) -> int:
    from studies.output.folder import check_folder
    from studies.text.progress import progress
    from studies.verify.checks import run_checks
    from studies.verify.record import RECORD, write_record
    from studies.verify.registry import chosen_checks, list_of_checks
    from studies.verify.table import terminal_text, verdict_of_checks

    target: Path | None = options.out
    checks = chosen_checks(options.only)
    if options.list:
        _say(options, list_of_checks())
        return DONE
    if target is not None:
        check_folder(target, RECORD)
    with progress(options.quiet) as report_progress:
        outcomes = run_checks(checks, report_progress)
    if target is not None:
        try:
            write_record(outcomes, target)
        except OSError as error:
            return _refuse(f"{target}: the record cannot be written ({error}); name another folder with --out")
    _say(options, terminal_text(outcomes))
    if target is not None:
        _say(options, f"\nRecord in {target}: verification.md, verification.json.")
    if all(outcome.passed for outcome in outcomes):
        return DONE
    _complain(verdict_of_checks(outcomes))
    return NUMERICAL_FAILURE


def _list(options: argparse.Namespace) -> int:
    from studies.lookups.subjects import SUBJECTS, overview

    if options.subject is None:
        _say(options, overview())
        return DONE
    subject, name = SUBJECTS[options.subject], " ".join(options.name)
    try:
        _say(options, subject.page(name) if name else subject.listing())
    except Refused as error:
        return _refuse(f"{error}\n    trayfield list {options.subject} lists all")
    return DONE


def _schema(options: argparse.Namespace) -> int:
    from studies.lookups.schema import schema_text

    if options.out is None:
        terminal.write("stdout", schema_text())
        return DONE
    status = _schema_written(options.out)
    if status == DONE:
        named = f'"#:schema ./{options.out.name}"'
        _say(options, f"{options.out} written. The first line of a study file beside it names it: {named}")
    return status


def _completion(options: argparse.Namespace) -> int:
    from studies.lookups.completion import completion

    terminal.write("stdout", completion(parser(ACTIONS), options.shell))
    return DONE


def _refused(error: Refused) -> int:
    from studies.lookups.pointers import with_pointers

    return _refuse(with_pointers(error) if isinstance(error, StudyError) else str(error))


def _refuse(message: str) -> int:
    _complain(message)
    return BAD_INPUT


def _complain(message: str) -> None:
    terminal.write("stderr", f"{printable(message, NEW_LINE)}\n")


def _say(options: argparse.Namespace, message: str) -> None:
    if not options.quiet:  # a reader that has left, such as `head`, changes neither the work nor its exit status
        terminal.write("stdout", f"{printable(message, NEW_LINE)}\n")


ACTIONS: Mapping[str, Callable[[argparse.Namespace], int]] = {
    "new": _new,
    "check": _check,
    "run": _run,
    "live": _live,
    "compare": _compare,
    "verify": _verify,
    "list": _list,
    "schema": _schema,
    "completion": _completion,
}
"""What each command does."""


if __name__ == "__main__":
    raise SystemExit(main())
