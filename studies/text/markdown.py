"""A table as Markdown, with every column."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from studies.text.grid import Grid, Head, cell_text
from studies.text.printable import printable
from studies.text.table import Table, full_grid

MEANING = re.compile(r"([\\`*_{}\[\]<>#|~$&])")
"""Characters with a meaning in Markdown."""


def as_markdown(table: Table[Any] | Grid) -> str:
    """Caption, rows between bars with numbers aligned right, and the note."""
    grid = full_grid(table)
    parts = [
        f"**{escaped(grid.caption)}**" if grid.caption else "",
        "\n".join(
            [
                _line(_heading(column) for column in grid.columns),
                _line("---:" if column.numeric else "---" for column in grid.columns),
                *(_line(escaped(cell_text(cell)) for cell in row) for row in grid.rows),
            ]
        ),
        escaped(grid.note),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(column: Head) -> str:
    return escaped(f"{column.heading} ({column.unit_above})" if column.unit_above not in ("", "–") else column.heading)


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def escaped(text: str) -> str:
    """Text on one line, with the characters of Markdown escaped."""
    return MEANING.sub(r"\\\1", " ".join(printable(text, "\n\t").split(" ")).replace("\n", " ").replace("\t", " "))
