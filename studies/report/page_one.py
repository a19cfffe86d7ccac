"""What of the sheet to sign fits page one: rows that do not go to a table that continues it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from textwrap import wrap

from studies.answers.sheet_row import SheetRow

PAGE = 271.0
"""Height that the sheet may take by this reckoning, 4 to 25 mm above what is drawn; a page has 268 mm. [mm]"""
LINE, GAP = 2.95, 1.1
"""A line of a table in print, and the room between two rows. [mm]"""
TABLE_HEAD, NOTE_BELOW = 12.5, 7.0
"""Caption, headings and margins of a table; a second line of headings and the note of the verdicts. [mm]"""
PICTURE = 58.0
"""The drawing with its caption. [mm]"""
TITLE, SUBTITLE, SIGNATURES = 6.2, 17.0, 24.0
"""A line of the title; what stands between it and the first sentence; hash and signatures. [mm]"""
LEAD, LEAD_GAP, FACT, CAUTION = 4.65, 0.7, 3.2, 3.05
"""Lines of leading sentences and the room between these, lines of the title block and of cautions. [mm]"""
WIDTHS = {"title": 58, "lead": 105, "facts": 115, "caution": 60}
"""Characters on a line; cautions in two columns."""
ACROSS, BETWEEN = 142, 2
"""Characters across the page in a table, and those between two columns."""
LEAST = {"value": 24, "beyond": 30}
"""Characters that the style of the page gives columns of the tables at least, where it says so."""


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
    fixed += sum(LEAD * _lines(lead, "lead") + LEAD_GAP for lead in leads)
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
    judged = [(row.of, row.value, row.limit, _margin(row), row.verdict, row.beyond, "1.1") for row in split.judged]
    others = [(row.of, row.value, row.beyond, "1.1") for row in split.others]
    heights = [
        _row_heights(judged, (0, LEAST["value"], 0, 0, 0, LEAST["beyond"], 0)),
        _row_heights(others, (0, LEAST["value"], 0, 0)),
        [LINE + GAP] * circuits if split.with_circuits else [],
    ]
    return sum(TABLE_HEAD + sum(own) for own in heights if own) + (NOTE_BELOW if judged else 0.0)


def _margin(row: SheetRow) -> str:
    return row.margin if isinstance(row.margin, str) else "+100 %"


def _row_heights(rows: Sequence[Sequence[str | None]], least: Sequence[int]) -> list[float]:
    """Heights of the rows of a table whose columns share its width as a browser shares it. [mm]

    Each column has its longest word, or `least`; what is left goes by what each lacks to write its longest cell on one
    line.
    """
    if not rows:
        return []
    columns = [[cell or "" for cell in column] for column in zip(*rows, strict=True)]
    words = [max((len(word) for cell in column for word in cell.split()), default=0) for column in columns]
    narrow = [max(word, given) for word, given in zip(words, least, strict=True)]
    wanted = [max(len(cell) for cell in column) for column in columns]
    lacking = [max(want - have, 0) for want, have in zip(wanted, narrow, strict=True)]
    free = max(ACROSS - BETWEEN * len(columns) - sum(narrow), 0)
    share = min(free / sum(lacking), 1.0) if sum(lacking) else 0.0
    widths = [int(have + share * lack) for have, lack in zip(narrow, lacking, strict=True)]
    return [
        GAP + LINE * max(len(wrap(cell or "", width)) or 1 for cell, width in zip(row, widths, strict=True) if width)
        for row in rows
    ]


def _lines(text: str, width: str) -> int:
    return _rounds(text, WIDTHS[width])


def _rounds(text: str, width: float) -> int:
    """Lines that a text takes in a width of so many characters."""
    return math.ceil(len(text) / width)
