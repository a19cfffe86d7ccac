"""Tables in brief, paragraphs and lists as plain text within the width of a terminal."""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Sequence
from typing import Any

from studies.text import streams
from studies.text.blocks import Text
from studies.text.grid import Grid, Head, cell_text, tone_of
from studies.text.numbers import GAP, THIN
from studies.text.printable import printable
from studies.text.table import Table, brief_grid

WIDTH = 80
"""Columns of the narrowest terminal; sentences are not wider on any, since long lines are hard to read."""
BETWEEN = "  "
"""Between two columns of a table."""
MOST_HEAD_LINES = 4
"""Most lines of a heading."""
NAME_WIDTH = 28
"""Least width to which the names of rows are cut if a table is too wide."""
WORDS_WIDTH = 24
"""Least width to which other words are wrapped if a table is too wide."""
TO_PASTE = re.compile(r"[a-z_]+ = [\[{\"]")
"""Begin of a line of a study file, which is not wrapped: a break within a text in quotes would spoil it."""
ALARM = "! "
"""Prefix of words with a bad tone."""

Lines = Sequence[str]


def as_text(block: Table[Any] | Grid | Text | str, width: int = 0) -> str:
    """A table in brief, paragraphs, or a list below its opening sentence, wrapped to a width.

    Without a width that is the terminal's, and 80 columns if it is narrower or there is none.
    A table is its caption, then headings over a row of dashes over the rows, with numbers to the right. One that is
    too wide gets headings of more lines, then narrower words, and then goes on in further tables, each with the first
    column again.
    """
    width = width or max(WIDTH, streams.terminal_columns("stdout"))
    prose = min(width, WIDTH)
    if isinstance(block, str):
        return "\n".join(line if TO_PASTE.match(line) else filled(line, prose) for line in block.splitlines())
    if isinstance(block, Text):
        indent = "  " if block.form == "list" else ""
        opening = [filled(block.opening, prose)] if block.opening else []
        return "\n".join([*opening, *(filled(line, prose, indent, 2 * indent) for line in block.paragraphs)])
    grid = brief_grid(block)
    parts = [_Column(head, [row[k] for row in grid.rows], k == 0) for k, head in enumerate(grid.columns)]
    groups = _split(parts, width)
    blocks = ["\n".join(_laid_out(group, width, narrow=len(groups) > 1)) for group in groups]
    title = [textwrap.fill(_plain(grid.caption), prose)] if grid.caption else []
    note = [textwrap.fill(_plain(grid.note), prose)] if grid.note else []
    return "\n\n".join(["\n".join([*title, blocks[0]]), *blocks[1:], *note])


def filled(text: str, width: int = WIDTH, first: str = "", later: str = "") -> str:
    """A sentence wrapped to a width, with ordinary spaces and indents of the first and of the later lines."""
    lines = textwrap.wrap(text, width, initial_indent=first, subsequent_indent=later, break_on_hyphens=False)
    return printable("\n".join(lines).replace(THIN, " ").replace(GAP, " "), "\n\t")


class _Column:
    """Heading and cells of a column as plain text."""

    def __init__(self, head: Head, cells: Sequence[Any], first: bool) -> None:
        self.first, self.numeric = first, head.numeric
        self.heading = _plain(
            f"{head.heading} ({head.unit_above})" if head.unit_above not in ("", "–") else head.heading
        )
        self.cells = [
            _plain(cell_text(cell)) if head.numeric or tone_of(cell) != "bad" else ALARM + _plain(cell_text(cell))
            for cell in cells
        ]

    def width(self, lines: int, narrow: bool) -> int:
        """The least width with a heading of so many lines; of the first column of one."""
        longest = max(map(_width, self.cells), default=0)
        if narrow and self.numeric:
            longest = max(map(_narrowest, self.cells), default=0)
        elif narrow:
            longest = min(longest, NAME_WIDTH if self.first else WORDS_WIDTH)
        width, lines = max(longest, 1), 1 if self.first else lines
        while len(_wrapped(self.heading, width)) > lines or any(_width(w) > width for w in self.heading.split()):
            width += 1
        return width

    def rows(self, width: int) -> list[Lines]:
        """The lines of each cell."""
        if self.first:
            return [[name] for name in _cut(self.cells, width)]
        return [_wrapped(cell, width) or [""] for cell in self.cells]


