"""The cross-section of each section of a route: the study's own, or one with some keys set or removed."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.section.places import places_of
from studies.section.run_bonds import run_bonds
from studies.study.decisions import RouteSection
from studies.study.dotted_keys import Tree
from studies.study.file import Study, StudyFile
from studies.study.route_changes import SAME, of_section, section_tables
from studies.study.toml_text import lines_named
from studies.text.problems import Problem, StudyError

MOST_LISTED = 4
"""Lines that a message names."""


def section_studies(study: Study) -> tuple[Study, ...]:
    """The study of each section of the route, the study itself if a section changes nothing.

    Sections that are alike share one study. One with a problem raises `StudyError`, which holds those of all sections.
    """
    found: list[Study] = []
    problems: list[Problem] = []
    for number, section in enumerate(study.route, 1):
        same = next((k for k, other in enumerate(study.route[: number - 1]) if _is_alike(section, other)), None)
        if not section.settings and not section.remove:
            found.append(study)
        elif same is not None and len(found) > same:
            found.append(found[same])
        else:
            try:
                found.append(_section_study(study, section, number))
            except StudyError as error:
                problems += error.problems
    if problems:
        with lines_named(study.source_text):
            raise StudyError(problems)
    return tuple(found)


def route_sections(study: Study, own: CrossSection | None = None) -> tuple[tuple[Study, CrossSection], ...]:
    """Study and cross-section of each section of the route, known to have the parts of one run.

    own: The study's cross-section, if it is known already.
    Raises StudyError: If the geometry of a section is impossible, or its cables and bonded metal are not those of
        the study.
    """
    base = own or cross_section(study)
    made: dict[int, CrossSection] = {id(study): base}
    problems: list[Problem] = []
    studies = section_studies(study)
    for number, each in enumerate(studies, 1):
        if id(each) in made:
            continue
        try:
            made[id(each)] = cross_section(each)
        except StudyError as error:
            problems += [of_section(number, study.route[number - 1].name, problem) for problem in error.problems]
            made[id(each)] = base
            continue
        problems += _other_parts(study, number, base, made[id(each)])
    if problems:
        with lines_named(study.source_text):
            raise StudyError(problems)
    return tuple((each, made[id(each)]) for each in studies)


def changes_of(section: RouteSection) -> tuple[str, ...]:
    """What a section changes, in the words of the study file."""
    removed = [f"without {path}" for path in section.remove]
    return (*removed, *(f"{path} = {_value(value)}" for path, value in section.settings.items()))


def _value(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)


def _is_alike(first: RouteSection, second: RouteSection) -> bool:
    return first.settings == second.settings and first.remove == second.remove


def _section_study(study: Study, section: RouteSection, number: int) -> Study:
    tables, unfollowed = section_tables(_tables(study), {"set": section.settings, "remove": section.remove})
    wrong = [study.problem(key, error.wrong, error.right) for key, _, error in unfollowed]
    try:
        read = StudyFile.model_validate(tables)
    except ValidationError as error:
        wrong += [_problem(study, line) for line in error.errors(include_url=False)]
    if wrong:
        raise StudyError([of_section(number, section.name, problem) for problem in wrong])
    fields = {key: getattr(read, key) for key in StudyFile.model_fields}
    found = Study(**fields, source_name=study.source_name)
    problems = [of_section(number, section.name, problem) for problem in _other_currents(study, found)]
    if problems:
        raise StudyError(problems)
    return found


def _problem(study: Study, line: ErrorDetails) -> Problem:
    """Message of a model about a value, in the words of its check if it has any."""
    context = line.get("ctx", {})
    wrong, right = context.get("wrong", line["msg"]), context.get("right", "a value as in the study file")
    return study.problem(" → ".join(map(str, line["loc"])), str(wrong), str(right))


def _other_currents(study: Study, section: Study) -> Iterator[Problem]:
    """Circuits that are not those of the study."""
    own, there = ({circuit.name: circuit for circuit in one.circuits} for one in (study, section))
    if set(own) != set(there):
        yield study.problem("circuits", "are not the circuits of the study", ", ".join(own), ", ".join(there))
        return
    for name, circuit in own.items():
        for key in SAME:
            if getattr(circuit, key) != getattr(there[name], key):
                yield study.problem(f'circuits "{name}" → {key}', "is another than the study's", "the same")


def _other_parts(study: Study, number: int, own: CrossSection, there: CrossSection) -> Iterator[Problem]:
    """Cables, layers and bonded metal that do not run through."""
    wanted, found = (Counter(place.line for place in places_of(section)) for section in (own, there))
    if wanted == found:
        if run_bonds(own, 1.0) != run_bonds(there, 1.0):
            right = "the bonds of cables, and of metal with them, as in the study: at the ends of the run"
            problem = study.problem("bonds", "joins other lines than those of the study", right)
            yield of_section(number, study.route[number - 1].name, problem)
        return
    said = [
        f"{word} {_listed([*lines])}"
        for word, lines in (("without", wanted - found), ("with", found - wanted))
        if lines
    ]
    section = study.route[number - 1]
    wrong = f"has other cables or bonded metal than the run ({'; '.join(said)})"
    right = "the same circuits, phases, layers of the cables and bonded trays all along"
    yield of_section(number, section.name, study.problem("cross-section", wrong, right))


def _listed(keys: Sequence[tuple[str, ...]]) -> str:
    return ", ".join(" ".join(filter(None, key)) for key in keys[:MOST_LISTED]) + (
        " …" if len(keys) > MOST_LISTED else ""
    )


def _tables(model: BaseModel) -> Tree:
    """A model as the tables that make it, SI numbers and all; what is as without a statement is left out."""
    found: Tree = {}
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if name not in StudyFile.model_fields and isinstance(model, Study):
            continue
        if value is not None and (field.is_required() or value != field.get_default(call_default_factory=True)):
            found[str(field.serialization_alias or name)] = _plain(value)
    return found


def _plain(value: object) -> object:
    if isinstance(value, BaseModel):
        return _tables(value)
    if isinstance(value, Mapping):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    return value
