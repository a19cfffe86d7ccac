"""What a document is made of; knows no physics and no file format."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Text:
    """Paragraphs, or the entries of a list."""

    paragraphs: tuple[str, ...]
    form: Literal["plain", "list", "lead"] = "plain"


@dataclass(frozen=True)
class Listing:
    """Text to be shown exactly as it is."""

    text: str
    caption: str = ""


@dataclass(frozen=True)
class Column:
    """A column of a table."""

    heading: str
    unit: str = ""
    """Unit of the numbers in it; "–" for numbers without one; empty for words."""

    @property
    def numeric(self) -> bool:
        """Whether the column holds numbers."""
        return bool(self.unit)


@dataclass(frozen=True)
class Cell:
    """An entry of a table that stands out."""

    text: str
    tone: Literal["", "good", "bad"] = ""


@dataclass(frozen=True)
class Table:
    """A table; each row has one entry for each column."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str | Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse rows that do not fit the columns."""
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"a row of {len(row)} entries in a table of {len(self.columns)} columns: {row!r}")


@dataclass(frozen=True)
class Figure:
    """A picture as PNG."""

    caption: str
    description: str
    """What the picture shows, for those who cannot see it."""
    png: bytes


@dataclass(frozen=True)
class Caution:
    """Warnings that must not be overlooked."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """A part of the document with a heading."""

    title: str
    anchor: str
    blocks: tuple[Block, ...]


Block = Text | Listing | Table | Figure | Caution | Section
Document = tuple[Block, ...]
