"""A table of words and numbers as text for a terminal, or as HTML for a notebook."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

Row = tuple[str, ...]
NUMBER = re.compile(r"[-+]?\d")
"""How a cell with a number begins."""


@dataclass(frozen=True)
class PlainTable:
    """Heads and rows of words."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def _numeric(table: PlainTable) -> list[bool]:
    """Columns in which any row begins with a number; the first column holds names."""
    return [k > 0 and any(NUMBER.match(row[k]) for row in table.rows) for k in range(len(table.head))]


def as_text(table: PlainTable) -> str:
    """Columns under their heads, words to the left and numbers to the right."""
    widths = [max(len(line[k]) for line in (table.head, *table.rows)) for k in range(len(table.head))]
    numbers = _numeric(table)
    lines = []
    for line in (table.head, tuple("-" * width for width in widths), *table.rows):
        cells = [
            cell.rjust(width) if number else cell.ljust(width)
            for cell, width, number in zip(line, widths, numbers, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def as_html(table: PlainTable) -> str:
    """The same as a table of HTML."""
    styles = [
        f' style="text-align: {"right" if number else "left"}; padding: 0.1em 0.6em"' for number in _numeric(table)
    ]

    def row(cells: Sequence[str], tag: str) -> str:
        entries = (f"<{tag}{style}>{escape(cell)}</{tag}>" for cell, style in zip(cells, styles, strict=True))
        return f"<tr>{''.join(entries)}</tr>"

    body = "".join(row(line, "td") for line in table.rows)
    return f"<table><thead>{row(table.head, 'th')}</thead><tbody>{body}</tbody></table>"
