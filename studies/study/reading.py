"""Reading a study file: from TOML text to a `Study`, or to every problem of the file at once."""

import hashlib
import typing
from collections.abc import Mapping, Sequence
from pathlib import Path

from pydantic import ValidationError

from studies.study.consistency import inconsistencies
from studies.study.entries import FROM_FILE
from studies.study.file import Study, StudyFile
from studies.study.findings import Finding, Place
from studies.study.route_changes import of_section, section_tables
from studies.study.toml_text import LONGEST_SHOWN, lines_named, tables_of
from studies.study.validation import CASE_TABLES, as_written, findings_of, meant_keys, order_in_file, problem_of
from studies.text.printable import shortened
from studies.text.problems import Problem, StudyError, nearest


def load(path: str | Path) -> Study:
    """Read a study, with SI numbers, from a TOML file in UTF-8, with or without byte order mark.

    A file with problems raises `StudyError`, which holds all of them.

    >>> import studies
    >>> study = studies.load("feeder.toml")
    >>> study.circuits[0].current
    400.0
    """
    return loads(text_of(path), str(path))


def text_of(path: str | Path) -> str:
    """Text of a study file; one that is not there or cannot be read as text raises `StudyError`."""
    place = Path(path)
    try:
        content = place.read_bytes()
    except FileNotFoundError:
        _refuse(str(path), "", "there is no such file", _files_near(place))
    except IsADirectoryError:
        _refuse(str(path), "", "this is a folder, not a study file", _files_near(place / "study.toml"))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        _refuse(str(path), "", f"the file cannot be read ({reason})", "a study file that you may read")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        _refuse(str(path), f"line {line}", "this is not UTF-8 text", "save the file as plain text, encoding UTF-8")
    return text


def loads(text: str, name: str = "study") -> Study:
    """Read a study from the text of a study file; `name` stands for the file in messages and in the report.

    The tables of further cases are passed over: what is read is the base study. Text with problems raises `StudyError`:

    >>> import studies
    >>> try:
    ...     studies.loads('title = "Feeder"')
    ... except studies.StudyError as error:
    ...     print(error.problems[0].key, error.problems[0].wrong)
    frequency is missing
    """
    data = tables_of(text, name)
    with lines_named(text):
        return loads_data({key: value for key, value in data.items() if key not in CASE_TABLES}, name, text)


def loads_data(data: Mapping[str, object], name: str, text: str = "") -> Study:
    """Read a study from the tables of a study file, without those of further cases.

    The quantities of `data` are texts with units. Files that the study names are looked for beside the file `name`,
    whose `text` is kept for the report. Tables with problems raise `StudyError`, which holds all of them.
    """
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest() if text else ""
    text = text.removeprefix("\ufeff")
    findings: list[Finding] = []
    read: StudyFile | None = None
    try:
        read = StudyFile.model_validate(data, context={FROM_FILE: True}, by_alias=True, by_name=False)
    except ValidationError as error:
        findings = findings_of(error, StudyFile)
    told = {finding.place for finding in findings} | meant_keys(findings)
    agreed = [*inconsistencies(data, bare_numbers=False), *_missing_files(data, Path(name).parent)]
    findings += [f for f in agreed if f.place not in told]
    findings.sort(key=lambda finding: order_in_file(finding.place, data))
    problems = [problem_of(finding, data, name) for finding in findings]
    problems += _section_problems(data, name, problems)
    if problems or read is None:
        raise StudyError(problems)
    fields = {key: getattr(read, key) for key in StudyFile.model_fields}
    # not checked a second time: from Python, what is as by default counts as left out
    return Study.model_construct(**fields, source_name=name, source_text=text, source_sha256=digest)


def _section_problems(data: Mapping[str, object], name: str, told: Sequence[Problem]) -> list[Problem]:
    """What is wrong with the sections of a route that change something, and not with the study itself."""
    route = data.get("route")
    problems: list[Problem] = []
    known = {(problem.key, problem.wrong) for problem in told}
    for number, section in enumerate(route if isinstance(route, list) else (), 1):
        if not isinstance(section, Mapping) or not (section.get("set") or section.get("remove")):
            continue
        tables, unfollowed = section_tables(dict(data), section)
        found = [
            Problem(name, key, shortened(as_written(value), LONGEST_SHOWN), error.wrong, error.right)
            for key, value, error in unfollowed
        ]
        try:
            loads_data(tables, name)
        except StudyError as error:
            found += [problem for problem in error.problems if (problem.key, problem.wrong) not in known]
        problems += [of_section(number, section.get("name"), problem) for problem in found]
    return problems


def _missing_files(data: Mapping[str, object], folder: Path) -> list[Finding]:
    """Files that the study names and that are not there."""
    named: list[tuple[Place, object]] = []
    materials = data.get("materials")
    tables = {key: table for key in ("drawing", "survey") if isinstance(table := data.get(key), Mapping)}
    named += [((key, "file"), table.get("file")) for key, table in tables.items()]
    if isinstance(materials, Mapping):
        named += [
            (("materials", name, "curve_file"), material.get("curve_file"))
            for name, material in materials.items()
            if isinstance(material, Mapping)
        ]
    return [
        Finding(place, "is no file", f"a file in {folder.resolve()}, or the path to one from there")
        for place, file in named
        if isinstance(file, str) and file.strip() and not _is_file(folder / file)
    ]


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name that no file can have
        return False


def _refuse(file: str, key: str, wrong: str, right: str) -> typing.NoReturn:
    raise StudyError([Problem(file, key, "", wrong, right)]) from None


def _files_near(path: Path) -> str:
    try:
        files = sorted(entry.name for entry in path.parent.iterdir() if entry.suffix == ".toml")
    except OSError:
        return f"the path of a study file; there is no folder {path.parent} either"
    if not files:
        return "the path of a study file; this folder has none"
    near = nearest(path.name, files)
    return f"{near}, which is in that folder" if near else f"a study file; that folder has {', '.join(files[:5])}"