def _split(columns: Sequence[_Column], width: int) -> list[list[_Column]]:
    """The columns in the fewest groups that fit; each group repeats the first column."""
    if _widths(columns, width) is not None or len(columns) < 3:
        return [list(columns)]
    name, *rest = columns
    groups = [[name]]
    for column in rest:
        if len(groups[-1]) > 1 and _widths([*groups[-1], column], width) is None:
            groups.append([name])
        groups[-1].append(column)
    return groups


def _widths(columns: Sequence[_Column], width: int, narrow: bool = False) -> list[int] | None:
    """Widths of the columns with the fewest lines of heading that fit; None if none fit."""
    for words_narrow in (True,) if narrow else (False, True):
        for lines in range(1, MOST_HEAD_LINES + 1):
            widths = [column.width(lines, words_narrow) for column in columns]
            room = width - sum(widths) - len(BETWEEN) * (len(widths) - 1)
            if room >= 0:
                return _grown(columns, widths, room) if words_narrow else widths
    return None


def _grown(columns: Sequence[_Column], widths: list[int], room: int) -> list[int]:
    """Widths of narrow columns with the columns left over given to those that need them, the first one first."""
    wanted = [max(own, column.width(MOST_HEAD_LINES, False)) for own, column in zip(widths, columns, strict=True)]
    first = min(room, wanted[0] - widths[0])
    grown, room = [widths[0] + first, *widths[1:]], room - first
    while room > 0 and (short := [k for k, own in enumerate(grown) if own < wanted[k]]):
        grown[min(short, key=grown.__getitem__)] += 1
        room -= 1
    return grown


def _laid_out(columns: Sequence[_Column], width: int, narrow: bool) -> list[str]:
    widths = _widths(columns, width, narrow) or [column.width(MOST_HEAD_LINES, True) for column in columns]
    heads = [_wrapped(column.heading, own) or [""] for column, own in zip(columns, widths, strict=True)]
    deepest = max(map(len, heads))
    heads = [[*[""] * (deepest - len(head)), *head] for head in heads]
    lines = [[head[k] for head in heads] for k in range(deepest)]
    lines.append(["-" * own for own in widths])
    bodies = [column.rows(own) for column, own in zip(columns, widths, strict=True)]
    for k in range(len(bodies[0])):
        cells = [body[k] for body in bodies]
        lines += [[cell[n] if n < len(cell) else "" for cell in cells] for n in range(max(map(len, cells)))]
    return [
        BETWEEN.join(
            _padded(cell, own, column.numeric) for cell, own, column in zip(line, widths, columns, strict=True)
        ).rstrip()
        for line in lines
    ]


def _plain(text: str) -> str:
    """Text on one line, with ordinary spaces."""
    return " ".join(printable(text.replace(THIN, " ").replace(GAP, " "), "\n\t").split())


def _width(text: str) -> int:
    """Width of a text in a terminal: two for a wide letter, none for a combining accent. [columns]"""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text
    )


def _narrowest(cell: str) -> int:
    """Width of a number; of words among numbers, as they wrap, that of the longest."""
    return max(map(_width, cell.split()), default=0) if any(map(str.isalpha, cell)) else _width(cell)


def _padded(text: str, width: int, right: bool) -> str:
    space = " " * max(width - _width(text), 0)
    return space + text if right else text + space


def _wrapped(text: str, width: int) -> list[str]:
    """Lines of words, filled from the last one; a word that is too long is broken."""
    lines: list[str] = []
    for word in text.split():
        if lines and _width(lines[-1]) + 1 + _width(word) <= width:
            lines[-1] += f" {word}"
            continue
        while _width(word) > width and len(word) > 1:
            head = next(k for k in range(len(word), 0, -1) if k == 1 or _width(word[:k]) <= width)
            lines.append(word[:head])
            word = word[head:]
        lines.append(word)
    return lines


def _cut(names: Sequence[str], width: int) -> list[str]:
    """Names cut to a width; in the middle if their beginnings are the same."""
    for cut in (_beginning, _ends):
        found = [name if _width(name) <= width else cut(name, width) for name in names]
        if len(set(found)) == len(set(names)):
            return found
    return [f"{k}: {_beginning(name, width - len(f'{k}: '))}" for k, name in enumerate(names, 1)]


def _beginning(name: str, width: int) -> str:
    while _width(name) > width - 1 and name:
        name = name[:-1]
    return f"{name}…"


def _ends(name: str, width: int) -> str:
    left = _beginning(name, (width + 1) // 2)
    right = name
    while _width(right) > width - _width(left) and right:
        right = right[1:]
    return left + right
