"""The report of a result: summary, numbers, method, assumptions, cautions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from operator import itemgetter
from pathlib import PurePath

from studies.answers.answer import Answer
from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.report.assumptions import assumption_section
from studies.report.failed import sections_of
from studies.report.method import method_section, subject_section
from studies.report.sheet import continuation, sheet_section
from studies.report.summary import summary_list
from studies.study.file import NO_KEYS, Study
from studies.text.blocks import Block, Listing, Section, Text
from studies.text.html import render
from studies.text.table import Column, Table

Figures = Mapping[str, bytes]
Versions = Mapping[str, str]


def write_report(
    result: Answers, figures: Mapping[str, bytes], versions: Mapping[str, str], for_print: bool = False
) -> str:
    """The report as one HTML file.

    `result`: what to report.
    `figures`: PNG or SVG pictures by the stems of `studies.report.figures.figure_set`; those that are missing are left
    out.
    `versions`: version of each piece of software that was used.
    `for_print`: whether the page is only printed.

    The text is the same for the same input.
    """
    study = result.study
    name = PurePath(study.source_name.replace("\\", "/")).name
    subtitle = f"Magnetic field study at {study.frequency:g}\u202fHz" + (f", from {name}" if name else "")
    return render(
        study.title, subtitle, document(result, figures, versions), footer=footer_of(study), for_print=for_print
    )


def footer_of(study: Study) -> str:
    """Document number and revision, or the title, for the foot of each printed page."""
    block = study.document
    revision = "" if block.revision is None else f"revision {block.revision}"
    return ", ".join(filter(None, (block.number, revision))) or study.title


def document(result: Answers, figures: Mapping[str, bytes], versions: Mapping[str, str]) -> tuple[Section, ...]:
    """The blocks of the report; a section that fails is one that says so, and costs no other."""
    sections = sections_of(
        {title: partial(make, result, figures, versions) for title, make in SECTIONS.items()}, result.failures
    )
    return tuple(sorted(sections, key=lambda section: section.is_appendix))


def _notes_section(result: Answers, figures: Figures, versions: Versions) -> Section:
    return Section("Notes to the sheet", "notes", (*continuation(result), summary_list(result)))


def _source_section(result: Answers, figures: Figures, versions: Versions) -> Section:
    study = result.study
    blocks: list[Block] = []
    if study.source_text:
        blocks.append(Listing(study.source_text, "The study file, as it was read"))
    else:
        blocks.append(Text(("The study was made in a program, not read from a file. Its values in SI units:",)))
        blocks.append(Listing(study.model_dump_json(indent=2, exclude=set(NO_KEYS), exclude_none=True)))
    blocks.append(
        Table("Software", (Column("Name", itemgetter(0)), Column("Version", itemgetter(1))), list(versions.items()))
    )
    return Section("Study file and software", "source", tuple(blocks), is_appendix=True)


def _section_of(
    answer: Answer,
    make: Callable[[Answers, Figures], Section | None],
    result: Answers,
    figures: Figures,
    versions: Versions,
) -> Section | None:
    return make(answer.seen(result), figures)


SECTIONS: Mapping[str, Callable[[Answers, Figures, Versions], Section | None]] = {
    "Summary": sheet_section,
    "Notes to the sheet": _notes_section,
    "What was studied": lambda result, *_: subject_section(result),
    **{title: partial(_section_of, answer, make) for answer in ANSWERS for title, make in answer.sections.items()},
    "How the numbers were made": lambda result, *_: method_section(result),
    "Assumptions": lambda result, *_: assumption_section(result),
    "Study file and software": _source_section,
}
"""The sections in their order, by their titles."""
