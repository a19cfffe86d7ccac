"""What the report is filed under: document number, revision, date, author and checker, as stated."""

from pydantic import Field

from studies.study.entries import KeyTable, Label


class TitleBlock(KeyTable):
    """The report's place among the documents of a project; the report prints it as stated, and no number needs it."""

    number: Label | None = Field(default=None, examples=['"TF-2041-EMF-003"'])
    """document number"""
    revision: Label | None = Field(default=None, examples=['"B"'])
    """revision"""
    date: Label | None = Field(default=None, examples=['"2 March 2026"'])
    """date of the report, as it is to be printed"""
    author: Label | None = Field(default=None, examples=['"A. Author"'])
    """who signs as author"""
    checker: Label | None = Field(default=None, examples=['"C. Checker"'])
    """who signs as checker"""
    project: Label | None = Field(default=None, examples=['"Metrology hall, chiller feeders"'])
    """project"""
    client_reference: Label | None = Field(default=None, examples=['"Order 77-1834"'])
    """the client's reference"""
