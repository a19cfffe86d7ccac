"""A survey: readings of the field that are held against the computed one."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field

from studies.study.entries import KeyTable, number_entry, text_entry, word_entry
from studies.study.findings import Finding, Reader

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


def survey_findings(reader: Reader) -> Iterator[Finding]:
    """A survey holds one section, so it does not go with a route."""
    if isinstance(reader.data.get("survey"), Mapping) and reader.data.get("route"):
        right = "a study of the section that was surveyed, without a route"
        yield Finding(("survey",), "does not go with a route", right)
