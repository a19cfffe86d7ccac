"""The table of remedies, and its sentences."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.remedies.rows import RemedyResult
from studies.answers.result_units import result_units
from studies.text.blocks import Block, Section, Text
from studies.text.grid import Tone
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, METRE

VERDICTS: dict[bool | None, str] = {True: "within the limit", False: "above the limit", None: "–"}
TONES: dict[bool | None, Tone] = {True: "good", False: "bad", None: ""}
NOTHING = "Remedies: none is needed, as no receptor or zone that counts is above its limit."
NONE_MEETS = "No remedy that was solved meets the limit at {}."
NOTE = (
    "Each remedy is the study with this one change, solved to the asked accuracy; its verdict counts the error. "
    "Losses: of all parts per metre of run. A receptor moves along the line from the middle of all cables and metal; "
    "the limit is kept from there on. The best order is that of the lowest field, nothing else changed. A line goes "
    "into the table of the study file that stands before its colon. Steel is that of the study, the run is straight. "
    "Temperatures are not computed: another laying or bonding needs its own permitted current, by the code that holds."
)


def remedy_table(result: Answers) -> Table[RemedyResult]:
    """Every remedy with its field, its losses, what it makes worse and its line."""
    columns: tuple[Column[RemedyResult], ...] = (
        Column("At", lambda r: r.place, brief=True),
        Column("Remedy", lambda r: r.remedy, brief=True),
        Column("Moved by", lambda r: r.distance_m, METRE, digits=3, brief=True, optional=True),
        Column("Field", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True),
        Column("Verdict", lambda r: VERDICTS[r.within_limit], tone=lambda r: TONES[r.within_limit], brief=True),
        Column("Losses", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m, brief=True),
        Column("Change of losses", lambda r: r.loss_change_w_per_m, LOSS_PER_LENGTH),
        Column("But", lambda r: "; ".join(r.drawbacks) or None, brief=True),
        Column("Line for the study file", lambda r: "; ".join(r.lines) or None),
    )
    return Table("What would meet the limit", columns, result.remedies, NOTE, units=result_units(result))


def remedy_lines(result: Answers) -> tuple[str, ...]:
    """What meets each limit that is exceeded, as a note to the sheet."""
    if result.study.remedies is None:
        return ()
    if not result.remedies:
        return (NOTHING,)
    lines = []
    for place in dict.fromkeys(row.place for row in result.remedies):
        meet = [row.remedy for row in result.remedies if row.place == place and row.within_limit]
        what = f"What would meet the limit at “{place}”: {', '.join(meet)}."
        lines.append(what if meet else NONE_MEETS.format(f"“{place}”"))
    return tuple(lines)


def remedy_notes(result: Answers) -> tuple[str, ...]:
    """What to write into the study file for each remedy that meets a limit, for a terminal."""
    meet = [row for row in result.remedies if row.within_limit]
    return tuple(
        "\n".join((f"To have “{row.remedy}” for “{row.place}”, in the study file:", *map(_to_paste, row.lines)))
        for row in meet
    )


def _to_paste(line: str) -> str:
    """A line for the study file below a comment that names its table."""
    table, _, rest = line.partition(": ")
    return f"# in {table}\n{rest}"


def remedy_section(result: Answers) -> Section | None:
    """The table; None if it was not asked."""
    if result.study.remedies is None:
        return None
    blocks: list[Block] = [remedy_table(result)] if result.remedies else [Text((NOTHING,))]
    return Section("What would meet the limit", "remedies", tuple(blocks))
