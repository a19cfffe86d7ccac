"""A survey: readings of the field that are held against the computed one."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field

from studies.study.entries import KeyTable, Word, list_entry, number_entry, text_entry, word_entry
from studies.study.findings import Finding, Reader, as_list, unknown

LOAD, LOAD_AND_RESIDUAL = "load", "load and residual"
"""What a fit may change in each circuit."""


class Survey(KeyTable):
    """Readings of a meter along the run, in a CSV file beside the study file."""

    file: Annotated[str, text_entry('"readings.csv"')] = Field()
    """CSV file with the columns x, y, field, uncertainty and perhaps name, axis and load, each unit in its heading"""
    coverage_factor: Annotated[float, number_entry(1, 4, "2")] = Field()
    """1 if the file states standard uncertainties, 2 if expanded ones that hold with 95 in 100"""
    fit: Annotated[str, word_entry("fit", (LOAD, LOAD_AND_RESIDUAL))] = LOAD_AND_RESIDUAL
    """what the fit changes in each circuit: a factor on its load, and a residual current that returns far away"""
    permeability_of: Word | None = None
    """tray or metalwork, of steel that does not saturate, whose relative permeability is fitted as well"""
    permeability_range: Annotated[
        tuple[Annotated[float, number_entry(1, 100_000, "300")], ...], list_entry("[50, 2000]", least=2)
    ] = (50.0, 2000.0)
    """lowest and highest relative permeability of the fit"""


def survey_findings(reader: Reader) -> Iterator[Finding]:
    """A survey holds one section, so it does not go with a route; a fitted part is there, and its range is one."""
    if isinstance(reader.data.get("survey"), Mapping) and reader.data.get("route"):
        right = "a study of the section that was surveyed, without a route"
        yield Finding(("survey",), "does not go with a route", right)
    survey = reader.table("survey")
    part, ends = survey.get("permeability_of"), as_list(survey.get("permeability_range"))
    if isinstance(part, str):
        known = [*reader.titles("trays"), *reader.titles("metalwork")]
        yield from unknown(("survey", "permeability_of"), part, known, "known tray or metalwork")
    elif ends:
        yield Finding(("survey", "permeability_range"), "is of no part", 'permeability_of = "T1", or leave it out')
    plain = [end for end in ends if isinstance(end, int | float)]
    if len(plain) == len(ends) > 0 and (len(plain) != 2 or plain[0] >= plain[1]):
        yield Finding(("survey", "permeability_range"), "is no range", "the lowest and the highest, [50, 2000]")
