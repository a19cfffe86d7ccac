"""A comparison as a table and a few sentences for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from studies.compare.criteria import FIELD, LOSS, Aspect, aspects, parts_of_loss
from studies.compare.selection import grid_note, shown_rows
from studies.compare.table import Comparison, Row
from studies.compare.words import findings

MOST_ROWS = 30
"""Most cases that the table lists."""
LONGEST_NAME = 40
"""Longest name of a case in the table. [characters]"""
HEAD_WIDTH = 9
"""Width at which the words above a column are broken. [characters]"""
LINE_WIDTH = 118
"""Width at which the sentences are broken. [characters]"""


def summary(comparison: Comparison) -> str:
    """The cases with what they are judged by as far as they differ in it, and which is best at what."""
    everything = comparison.solved
    rows = shown_rows(everything, MOST_ROWS)
    shown = [aspect for aspect in aspects(everything) if aspect.differs or aspect.noun in (FIELD, LOSS)]
    loss = next((k for k, aspect in enumerate(shown) if aspect.noun == LOSS), len(shown))
    shown[loss:loss] = parts_of_loss(everything)
    columns = [_name_column(rows)]
    picked = [everything.index(row) for row in rows]
    for aspect in shown:
        columns.append([_head(aspect), *(aspect.number(k) for k in picked)])
        if aspect.noun == FIELD and len(set(aspect.places)) > 1:
            columns.append(["at", *(aspect.places[k] for k in picked)])
    columns.append(["clear gaps\nkept", *(row.entry("spacing_rules_met").place for row in rows)])
    words = {k for k, column in enumerate(columns) if not _is_number_column(column)}
    table = _aligned(columns, words)
    title = f"{comparison.base.title}: {len(everything)} cases"
    if len(rows) < len(everything):
        title += f", of which {len(rows)} are listed, the best among them; the files hold all"
    if note := grid_note(comparison, rows):
        title += f"\n({note})"
    sentences = [
        textwrap.fill(line, LINE_WIDTH, initial_indent="- ", subsequent_indent="  ") for line in findings(comparison)
    ]
    return "\n".join([title, "", *table, "", *sentences])


def _name_column(rows: Sequence[Row]) -> list[str]:
    labels = [row.brief for row in rows]
    return ["case", *(name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "…" for name in labels)]


def _head(aspect: Aspect) -> str:
    words, _, unit = aspect.heading.partition(" (")
    lines = textwrap.wrap(words, HEAD_WIDTH, break_long_words=False)
    return "\n".join([*lines, unit.removesuffix(")")] if unit else lines)


def _is_number_column(column: list[str]) -> bool:
    return any(cell[:1].isdigit() for cell in column[1:]) and column[0] not in ("case", "at")


def _aligned(columns: list[list[str]], words: set[int]) -> list[str]:
    """The lines of a table with its headings set above the columns, the last line of each just above the numbers."""
    heads = [column[0].split("\n") for column in columns]
    height = max(map(len, heads))
    padded = [[*[""] * (height - len(head)), *head] for head in heads]
    widths = [max(map(len, (*head, *column[1:]))) for head, column in zip(padded, columns, strict=True)]
    lines = [[head[line] for head in padded] for line in range(height)]
    lines.append(["-" * width for width in widths])
    lines += [[column[row] for column in columns] for row in range(1, len(columns[0]))]
    return [
        "  ".join(
            cell.ljust(width) if k in words else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    ]
