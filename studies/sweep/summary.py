"""A comparison as a table and a few sentences for a terminal."""

from __future__ import annotations

from studies.sweep.aspects import aspects
from studies.sweep.table import Comparison
from studies.sweep.words import findings

MOST_ROWS = 40
"""Most cases that the table lists."""
LONGEST_NAME = 60
"""Longest name of a case in the table. [characters]"""


def summary(comparison: Comparison) -> str:
    """The cases with what they are judged by, and which is best at what."""
    rows = comparison.solved
    judged = aspects(rows)
    head = ["case", *(aspect.heading for aspect in judged), "spacing rules"]
    lines = [head, ["-" * len(cell) for cell in head]]
    for k, row in enumerate(rows[:MOST_ROWS]):
        name = row.name if len(row.name) <= LONGEST_NAME else row.name[: LONGEST_NAME - 1] + "…"
        numbers = [aspect.number(aspect.values[k]) for aspect in judged]
        lines.append([name, *numbers, "met" if row.number("spacing_rules_met") else "not met"])
    widths = [max(len(line[k]) for line in lines) for k in range(len(head))]
    table = [
        "  ".join(
            cell.rjust(width) if 0 < k <= len(judged) else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    ]
    if len(rows) > MOST_ROWS:
        table.append(f"and {len(rows) - MOST_ROWS} cases more, in the files")
    title = f"{comparison.base.title}: {len(rows)} cases"
    return "\n".join([title, "", *table, "", *findings(comparison)])
