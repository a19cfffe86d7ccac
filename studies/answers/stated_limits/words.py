"""Limits as stated: table, sentence and rows of the sheet to sign."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.figure_names import with_net_currents
from studies.answers.sheet_row import SheetRow
from studies.answers.stated_limits.rows import StatedLimitResult
from studies.study.stated_limits import RMS, WEIGHTED_PEAK
from studies.text.blocks import First, Section
from studies.text.grid import Tone
from studies.text.numbers import DIFFERENCE, plain, stated, value_with_error
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, NUMBER, unit_for

BEYOND = "bends and ends, laying, {}harmonics that are not stated"
NOTE = (
    "The field in the terms of its limit, in its band alone. Major axis: the worst direction. Peaks: "
    "of circuits with fundamentals of their own at the worst phase to each other, of harmonics at the worst or the "
    "stated phase. A sine along one line has a peak of √2 and a peak to peak of 2√2 times its rms. Weighted peak: each "
    "frequency over its reference level with the phase of the level's slope, largest sum over time (ICNIRP 2010, "
    "non-sinusoidal exposure [named]); of a field that turns, that of its major axis. Formula: line currents at the "
    f"conductor axes. Difference: {DIFFERENCE}."
)


def stated_limit_table(result: Answers) -> Table[StatedLimitResult]:
    """Each limit with the field in its terms."""
    columns: tuple[Column[StatedLimitResult], ...] = (
        Column("Limit of", lambda r: r.name, brief=True),
        Column("Receptor", lambda r: r.receptor),
        Column("Terms", terms, brief=True),
        Column("Field", lambda r: r.b_t, FLUX_DENSITY, lambda r: r.b_error_t, brief=True, optional=True),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True, optional=True),
        Column("Field/limit", lambda r: r.index, NUMBER, lambda r: r.index_error, brief=True),
        Column("Formula", lambda r: r.formula_index, NUMBER),
        difference_column(lambda r: r.formula_index, lambda r: r.index),
        Column("Verdict", _verdict, tone=_tone, brief=True),
    )
    note = (
        f"{NOTE} Net currents: at the worst angle of each row, or the stated one."
        if with_net_currents(result)
        else NOTE
    )
    return Table(f"Limits as stated{with_net_currents(result)}", columns, result.stated_limits, note)


def terms(row: StatedLimitResult) -> str:
    """Value, component and band of a limit, in words."""
    words = [row.value if row.value == WEIGHTED_PEAK else f"{row.value}, {row.component}"]
    if row.limit_name is not None:
        words.append(row.limit_name)
    if row.low_hz is not None and row.high_hz is not None:
        words.append(f"{row.low_hz:g} to {row.high_hz:g} Hz")
    if row.value != RMS:
        words.append(f"{row.phases} phases" if row.phases == "worst" else "phases as stated")
    return ", ".join(words)


def _verdict(row: StatedLimitResult) -> str:
    if row.within_limit:
        return "within the limit"
    return "above the limit" if row.index > 1 else "limit within the error"


def _tone(row: StatedLimitResult) -> Tone:
    return "good" if row.within_limit else "bad"


def stated_limit_section(result: Answers) -> Section | None:
    """The table; None without a stated limit."""
    if not result.stated_limits:
        return None
    return Section("Limits as stated", "stated-limits", (stated_limit_table(result),))


def stated_limit_rows(result: Answers) -> list[SheetRow]:
    """Each stated limit on the sheet to sign."""
    return [_row(row, with_net_currents(result)) for row in result.stated_limits]


def _row(row: StatedLimitResult, net: str) -> SheetRow:
    if row.b_t is None or row.limit_t is None:
        value, limit = value_with_error(row.index, row.index_error, NUMBER), "1"
    else:
        unit = unit_for(row.limit_t, FLUX_DENSITY)
        value, limit = value_with_error(row.b_t, row.b_error_t or 0.0, unit), stated(row.limit_t, unit)
    worst = row.index + row.index_error
    margin: float | str = 1 - worst
    if worst > 1:
        above = row.index > 1
        margin = f"{plain(row.index)} times the limit" if above else f"up to {plain(worst, 5)} times the limit"
    of, beyond = f"“{row.name}” at “{row.receptor}”: {terms(row)}{net}", BEYOND.format("" if net else "net current, ")
    return SheetRow(of, value, limit, margin, _verdict(row), _tone(row), beyond, "stated-limits")


def stated_limit_lines(result: Answers) -> tuple[str, ...]:
    """The limits that are not met, at the head of the report."""
    above = [f"“{row.name}”" for row in result.stated_limits if not row.within_limit]
    return (First(f"Above the limit in the terms in which it is stated: {', '.join(above)}."),) if above else ()
