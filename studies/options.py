"""Commands and options of the command line, their help and examples."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NoReturn, TypeAlias

from studies.text.printable import printable

Action = Callable[[argparse.Namespace], int]
"""What a command does with its options; its exit status."""
EXIT_STATUS = (
    "Exit status: 0 done, 1 a limit is exceeded (only with --fail-over-limit, which counts permitted currents and a "
    "survey that does not agree as well), 2 bad input, 3 numerical failure, 4 an error of the program itself, 130 "
    "interrupted. If something fails after the solve, everything else is written and "
    "the status is that of the failure."
)


class _Parser(argparse.ArgumentParser):
    """Parser whose error messages contain no control characters of an argument."""

    def error(self, message: str) -> NoReturn:
        super().error(printable(message))


_Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"


def parser(actions: Mapping[str, Action]) -> argparse.ArgumentParser:
    """The parser of the command line; `actions` holds what each command does, by its name."""
    whole = _Parser(
        prog="trayfield",
        description="Compute the magnetic field, losses and impedances of single-core power cables on tray by finite "
        "elements on the cross-section. Every number stands beside its closed-form formula.",
        epilog=EXIT_STATUS,
    )
    whole.add_argument("--version", action="version", version=f"trayfield {_version()}")
    commands = whole.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_new(commands, actions)
    _add_check(commands, actions)
    _add_run(commands, actions)
    _add_live(commands, actions)
    _add_compare(commands, actions)
    _add_verify(commands, actions)
    _add_lookups(commands, actions)
    return whole


TEMPLATES = ("fault", "harmonics", "instrument", "losses", "sharing", "transposed")
"""Templates of `new`; `studies.study.starter` holds their texts."""
SUBJECTS = (
    *("keys", "quantities", "materials", "curves", "conductors", "permittivities", "levels", "profiles", "formulas"),
    "templates",
)
"""What `list` knows; `studies.lookups.subjects` holds the same, which takes a moment to load."""


SHELLS = ("bash", "zsh", "fish", "tcsh")
"""Shells that can be completed."""


def _add_new(commands: _Commands, actions: Mapping[str, Action]) -> None:
    new = _command(
        commands, "new", actions["new"], "write a commented starter study, ready to run and compare", "new feeder.toml"
    )
    new.add_argument("study", metavar="NAME.toml", type=Path, help="file to write; an existing file is not overwritten")
    new.add_argument(
        "--template",
        choices=TEMPLATES,
        metavar="JOB",
        help=f"a short study of a usual job instead: {', '.join(TEMPLATES)}; see `trayfield list templates`",
    )
    new.add_argument(
        "--schema",
        action="store_true",
        help="also write study.schema.json beside it and name it in the first line, so that an editor completes and "
        "checks the keys",
    )


def _add_check(commands: _Commands, actions: Mapping[str, Action]) -> None:
    check = _command(
        commands,
        "check",
        actions["check"],
        "validate a study, draw its cross-section and list what would be computed, without solving",
        "check feeder.toml",
    )
    check.add_argument("study", metavar="STUDY.toml", type=Path, help="study file")
    check.add_argument(
        "-o",
        "--out",
        metavar="FILE",
        type=Path,
        help="drawing to write, as PNG, SVG or PDF by its ending (default: STUDY.section.png in the current folder)",
    )


def _add_run(commands: _Commands, actions: Mapping[str, Action]) -> None:
    run = _command(
        commands,
        "run",
        actions["run"],
        "solve a study and write its results folder",
        "run feeder.toml --out results/feeder",
    )
    run.add_argument("study", metavar="STUDY.toml", type=Path, help="study file")
    run.add_argument("-o", "--out", metavar="DIR", type=Path, help="results folder (default: results/STUDY)")
    run.add_argument(
        "--fail-over-limit",
        action="store_true",
        help="exit with status 1 if a limit (also along the route) or a permitted current is exceeded, or a survey "
        "does not agree with the study",
    )
    run.add_argument(
        "--remedies",
        action="store_true",
        help="also solve what would meet each limit that is exceeded, as a table [remedies] in the study asks",
    )
    run.add_argument("--mesh", metavar="FILE.msh", type=Path, help="use this mesh instead of generating one")
    run.add_argument("--keep-mesh", action="store_true", help="write the finest mesh to section.msh in the folder")
    run.add_argument("--pdf", action="store_true", help="write the report to report.pdf as well (needs trayfield[pdf])")
    run.add_argument(
        "--svg", action="store_true", help="write each figure as SVG too, and show those in the page, as --pdf"
    )
    run.add_argument("--xlsx", action="store_true", help="write all tables to tables.xlsx as well")


def _add_live(commands: _Commands, actions: Mapping[str, Action]) -> None:
    live = _command(
        commands,
        "live",
        actions["live"],
        "follow a study file: solve it on each save; a page of this computer shows verdicts, field map and mistakes",
        "live feeder.toml",
    )
    live.add_argument("study", metavar="STUDY.toml", type=Path, help="study file")
    live.add_argument("--port", metavar="N", type=int, default=0, help="port of the page (default: one that is free)")


def _add_compare(commands: _Commands, actions: Mapping[str, Action]) -> None:
    compare = _command(
        commands,
        "compare",
        actions["compare"],
        "solve the study, its [[variants]] and every combination of its [sweep], and compare them; the same command "
        "continues an interrupted comparison",
        "compare feeder.toml --workers 2",
    )
    compare.add_argument("study", metavar="STUDY.toml", type=Path, help="study file")
    compare.add_argument("-o", "--out", metavar="DIR", type=Path, help="folder (default: results/STUDY_comparison)")
    solvers = compare.add_mutually_exclusive_group()
    solvers.add_argument("--workers", metavar="N", type=int, help="solving processes (default: one for each processor)")
    solvers.add_argument("--dask", metavar="tcp://HOST:PORT", help="solve on the Dask cluster of this scheduler")
    compare.add_argument("--pdf", action="store_true", help="write comparison.pdf as well (needs trayfield[pdf])")
    compare.add_argument("--xlsx", action="store_true", help="write all tables to comparison.xlsx as well")
    compare.add_argument(
        "--reports",
        action="store_true",
        help="write the full results of every case below reports/ and link them; each case is solved again",
    )
    compare.add_argument("--anew", action="store_true", help="solve every case again, also those already stored")


def _add_verify(commands: _Commands, actions: Mapping[str, Action]) -> None:
    verify = _command(
        commands,
        "verify",
        actions["verify"],
        "run the verification checks and print a table",
        "verify --out results/feeder",
    )
    verify.add_argument(
        "-o", "--out", metavar="DIR", type=Path, help="folder to write verification.md and verification.json to"
    )
    verify.add_argument("--list", action="store_true", help="list the checks without running them")
    verify.add_argument("--only", metavar="NAME", nargs="+", help="run only these checks or families of checks")


def _add_lookups(commands: _Commands, actions: Mapping[str, Action]) -> None:
    """Commands that print what exists."""
    listing = _command(
        commands,
        "list",
        actions["list"],
        "list what a study can name, with units, ranges and sources, or show the page of one entry",
        "list keys circuits.spacing",
    )
    listing.add_argument("subject", nargs="?", choices=SUBJECTS, metavar="SUBJECT", help=", ".join(SUBJECTS))
    listing.add_argument("name", nargs="*", metavar="NAME", help="entry to show, such as copper or circuits.spacing")

    schema = _command(
        commands,
        "schema",
        actions["schema"],
        "print the JSON Schema of the study file, by which an editor completes and checks keys, words and units",
        "schema --out study.schema.json",
    )
    schema.add_argument("-o", "--out", metavar="FILE", type=Path, help="file to write instead of printing")

    completion = _command(
        commands,
        "completion",
        actions["completion"],
        "print what lets a shell complete commands, options and files",
        "completion bash > ~/.local/share/bash-completion/completions/trayfield",
    )
    completion.add_argument("shell", choices=SHELLS, metavar="SHELL", help=f"one of {', '.join(SHELLS)}")


def _command(commands: _Commands, name: str, action: Action, what: str, example: str) -> argparse.ArgumentParser:
    command = commands.add_parser(name, help=what, description=what, epilog=f"Example: trayfield {example}")
    command.add_argument("-q", "--quiet", action="store_true", help="print errors only")
    command.add_argument("--debug", action="store_true", help="print the traceback of an error of the program")
    command.set_defaults(command=action)
    return command


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("trayfield")
    except PackageNotFoundError:
        return "(not installed)"
