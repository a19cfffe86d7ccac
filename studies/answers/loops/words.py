"""Induced voltages: tables, sentences and rows of the sheet to sign."""

from __future__ import annotations

from dataclasses import dataclass

from studies.answers.answers import Answers
from studies.answers.figure_names import with_net_currents
from studies.answers.loops.rows import LoopComponent, LoopResult
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Caution, First, Section
from studies.text.grid import Tone
from studies.text.numbers import DIFFERENCE, plain, stated, value_with_error, with_unit
from studies.text.table import Column, Table, difference_column
from studies.text.units import HERTZ, METRE, VOLTAGE, VOLTAGE_PER_LENGTH, unit_for

TOUCH_LIMIT = 50.0
"""Alternating voltage above which a part within reach must be guarded, usual limit of IEC 60364-4-41. [M] [V]"""
BEYOND = "bends and ends, {}capacitive coupling, screen of the loop"
NOTE = (
    "Per metre: open-circuit rms voltage along one wire and back along the other, not twisted, over all frequencies; "
    "from the difference of the vector potential, with trays and screens in place. In all: times the length; of "
    "twisted wires the most that part of one turn leaves, as whole turns cancel. Formula: logarithms of "
    "the distances from line currents at the conductor axes, without trays and screens. A short circuit raises the "
    f"voltage as its current. An uneven twist leaves more. Difference: {DIFFERENCE}."
)
SPECTRUM_NOTE = "Rms at each frequency, not twisted per metre. The loop above has the root of the sum of squares."
TOUCH = (
    "The voltage of {names} is above {limit} V: an open end can be dangerous to touch, and a short circuit of the "
    "feeder raises it further. Earth or guard it as the local code asks."
)


@dataclass(frozen=True)
class AtFrequency:
    """A loop at one frequency."""

    loop: LoopResult
    at: LoopComponent


def loop_table(result: Answers) -> Table[LoopResult]:
    """The induced voltage of each loop."""
    columns: tuple[Column[LoopResult], ...] = (
        Column("Loop", lambda r: r.name, brief=True),
        Column("Length", lambda r: r.length_m, METRE, digits=3, optional=True),
        Column("Lay length", lambda r: r.lay_length_m, METRE, digits=3, optional=True),
        Column("Per metre", lambda r: r.u_v_per_m, VOLTAGE_PER_LENGTH, lambda r: r.u_error_v_per_m, brief=True),
        Column("Formula", lambda r: r.formula_u_v_per_m, VOLTAGE_PER_LENGTH, brief=True),
        difference_column(lambda r: r.formula_u_v_per_m, lambda r: r.u_v_per_m),
        Column("In all", lambda r: r.voltage_v, VOLTAGE, lambda r: r.voltage_error_v, brief=True, optional=True),
        Column("Without twist", lambda r: r.untwisted_voltage_v, VOLTAGE, optional=True),
        Column("Limit", lambda r: r.limit_v, VOLTAGE, stated=True, brief=True, optional=True),
        Column("Verdict", _verdict, tone=_tone, brief=True, optional=True),
    )
    return Table(f"Induced voltages{with_net_currents(result)}", columns, result.loops, NOTE)


def voltage_spectrum_table(result: Answers) -> Table[AtFrequency]:
    """The same at each frequency."""
    rows = [AtFrequency(row, at) for row in result.loops for at in row.spectrum]
    columns: tuple[Column[AtFrequency], ...] = (
        Column("Loop", lambda r: r.loop.name),
        Column("Frequency", lambda r: r.at.frequency_hz, HERTZ, stated=True),
        Column("Per metre", lambda r: r.at.u_v_per_m, VOLTAGE_PER_LENGTH, lambda r: r.at.u_error_v_per_m),
        Column("Formula", lambda r: r.at.formula_u_v_per_m, VOLTAGE_PER_LENGTH),
        difference_column(lambda r: r.at.formula_u_v_per_m, lambda r: r.at.u_v_per_m),
        Column("In all", lambda r: r.at.voltage_v, VOLTAGE, optional=True),
    )
    return Table(f"Induced voltages by frequency{with_net_currents(result)}", columns, rows, SPECTRUM_NOTE)


def _verdict(row: LoopResult) -> str | None:
    """Whether the voltage of a loop is within its limit, in words; None without a limit."""
    if row.limit_v is None or row.voltage_v is None:
        return None
    if row.within_limit:
        return "within the limit"
    return "above the limit" if row.voltage_v > row.limit_v else "limit within the error"


def _tone(row: LoopResult) -> Tone:
    """How the verdict stands out."""
    return "" if row.within_limit is None else "good" if row.within_limit else "bad"


def loop_section(result: Answers) -> Section | None:
    """Tables and caution; None without a loop."""
    if not result.loops:
        return None
    blocks: list[Block] = [loop_table(result)]
    if any(len(row.spectrum) > 1 for row in result.loops):
        blocks.append(voltage_spectrum_table(result))
    if lines := touch_lines(result):
        blocks.append(Caution("Touch voltage", lines))
    return Section("Induced voltages", "loops", tuple(blocks))


def loop_rows(result: Answers) -> list[SheetRow]:
    """Each loop on the sheet to sign: the voltage in all, or the one per metre without a length."""
    return [_row(row, with_net_currents(result)) for row in result.loops]


def _row(row: LoopResult, net: str) -> SheetRow:
    beyond = BEYOND.format("" if net else "net current of the feeder, ")
    if row.voltage_v is None:
        unit = unit_for(row.u_v_per_m, VOLTAGE_PER_LENGTH)
        value = value_with_error(row.u_v_per_m, row.u_error_v_per_m, unit)
        return SheetRow(f"Induced voltage per metre of “{row.name}”{net}", value, beyond=beyond, section="loops")
    unit, error = unit_for(row.voltage_v, VOLTAGE), row.voltage_error_v or 0.0
    value, limit, margin = value_with_error(row.voltage_v, error, unit), None, None
    if row.limit_v is not None:
        limit = stated(row.limit_v, unit_for(row.limit_v, VOLTAGE))
        margin = _margin(row, row.limit_v)
    of = f"Induced voltage of “{row.name}”{net}"
    if row.untwisted_voltage_v is not None:
        whole = row.untwisted_voltage_v
        value += f" with an ideal twist, {with_unit(whole, VOLTAGE)} without"
        beyond = f"uneven twist, {beyond}"
    return SheetRow(of, value, limit, margin, _verdict(row), _tone(row), beyond, "loops")


def _margin(row: LoopResult, limit: float) -> float | str:
    """Remainder to the limit after voltage and error, over it [-], or the multiple of the limit in words."""
    share, worst = (row.voltage_v or 0.0) / limit, ((row.voltage_v or 0.0) + (row.voltage_error_v or 0.0)) / limit
    if worst <= 1:
        return 1 - worst
    return f"{plain(share)} times the limit" if share > 1 else f"up to {plain(worst, 5)} times the limit"


def touch_lines(result: Answers) -> tuple[str, ...]:
    """The caution on loops whose voltage can be dangerous to touch."""
    high = [f"“{row.name}”" for row in result.loops if (row.voltage_v or 0.0) > TOUCH_LIMIT]
    return (TOUCH.format(names=", ".join(high), limit=f"{TOUCH_LIMIT:g}"),) if high else ()


def limit_lines(result: Answers) -> tuple[str, ...]:
    """The loops above their limit, at the head of the report."""
    above = [f"“{row.name}”" for row in result.loops if row.within_limit is False]
    return (First(f"Induced voltage above its limit: {', '.join(above)}."),) if above else ()
