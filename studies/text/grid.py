"""A table of finished texts, the input of every renderer: headings with units over rows of cells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Tone = Literal["", "good", "bad"]
OUT_OF_TOLERANCE = "\u2009*"
"""Mark of a number whose error is above the asked tolerance."""
MARK_NOTE = "* The error estimate is above what was asked."


@dataclass(frozen=True)
class Head:
    """The heading of a column."""

    heading: str
    unit: str = ""
    """Unit of the numbers in it; "–" for numbers without one; empty for words."""
    unit_in_cells: bool = False
    """Whether each number has the unit behind it, as words stand among them that it does not fit."""

    @property
    def numeric(self) -> bool:
        """Whether the column holds numbers."""
        return bool(self.unit)

    @property
    def unit_above(self) -> str:
        """The unit that stands beside the heading."""
        return "" if self.unit_in_cells else self.unit


@dataclass(frozen=True)
class Cell:
    """An entry of a table that stands out."""

    text: str
    tone: Tone = ""
    target: str = ""
    """Anchor of a section: a page shows its number with a link to it in place of the text. Or the path of a page, which
    the text links to."""


@dataclass(frozen=True)
class Grid:
    """A table; each row has one entry for each column."""

    caption: str
    columns: tuple[Head, ...]
    rows: tuple[tuple[str | Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        """Raise ValueError for a row that does not fit the columns."""
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"a row of {len(row)} entries in a table of {len(self.columns)} columns: {row!r}")


def cell_text(cell: str | Cell) -> str:
    """The words or the number of a cell."""
    return cell if isinstance(cell, str) else cell.text


def tone_of(cell: str | Cell) -> Tone:
    """How a cell stands out."""
    return "" if isinstance(cell, str) else cell.tone


def error_cell(text: str, within_tolerance: bool) -> str | Cell:
    """An error, marked if it is above the asked tolerance."""
    return text if within_tolerance else Cell(text + OUT_OF_TOLERANCE, "bad")
