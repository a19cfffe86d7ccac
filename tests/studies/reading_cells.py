"""Tables as a reader has them, in a page or a terminal, and the numbers in their cells."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html.parser import HTMLParser
from itertools import pairwise

MARKS = ("\u2009*", " *")
"""Behind an error that is above what was asked, in a page and in a terminal."""
RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
PREFIXES = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}


@dataclass(frozen=True)
class ReadTable:
    """A table: its caption, the heading and unit of each column, and the texts of the rows."""

    caption: str
    head: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    tones: tuple[tuple[str, ...], ...] = ()
    """How each cell of a page stands out: good, bad, or not at all."""


@dataclass(frozen=True)
class ReadNumber:
    """A number as written: its value and how far the value behind it may lie from it by rounding."""

    value: float
    half: float
    """Half of the last digit."""


def read_number(text: str) -> ReadNumber | None:
    """The number that a text is; None where it is none.

    A whole number may have been rounded before its point, to three digits at least.
    """
    plain = re.sub(r"[\u2009 ]\*$", "", text).replace("\u2212", "-").replace("\u2009", "").replace("\u202f", "").strip()
    plain = plain.replace(" × ", "×")  # a terminal may have no narrow spaces
    plain = re.sub(r"(?<=\d) (?=\d{3})", "", plain)
    found = re.fullmatch(r"([+-]?)(\d+)(?:\.(\d+))?(?:×10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)|e([+-]\d+))?", plain)
    if found is None:
        return None
    sign, whole, decimals, raised, exponent = found.groups()
    power = 10.0 ** int(raised.translate(RAISED) if raised else exponent or 0)
    value = float(f"{sign}{whole}.{decimals or 0}") * power
    half = 0.5 * 10.0 ** -len(decimals or "") * power
    if decimals is None and len(whole) > 3:
        half = max(half, 0.5 * 10.0 ** (len(whole) - 3) * power)
    return ReadNumber(value, half)


class _Page(HTMLParser):
    """Collects tables and paragraphs."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[ReadTable] = []
        self.lines: list[str] = []
        self.leads: list[str] = []
        """Those that lead the page."""
        self._is_lead = False
        self._text: list[str] | None = None
        """Text and unit of what is open."""
        self._caption = ""
        self._head: list[tuple[str, str]] = []
        self._rows: list[list[str]] = []
        self._tones: list[list[str]] = []
        self._tone = ""
        self._in_head = self._in_unit = self._in_label = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self._caption, self._head, self._rows, self._tones = "", [], [], []
        elif tag == "tr" and not self._in_head:
            self._rows.append([])
            self._tones.append([])
        elif tag == "span" and ("class", "label") in attrs:
            self._in_label = True
        elif tag == "span":
            self._in_unit = ("class", "unit") in attrs
            self._tone = dict(attrs).get("class") or ""
        elif tag == "thead":
            self._in_head = True
        elif tag in ("td", "th", "caption", "p", "li", "figcaption"):
            self._text, self._is_lead = ["", ""], ("class", "lead") in attrs

    def handle_endtag(self, tag: str) -> None:
        if tag == "span":
            self._in_unit = self._in_label = False
        elif tag == "thead":
            self._in_head = False
        elif tag == "table":
            rows = tuple(tuple(row) for row in self._rows)
            tones = tuple(tuple(row) for row in self._tones)
            self.tables.append(ReadTable(self._caption, tuple(self._head), rows, tones))
        elif tag in ("td", "th", "caption", "p", "li", "figcaption") and self._text is not None:
            self._close(tag, *self._text)
            self._text = None

    def _close(self, tag: str, text: str, unit: str) -> None:
        if tag == "caption":
            self._caption = " ".join(text.split())
        elif tag in ("p", "li", "figcaption"):
            self.lines.append(" ".join(text.split()))
            self.leads += self.lines[-1:] if self._is_lead else []
        elif self._in_head:
            self._head.append((" ".join(text.split()), unit.strip("()")))
        else:
            self._rows[-1].append(text.strip(" \n"))
            self._tones[-1].append(self._tone)
            self._tone = ""

    def handle_data(self, data: str) -> None:
        if self._text is not None and not self._in_label:
            self._text[self._in_unit] += data


