"""The sheet to sign, page one of the report: verdicts, cross-section, circuits, cautions, signatures."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, nothing
from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.answers.sheet_row import SheetRow
from studies.report.page_one import Split, split_rows
from studies.report.summary import verdict_lines
from studies.section.parts import PlacedCable
from studies.study.circuits import Circuit, phase_currents
from studies.study.direct_currents import direct_words
from studies.study.file import NO_KEYS, Study
from studies.text.blocks import Block, Caution, Facts, Figure, Section, Signatures, Text
from studies.text.failures import rescued
from studies.text.numbers import stated_or_summed
from studies.text.table import Column, Table
from studies.text.units import AMPERE, MILLIMETRE, PER_CENT, SQUARE_MILLIMETRE

TITLES: Mapping[str, str] = {
    "project": "Project",
    "client_reference": "Client's reference",
    "number": "Document",
    "revision": "Revision",
    "date": "Date",
    "author": "Author",
    "checker": "Checker",
}
"""Fields of the title block with their names on the sheet, in order."""
ASKED = Column[SheetRow]("Asked", lambda r: r.of)
VALUE = Column[SheetRow]("Value", lambda r: r.value)
BEYOND = Column[SheetRow]("Not covered by the ±", lambda r: r.beyond, optional=True)
SECTION = Column[SheetRow]("Section", lambda r: r.section, target=lambda r: r.section)
JUDGED: tuple[Column[SheetRow], ...] = (
    ASKED,
    VALUE,
    Column("Limit", lambda r: r.limit),
    Column("Margin", lambda r: r.margin, PER_CENT, signed=True, unit_in_cells=True),
    Column("Verdict", lambda r: r.verdict, tone=lambda r: r.tone),
    BEYOND,
    SECTION,
)
"""Of what has a limit, or failed."""
OTHERS = (ASKED, VALUE, BEYOND, SECTION)
MARGIN = "Margin: remainder to the limit after value and error, over it; or its multiple."
DATUM = "Datum of all coordinates: x = 0, y = 0 of the cross-section; x to the right, y upwards, seen along the run."


def sheet_section(result: Answers, figures: Mapping[str, bytes], versions: Mapping[str, str]) -> Section:
    """Everything that a signature needs on one page; rows that it has no room for stand in `continuation`."""
    blocks: list[Block] = [facts] if (facts := title_block(result)).entries else []
    split = split_of(result)
    blocks += [Text(verdict_lines(result), "lead"), *_tables(result, split.judged, split.others)]
    if split.count_after():
        count = split.count_after()
        rows = "row of this sheet stands" if count == 1 else "rows of this sheet stand"
        blocks.append(Text((f"{count} more {rows} on the next page.",)))
    if names.CROSS_SECTION in figures:
        blocks.append(_drawing(result, figures[names.CROSS_SECTION]))
    if split.with_circuits:
        blocks.append(_circuit_sheet(result))
    blocks.append(Caution("Cautions: before anybody builds from this", result.cautions))
    blocks += [identity(result, versions), signatures_of(result.study)]
    return Section("Summary", "summary", tuple(blocks), is_sheet=True)


def continuation(result: Answers) -> list[Block]:
    """Tables of the sheet that page one has no room for."""
    split = split_of(result)
    blocks: list[Block] = [*_tables(result, split.judged_after, split.others_after, ", continued")]
    return blocks if split.with_circuits else [*blocks, _circuit_sheet(result)]


def sheet_rows(result: Answers) -> list[SheetRow]:
    """What every answer has on the sheet."""
    return [row for answer in ANSWERS if answer.sheet is not nothing for row in _rows_of(answer, result)]


def split_of(result: Answers) -> Split:
    """The rows on page one and after it."""
    study = result.study
    words = title_block(result).entries, verdict_lines(result), result.cautions
    return split_rows(sheet_rows(result), study.title, *words, len(study.circuits))


def note_of(result: Answers) -> str:
    """What ± and margin are of; layings and the run in space have errors that are not of the numerics."""
    more = ["of layings with that of the samples"] if result.laying_tolerance is not None else []
    more += ["of the run in space with the doubt of its metal"] if result.space is not None else []
    return f"±: numerical error{'; ' + ', '.join(more) if more else ' alone'}. {MARGIN}"


def _tables(
    result: Answers, judged: Sequence[SheetRow], others: Sequence[SheetRow], more: str = ""
) -> list[Table[SheetRow]]:
    """First what is judged by a limit, then all else; neither without a row."""
    tables = (
        Table(f"Verdicts{more}", JUDGED, judged, note_of(result)),
        Table(f"Answers without a limit{more}", OTHERS, others),
    )
    return [table for table in tables if table.rows]


def _rows_of(answer: Answer, result: Answers) -> list[SheetRow]:
    return rescued(
        f"{answer.what} on the sheet",
        lambda: list(answer.sheet(answer.seen(result))),
        lambda failure: [
            SheetRow(answer.what.capitalize(), f"failed, {failure.why}", verdict="no verdict", tone="bad")
        ],
    )


def title_block(result: Answers) -> Facts:
    """Number, revision, date and names, those that are stated."""
    return title_block_of(result.study)


def title_block_of(study: Study) -> Facts:
    """The same of a study."""
    block = study.document
    entries = ((title, getattr(block, field)) for field, title in TITLES.items())
    return Facts(tuple((title, value) for title, value in entries if value is not None))


def _drawing(result: Answers, picture: bytes) -> Figure:
    cables, trays = len(result.cross_section.cables), len(result.study.trays)
    return Figure(
        "The cross-section to scale. Arrows point to receptors outside the drawing and give their distance from the "
        f"middle of the cross-section; ⌀: diameter over all. {DATUM}",
        f"Cross-section with {cables} cables and {trays} trays.",
        picture,
    )


def _circuit_sheet(result: Answers) -> Table[tuple[Circuit, tuple[PlacedCable, ...]]]:
    """Each circuit with its cable, phases by position and currents, beside the drawing."""
    placed = result.cross_section.cables
    rows = [(c, tuple(one for one in placed if one.circuit == c.name)) for c in result.study.circuits]
    columns: tuple[Column[tuple[Circuit, tuple[PlacedCable, ...]]], ...] = (
        Column("Circuit", lambda row: row[0].name),
        Column("Cable", lambda row: row[0].cable),
        Column("Conductor", partial(_material, result)),
        Column("Area", partial(_area, result), SQUARE_MILLIMETRE, stated=True),
        Column("Diameter over all", lambda row: row[1][0].layers.diameter, MILLIMETRE, digits=3),
        Column("Phases by position", lambda row: " ".join(cable.phase for cable in row[1])),
        Column("Current, rms", lambda row: _currents(row[0])),
    )
    return Table(f"Circuits as drawn, {result.study.frequency:g} Hz", columns, rows)


def _material(result: Answers, row: tuple[Circuit, object]) -> str:
    return result.study.cables[row[0].cable].conductor.material


def _area(result: Answers, row: tuple[Circuit, object]) -> float | None:
    return result.study.cables[row[0].cable].conductor.area


def _currents(circuit: Circuit) -> str:
    """The current of each phase, once if all are equal in size."""
    sizes = {phase: stated_or_summed(abs(current), AMPERE) for phase, current in phase_currents(circuit).items()}
    if len(set(sizes.values())) == 1:
        return f"{direct_words(circuit.phases, circuit.direct_current)}{next(iter(sizes.values()))} each phase"
    return direct_words(circuit.phases, circuit.direct_current) + ", ".join(
        f"{phase} {size}" for phase, size in sizes.items()
    )


def identity(result: Answers, versions: Mapping[str, str]) -> Facts:
    """What was computed by what: a later change of the study file shows in its hash."""
    return identity_of(result.study, versions)


def identity_of(study: Study, versions: Mapping[str, str]) -> Facts:
    """The same of a study."""
    text = study.model_dump_json(exclude=set(NO_KEYS))
    digest = study.source_sha256 or hashlib.sha256(text.encode("utf-8")).hexdigest()
    kind = "study file" if study.source_sha256 else "study as JSON"
    return Facts(
        (("Computed by", f"trayfield {versions.get('trayfield', '')}".strip()), (f"SHA-256 of the {kind}", digest))
    )


def signatures_of(study: Study) -> Signatures:
    """Lines for author and checker."""
    block = study.document
    return Signatures((("Author", block.author or ""), ("Checker", block.checker or "")))
