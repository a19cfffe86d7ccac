"""The report as PDF, and its tables as a workbook."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath

from studies.answers.answers import Answers
from studies.report.contents import document, write_report
from studies.report.sheet import identity, title_block
from studies.study.file import Study
from studies.text.blocks import Document, Section
from studies.text.grid import Grid
from studies.text.numbering import numbering
from studies.text.pdf import as_pdf
from studies.text.table import Table
from studies.text.xlsx import Numbered, as_xlsx

Versions = Mapping[str, str]


def report_pdf(result: Answers, figures: Mapping[str, bytes], versions: Versions) -> bytes:
    """The report as PDF with the study file attached; figures as SVG by their stems."""
    return as_pdf(write_report(result, figures, versions, for_print=True), attachments_of(result.study))


def workbook(result: Answers, versions: Versions, files: Mapping[str, str]) -> bytes:
    """Every table of the report, and every CSV file by its name, as the bytes of a workbook."""
    facts = (*title_block(result).entries, *identity(result, versions).entries)
    return workbook_of(result.study.title, facts, document(result, {}, versions), files)


def workbook_of(title: str, facts: Sequence[tuple[str, str]], blocks: Document, files: Mapping[str, str]) -> bytes:
    """Every table of some blocks under its number, and CSV files by their names, as the bytes of a workbook."""
    labels = numbering(blocks)
    tables = [Numbered(labels.label(table).replace("\u00a0", " "), table) for table in _tables(blocks)]
    data = {name.removesuffix(".csv"): text for name, text in files.items()}
    return as_xlsx(title, facts, tables, data)


def _tables(blocks: Document) -> Iterator[Table[object] | Grid]:
    for block in blocks:
        if isinstance(block, Table | Grid):
            yield block
        elif isinstance(block, Section):
            yield from _tables(block.blocks)


def attachments_of(study: Study) -> dict[str, bytes]:
    """The study file with the bytes that its hash is of."""
    name = PurePath(study.source_name.replace("\\", "/")).name
    if not study.source_text:
        return {}
    content = study.source_text.encode("utf-8")
    marked = b"\xef\xbb\xbf" + content
    is_marked = hashlib.sha256(marked).hexdigest() == study.source_sha256
    return {name if name.endswith(".toml") else "study.toml": marked if is_marked else content}