def tables_of_page(html: str) -> tuple[ReadTable, ...]:
    """Every table of an HTML page."""
    page = _Page()
    page.feed(html)
    return tuple(page.tables)


def lines_of_page(html: str) -> tuple[str, ...]:
    """Every paragraph, caption and entry of a list of an HTML page, the white space within it as single spaces."""
    page = _Page()
    page.feed(html)
    return tuple(page.lines)


def leads_of_page(html: str) -> tuple[str, ...]:
    """The paragraphs that lead an HTML page."""
    page = _Page()
    page.feed(html)
    return tuple(page.leads)


def tables_of_terminal(text: str) -> tuple[ReadTable, ...]:
    """Every table of a text in which a row of dashes under the headings gives the columns.

    Above it stand the headings, in one line or more with their units at the end, and above them perhaps a caption. The
    first heading has one line, so that a line that begins above it is the caption. A table that goes on below, with its
    first column again, is read as one.
    """
    found: list[ReadTable] = []
    for block in text.split("\n\n"):
        lines = block.splitlines()
        dashes = next((k for k, line in enumerate(lines) if k and re.fullmatch(r"-+(  -+)*", line)), None)
        if dashes is None:
            continue
        spans = [match.span() for match in re.finditer(r"-+", lines[dashes])]
        captions = [line for line in lines[: dashes - 1] if not line.startswith(" ")]
        heads = [_cut(line, spans) for line in lines[len(captions) : dashes]]
        headings = [" ".join(part for part in parts if part) for parts in zip(*heads, strict=True)]
        head = tuple(_heading_and_unit(heading) for heading in headings)
        rows = _rows([_cut(line, spans) for line in lines[dashes + 1 :]])
        before = found[-1] if found else None
        if before and not captions and before.caption and [row[0] for row in before.rows] == [row[0] for row in rows]:
            whole = tuple((*own, *more[1:]) for own, more in zip(before.rows, rows, strict=True))
            found[-1] = ReadTable(before.caption, (*before.head, *head[1:]), whole)
        else:
            found.append(ReadTable(" ".join(captions), head, rows))
    return tuple(found)


def _rows(lines: list[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """The rows; what has nothing in the first column goes on with the words of the row above."""
    rows: list[tuple[str, ...]] = []
    for line in lines:
        if line[0] or not rows:
            rows.append(line)
        else:
            rows[-1] = tuple(f"{own} {more}".strip() for own, more in zip(rows[-1], line, strict=True))
    return tuple(rows)


def _heading_and_unit(heading: str) -> tuple[str, str]:
    unit = re.fullmatch(r"(.+) \(([^() ]+)\)", heading)
    return (heading, "") if unit is None else (unit[1], unit[2])


def _cut(line: str, spans: Sequence[tuple[int, int]]) -> tuple[str, ...]:
    between = [line[end:start] for (_, end), (start, _) in pairwise(spans)]
    assert not any(gap.strip() for gap in between), f"a cell is wider than its column: {line!r}"
    return tuple(line[start:end].strip() for start, end in spans)


def read_quantity(text: str, unit: str) -> tuple[ReadNumber, ReadNumber | None] | None:
    """A number with a prefix and unit and perhaps its error, such as "2.2540 µT ± 0.0003", in the bare unit."""
    number, _, spread = text.partition(" ± ")
    words = [number, ""] if unit == "" else number.rsplit(" ", 1)
    if len(words) != 2 or not words[1].endswith(unit):
        return None
    size = PREFIXES.get(words[1].removesuffix(unit))
    value, error = read_number(words[0]), read_number(spread) if spread else None
    if size is None or value is None or (spread and error is None):
        return None
    scaled = None if error is None else ReadNumber(error.value * size, error.half * size)
    return ReadNumber(value.value * size, value.half * size), scaled
