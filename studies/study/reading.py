"""Reading a study file: from TOML text to a `Study`, or to every problem of the file at once."""

import hashlib
import json
import math
import typing
from collections.abc import Mapping, Sequence
from pathlib import Path

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from studies.study.consistency import inconsistencies
from studies.study.entries import FROM_FILE, example_of, model_within
from studies.study.file import Study, StudyFile
from studies.study.findings import Finding, Place
from studies.study.route_changes import of_section, section_tables
from studies.study.toml_text import LONGEST_SHOWN, lines_named, tables_of
from studies.text.printable import shortened
from studies.text.problems import Problem, StudyError, nearest

DEEPEST_SHOWN = 4
"""Deepest nesting of lists and tables shown in a message. [levels]"""

CASE_TABLES = ("variants", "sweep")
"""Tables of the study file that state further cases; `studies.compare.plan` reads them, the study is the base case."""


def load(path: str | Path) -> Study:
    """Read a study, with SI numbers, from a TOML file in UTF-8, with or without byte order mark.

    A file with problems raises `StudyError`, which holds all of them.
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

    The tables of further cases are passed over: what is read is the base study.
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
        findings = _findings(error, data)
    told = {finding.place for finding in findings} | _meant(findings)
    agreed = [*inconsistencies(data, bare_numbers=False), *_missing_files(data, Path(name).parent)]
    findings += [f for f in agreed if f.place not in told]
    findings.sort(key=lambda finding: _order(finding.place, data))
    problems = [_problem(finding, data, name) for finding in findings]
    problems += _section_problems(data, name, problems)
    if problems or read is None:
        raise StudyError(problems)
    fields = {key: getattr(read, key) for key in StudyFile.model_fields}
    return Study(**fields, source_name=name, source_text=text, source_sha256=digest)


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
            Problem(name, key, shortened(_shown(value), LONGEST_SHOWN), error.wrong, error.right)
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
    drawing, materials = data.get("drawing"), data.get("materials")
    if isinstance(drawing, Mapping):
        named.append((("drawing", "file"), drawing.get("file")))
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


def _findings(error: ValidationError, data: Mapping[str, object]) -> list[Finding]:
    findings = []
    for line in error.errors(include_url=False):
        place = tuple(part for part in line["loc"] if part != "[key]")
        kind, context = line["type"], line.get("ctx", {})
        if kind == "study":
            findings.append(Finding(place, context["wrong"], context["right"]))
            continue
        field = _field(place)
        example = (example_of(field) if field is not None else None) or "see the documentation of this key"
        if kind == "missing":
            findings.append(Finding(place, "is missing", _statement(str(place[-1]), example)))
        elif kind == "extra_forbidden":
            findings.append(Finding(place, _UNKNOWN_KEY, _keys_right(place)))
        elif kind in ("model_type", "model_attributes_type", "dict_type", "mapping_type"):
            right = example if field is not None and isinstance(place[-1], str) else "a table of KEY = VALUE"
            findings.append(Finding(place, "is not a table", right))
        else:
            findings.append(Finding(place, line["msg"][:1].lower() + line["msg"][1:], example))
    meant = _meant(findings)
    return [f for f in findings if f.wrong != "is missing" or f.place not in meant]


def _meant(findings: list[Finding]) -> set[Place]:
    """Places of the keys that misspelt ones stand for, so that these are not told a second time as missing."""
    return {(*f.place[:-1], f.right) for f in findings if f.wrong == _UNKNOWN_KEY}


_UNKNOWN_KEY = "is no known key"


def _statement(key: str, example: str) -> str:
    return example if example.startswith("[") and key in example.strip("[]").split(".") else f"{key} = {example}"


def _keys_right(place: Place) -> str:
    model = _model(place[:-1])
    known = [field.validation_alias or key for key, field in model.model_fields.items()] if model else []
    words = [*(str(key) for key in known), *(CASE_TABLES if len(place) == 1 else ())]
    near = nearest(str(place[-1]), words)
    return near if near else f"one of {', '.join(words)}"


def _field(place: Place) -> FieldInfo | None:
    """The model field that a place belongs to: that of its last key, or of the list or set it is an entry of."""
    model: type[BaseModel] | None = StudyFile
    field: FieldInfo | None = None
    inside_set = False
    for part in place:
        if isinstance(part, int):
            continue
        if inside_set:
            inside_set = False
            continue
        if model is None:
            return field
        field = next((f for key, f in model.model_fields.items() if part == (f.validation_alias or key)), None)
        if field is None:
            return None
        model = model_within(field.annotation)
        inside_set = typing.get_origin(field.annotation) is Mapping
    return field


def _model(place: Place) -> type[BaseModel] | None:
    if not place:
        return StudyFile
    field = _field(place)
    return model_within(field.annotation) if field is not None else None


def _order(place: Place, data: object) -> tuple[int, ...]:
    """Position in the order of the file; what is not in the file comes after what is."""
    order = []
    for part in place:
        if isinstance(data, Mapping):
            keys = list(data)
            order.append(keys.index(part) if part in data else len(keys))
            data = data.get(part)
        elif isinstance(data, list) and isinstance(part, int):
            order.append(part)
            data = data[part] if part < len(data) else None
    return tuple(order)


def _problem(finding: Finding, data: object, file: str) -> Problem:
    words: list[str] = []
    for depth, part in enumerate(finding.place):
        if isinstance(part, int):
            words[-1] += f"[{part + 1}]"
        elif depth == 1 and finding.place[0] in ("cables", "materials"):
            words[-1] += f".{shortened(part, LONGEST_SHOWN)}"
        else:
            words.append(shortened(part, LONGEST_SHOWN))
        if isinstance(data, Mapping):
            data = data.get(str(part), _NOTHING)
        elif isinstance(data, list) and isinstance(part, int) and part < len(data):
            data = data[part]
            if isinstance(data, Mapping) and isinstance(data.get("name"), str) and data["name"]:
                words[-1] += f' "{shortened(data["name"], LONGEST_SHOWN)}"'
        else:
            data = _NOTHING
    value = "" if data is _NOTHING else shortened(_shown(data), LONGEST_SHOWN)
    return Problem(file, " → ".join(words), value, finding.wrong, finding.right)


_NOTHING = object()


def _shown(value: object, depth: int = 0) -> str:
    if isinstance(value, Mapping | list) and depth > DEEPEST_SHOWN:
        return "..."
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {_shown(entry, depth + 1)}' for key, entry in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(_shown(entry, depth + 1) for entry in value)}]"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a number of very many digits"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, str | int | float | bool):
        return json.dumps(value, ensure_ascii=False)
    return str(value)
