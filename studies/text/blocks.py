"""The blocks of a document, independent of physics and of file formats."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from studies.text.grid import Grid
from studies.text.table import Table


class First(str):
    """A leading sentence that stands before the others: a limit is exceeded, or a verdict is missing."""


class Last(str):
    """A leading sentence that stands after the others: nobody asked for what it says."""


@dataclass(frozen=True)
class Text:
    """Paragraphs, or the entries of a list."""

    paragraphs: tuple[str, ...]
    form: Literal["plain", "list", "lead"] = "plain"
    opening: str = ""
    """Sentence above a list."""


@dataclass(frozen=True)
class Listing:
    """Text to be shown exactly as it is."""

    text: str
    caption: str = ""


@dataclass(frozen=True)
class Figure:
    """A picture as PNG, or as SVG where a page may hold it."""

    caption: str
    description: str
    """Description of the picture, for readers who cannot see it."""
    png: bytes


@dataclass(frozen=True)
class Readable:
    """A picture that the page's script reads out point by point; in print and without the script, the picture alone."""

    form: Literal["map", "line"]
    figure: Figure
    data: str
    """JSON in ASCII, as `reader.js` takes it."""


@dataclass(frozen=True)
class Facts:
    """Short statements, each under its name, such as the number and date of a document."""

    entries: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Signatures:
    """Lines to sign and date, each with its role and a name if one is stated."""

    entries: tuple[tuple[str, str], ...]


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
    is_appendix: bool = False
    """Whether it holds records for those who check: at the end, with a letter for its number, in smaller print."""
    is_sheet: bool = False
    """Whether it is the sheet that is signed: a page of its own in print."""


Block = Text | Listing | Table[Any] | Grid | Figure | Readable | Facts | Signatures | Caution | Section
Document = tuple[Block, ...]
