"""The report of a result: the answers first, then the numbers, then how they were made."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePath

from studies.cautions import ALWAYS
from studies.report.assumptions import assumption_section
from studies.report.blocks import Block, Caution, Column, Document, Listing, Section, Table, Text
from studies.report.bond_tables import bond_section
from studies.report.charging_tables import charging_section
from studies.report.fault_tables import fault_section
from studies.report.field_tables import map_section, receptor_section, traverse_section
from studies.report.html import render
from studies.report.impedance_tables import impedance_section
from studies.report.ladder_tables import ladder_section
from studies.report.limit_tables import limit_section
from studies.report.loss_tables import loss_section, part_section
from studies.report.method import method_section, subject_section
from studies.report.order_tables import order_section
from studies.report.reasons import reason_section
from studies.report.route_tables import route_section
from studies.report.steel_tables import steel_section
from studies.report.summary import summary
from studies.results import Result


def write_report(result: Result, figures: Mapping[str, bytes], versions: Mapping[str, str]) -> str:
    """The report as one HTML file.

    Parameters
    ----------
    result : Result
        What to report.
    figures : mapping of str to bytes
        PNG pictures by the stems of `studies.figures.catalogue.figure_set`; those that are missing are left out.
    versions : mapping of str to str
        Version of each piece of software that was used.

    Returns
    -------
    html : str
        The same text for the same input.
    """
    study = result.study
    name = PurePath(study.source_name.replace("\\", "/")).name
    subtitle = f"Magnetic field study at {study.frequency:g}\u202fHz" + (f", from {name}" if name else "")
    return render(study.title, subtitle, document(result, figures, versions))


def document(result: Result, figures: Mapping[str, bytes], versions: Mapping[str, str]) -> Document:
    """The blocks of the report."""
    sections: list[Section | None] = [
        Section("Summary", "summary", (*summary(result), _short_cautions(result))),
        subject_section(result, figures),
        receptor_section(result, figures),
        limit_section(result, figures),
        traverse_section(result, figures),
        map_section(result, figures),
        loss_section(result, figures),
        steel_section(result, figures),
        part_section(result, figures),
        bond_section(result),
        impedance_section(result),
        ladder_section(result),
        order_section(result, figures),
        route_section(result, figures),
        charging_section(result),
        fault_section(result, figures),
        reason_section(result),
        method_section(result),
        assumption_section(result),
        Section("Cautions", "cautions", (Caution("Before anybody builds from this", result.cautions),)),
        _source_section(result, versions),
    ]
    return tuple(section for section in sections if section is not None)


def _short_cautions(result: Result) -> Caution:
    """The cautions that this study calls for, and where the rest is."""
    own = tuple(caution for caution in result.cautions if caution not in ALWAYS)
    general = tuple(caution for caution in result.cautions if caution in ALWAYS)
    return Caution(
        "Cautions", (*own, *general[:1], "All cautions stand at the end of this report; they are part of it.")
    )


def _source_section(result: Result, versions: Mapping[str, str]) -> Section:
    study = result.study
    blocks: list[Block] = []
    if study.source_text:
        blocks.append(Listing(study.source_text, "The study file, as it was read"))
    else:
        blocks.append(Text(("The study was made in a program, not read from a file. Its values in SI units:",)))
        blocks.append(
            Listing(study.model_dump_json(indent=2, exclude={"source_name", "source_text"}, exclude_none=True))
        )
    blocks.append(
        Table("Software", (Column("Name"), Column("Version")), tuple((name, text) for name, text in versions.items()))
    )
    return Section("Study file and software", "source", tuple(blocks))
