"""What of the sheet to sign fits page one: rows that do not go to a table that continues it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from studies.answers.sheet_row import SheetRow

PAGE = 270.0
"""Height that rows may take by this reckoning, which is 10 to 16 mm above what is drawn; a page has 268 mm. [mm]"""
LINE, GAP = 2.95, 1.1
"""A line of a table in print, and the room between two rows. [mm]"""
TABLE_HEAD = 12.5
"""Caption, headings and margins of a table. [mm]"""
PICTURE = 58.0
"""The drawing with its caption. [mm]"""
TITLE, SUBTITLE, SIGNATURES = 6.2, 17.0, 24.0
"""A line of the title; what stands between it and the first sentence; hash and signatures. [mm]"""
LEAD, FACT, CAUTION = 4.6, 3.2, 3.05
"""Lines of leading sentences, of the title block and of cautions. [mm]"""
WIDTHS = {"title": 58, "lead": 105, "facts": 115, "caution": 60, "wide": 40}
"""Characters on a line; cautions in two columns; wide: asked and not covered of answers without a limit."""
ACROSS, FIXED = 148, 28
"""Characters across the page in a table, and those that spaces between columns and numbers of sections take."""
SHARES = {"of": 0.25, "verdict": 0.16, "beyond": 0.5}
"""Of what values, limits and margins leave free, in the table of verdicts; the rest is lost where words break."""
LIMIT = 12
"""Characters of the column of limits, where long ones wrap."""


@dataclass(frozen=True)
class Split:
    """Rows of the sheet by the page on which they stand."""

    judged: Sequence[SheetRow]
    others: Sequence[SheetRow]
    judged_after: Sequence[SheetRow] = ()
    others_after: Sequence[SheetRow] = ()
    with_circuits: bool = True
    """Whether the table of circuits stands on page one; the drawing names currents and diameters in any case."""

    def count_after(self) -> int:
        """Rows that stand on the next page."""
        return len(self.judged_after) + len(self.others_after)


def split_rows(
    rows: Sequence[SheetRow],
    title: str,
    facts: Sequence[tuple[str, str]],
    leads: Sequence[str],
    cautions: Sequence[str],
    circuits: int,
) -> Split:
    """The rows on page one and those after it.

    Circuits go first, then answers without a limit from the last on, then verdicts that are good, the last first. A
    verdict that is not good and a caution stay on page one, whatever their number.

    rows: All rows of the sheet, in order.
    title, facts, leads, cautions: Words that stand on it.
    circuits: Rows of the table of circuits.
    """
    judged, others = [row for row in rows if row.is_judged], [row for row in rows if not row.is_judged]
    fixed = TITLE * _lines(title, "title") + SUBTITLE + PICTURE + SIGNATURES
    fixed += FACT * _lines("    ".join(f"{name} {value}" for name, value in facts), "facts")
    fixed += sum(LEAD * _lines(lead, "lead") for lead in leads)
    fixed += 7.0 + CAUTION * math.ceil(sum(_lines(line, "caution") for line in cautions) / 2 + 1)
    split = Split(judged, others)
    if _height(split, circuits) + fixed > PAGE:
        split = replace(split, with_circuits=False)
    while split.others and _height(split, circuits) + fixed > PAGE:
        *kept, last = split.others
        split = replace(split, others=kept, others_after=[last, *split.others_after])
    while _height(split, circuits) + fixed > PAGE and (good := [row for row in split.judged if row.tone == "good"]):
        last = good[-1]
        kept = [row for row in split.judged if row is not last]
        split = replace(split, judged=kept, judged_after=[last, *split.judged_after])
    return split


def _height(split: Split, circuits: int) -> float:
    """Height of the tables on page one. [mm]"""
    heights = [_judged_heights(split.judged), [_other_height(row) for row in split.others]]
    if split.with_circuits:
        heights.append([LINE + GAP] * circuits)
    return sum(TABLE_HEAD + sum(own) for own in heights if own)


def _judged_heights(rows: Sequence[SheetRow]) -> list[float]:
    """Heights of the rows of verdicts: values and margins stand on one line, all else wraps in what they leave. [mm]"""
    if not rows:
        return []
    value = max(len(row.value) for row in rows)
    margin = max(len(row.margin) if isinstance(row.margin, str) else 10 for row in rows)
    free = max(ACROSS - FIXED - LIMIT - value - margin, 40)
    return [
        GAP
        + LINE
        * max(
            _rounds(row.of, SHARES["of"] * free),
            _rounds(row.verdict or "", SHARES["verdict"] * free),
            _rounds(row.beyond or "", SHARES["beyond"] * free),
            _rounds(row.limit or "", LIMIT),
        )
        for row in rows
    ]


def _other_height(row: SheetRow) -> float:
    return GAP + LINE * max(_lines(row.of, "wide"), _lines(row.beyond or "", "wide"))


def _lines(text: str, width: str) -> int:
    return _rounds(text, WIDTHS[width])


def _rounds(text: str, width: float) -> int:
    """Lines that a text takes in a width of so many characters."""
    return math.ceil(len(text) / width)
