"""The table of remedies, and its sentences."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.figure_names import with_net_currents
from studies.answers.remedies.rows import RemedyResult
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import value_with_error
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, METRE

VERDICTS: dict[bool | None, str] = {True: "within the limit", False: "above the limit", None: "–"}
TONES: dict[bool | None, Tone] = {True: "good", False: "bad", None: ""}
NOTHING = "not asked of any place: none is above its limit on the straight run"
NONE_MEETS = "none of the {} remedies that were considered"
BEYOND = "permitted current of another laying or bonding"
ANCHOR = "remedies"
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
    caption = f"What would meet the limit{with_net_currents(result)}"
    note = f"{NOTE} That order is sought without net currents." if result.study.has_net_currents() else NOTE
    return Table(caption, columns, result.remedies, note, units=result_units(result))


def remedy_rows(result: Answers) -> list[SheetRow]:
    """What meets each limit that is exceeded, and the line of that with the least losses, on the sheet to sign."""
    if result.study.remedies is None:
        return []
    if not result.remedies:
        return [SheetRow("What would meet the limits", NOTHING, section=ANCHOR)]
    return [_row(result, place) for place in dict.fromkeys(row.place for row in result.remedies)]


def _row(result: Answers, place: str) -> SheetRow:
    solved = [row for row in result.remedies if row.place == place]
    meet = [row for row in solved if row.within_limit]
    value = NONE_MEETS.format(len(solved))
    if meet:
        least = min(meet, key=lambda row: row.loss_w_per_m or 0.0)
        field = value_with_error(
            least.b_rms_t or 0.0, least.b_rms_error_t or 0.0, result_units(result).of(FLUX_DENSITY)
        )
        value = (
            f"{', '.join(row.remedy for row in meet)}; of least losses: {least.remedy}, {field}, "
            f"by the line {'; '.join(least.lines)}"
        )
    return SheetRow(f"What would meet the limit at “{place}”", value, beyond=BEYOND, section=ANCHOR)


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
    blocks: list[Block] = [remedy_table(result)] if result.remedies else [Text((f"{NOTHING}.",))]
    return Section("What would meet the limit", ANCHOR, tuple(blocks))
