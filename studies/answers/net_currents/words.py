"""Net currents in words: tables, sentences, rows of the sheet to sign."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from studies.answers.answers import Answers
from studies.answers.net_currents.rows import NetCurrentResult, NetDistanceResult, NetFieldResult, NetLossResult
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.study.net_currents import EARTH, FAR_AWAY
from studies.text.blocks import Block, Caution, First, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import DIFFERENCE, fixed, per_cent, plain, stated, value_with_error, with_unit
from studies.text.table import Column, Table, difference_column
from studies.text.units import AMPERE, FLUX_DENSITY, LENGTH, LOSS_PER_LENGTH, METRE, unit_for

BEYOND = "the net current itself, harmonics of it that are not stated, bends and ends"
HIGHEST = {"receptor": "Field at", "zone": "Highest field in", "traverse": "Highest field along"}
WITHIN, ABOVE, UNSURE = "within the limit", "above the limit", "limit within the error"
NOTE = (
    "Without: of the phase currents as stated. Alone: of the net currents. With: both; where no angle is stated, at "
    "the worst one, which each place has for itself and the table shows, counted as those of the phase currents. "
    "Formula: line currents at the conductor axes, a return in metal as a line in its middle, no tray, no screens. "
    f"Difference: {DIFFERENCE}. Other tables are without net currents unless they say otherwise."
)
DISTANCE_NOTE = (
    "In any direction, from the outline of all cables and metal, at the worst angle of each point if none is stated. "
    "The field of a net current that returns far away falls with the distance alone, that of balanced currents with "
    "its square."
)
LOSS_NOTE = (
    "Each at its own worst angle, where an angle is not stated. Without the loss in the earth. Steel that saturates "
    "keeps the permeability that it has under the phase currents."
)
TOUCH = (
    "A net current flows in {names}. A joint or bond that is opened there can bear a dangerous voltage and spark: find "
    "the connection that causes the current, and isolate as the local code asks before any work."
)


def net_current_words(result: Answers) -> tuple[str, ...]:
    """Each net current with its size, conductors, return and angle."""
    found = result.net_currents
    currents = () if found is None else found.currents
    several = len({row.frequency_hz for row in currents}) > 1
    return tuple(_taken(row, f" at {row.frequency_hz:g}\u202fHz" if several else "") for row in currents)


def _taken(row: NetCurrentResult, at: str) -> str:
    size = with_unit(row.current_a, (AMPERE,)) + at
    if row.share is not None:
        size += f" ({per_cent(row.share, signed=False)} of the largest phase current)"
    where = "carried by N" if row.carried_by == ("N",) else f"carried in step by {', '.join(row.carried_by)}"
    back = {EARTH: "through the earth", FAR_AWAY: "far away"}.get(row.returns_in, f"in {row.returns_in}")
    angle = "worst of each number" if row.angle_rad is None else degrees(row.angle_rad)
    return f"Net current of {row.circuit}: {size}, {where}, back {back}; angle: {angle}."


def degrees(angle: float) -> str:
    """An angle in whole degrees."""
    return f"{fixed(round(math.degrees(angle)), 0)}°"


def _angles(row: NetFieldResult | NetLossResult) -> str:
    return ", ".join(degrees(angle) for angle in row.angles_rad)


def net_field_table(result: Answers) -> Table[NetFieldResult]:
    """Field at each place without and with net currents."""
    found = result.net_currents
    columns: tuple[Column[NetFieldResult], ...] = (
        Column("Place", lambda r: r.place, brief=True),
        Column("Without", lambda r: r.b_without_rms_t, FLUX_DENSITY, lambda r: r.b_without_rms_error_t, brief=True),
        Column("Alone", lambda r: r.net_b_rms_t, FLUX_DENSITY, brief=True),
        Column("With", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Angle", _angles),
        Column("Formula", lambda r: r.line_formula_b_rms_t, FLUX_DENSITY),
        difference_column(lambda r: r.line_formula_b_rms_t, lambda r: r.b_rms_t),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True, optional=True),
        Column("Verdict", _verdict, tone=_tone, brief=True, optional=True),
    )
    rows = () if found is None else found.fields
    return Table("Flux density with net currents, rms", columns, rows, NOTE, units=result_units(result))


def net_distance_table(result: Answers) -> Table[NetDistanceResult]:
    """How far each limit reaches without and with net currents."""
    found = result.net_currents
    columns: tuple[Column[NetDistanceResult], ...] = (
        Column("Limit", lambda r: _limit(result, r), brief=True),
        Column("Of", lambda r: ", ".join(r.of), brief=True),
        Column("Without", lambda r: _away(r.without_state, r.without_from_outline_m), METRE, brief=True),
        Column("With", lambda r: _away(r.state, r.from_outline_m), METRE, lambda r: r.error_m, brief=True),
    )
    rows = () if found is None else found.distances
    return Table("Largest distances beyond which the limits are met, with net currents", columns, rows, DISTANCE_NOTE)


def _limit(result: Answers, row: NetDistanceResult) -> str:
    return row.limit_name or stated(row.limit_t, result_units(result).of(FLUX_DENSITY, [row.limit_t]))


def _away(state: str, distance: float | None) -> float | str | None:
    return state if distance is None else distance


def net_loss_table(result: Answers) -> Table[NetLossResult]:
    """Loss of metal and of all parts without and with net currents."""
    found = result.net_currents
    columns: tuple[Column[NetLossResult], ...] = (
        Column("Part", lambda r: r.part, brief=True),
        Column(
            *("Without", lambda r: r.loss_without_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_without_error_w_per_m),
            brief=True,
        ),
        Column("With", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m, brief=True),
        Column("Angle", _angles),
    )
    rows = () if found is None else found.losses
    return Table("Loss with net currents", columns, rows, LOSS_NOTE, units=result_units(result))


def _share(row: NetFieldResult) -> tuple[float, float] | None:
    """Field over limit or the exposure index, and with its error; None without a verdict. [-]"""
    if row.within_limit is None or not row.limit_t:
        return None
    if row.exposure_index is not None:
        return row.exposure_index, row.exposure_index + (row.exposure_error or 0.0)
    return row.b_rms_t / row.limit_t, (row.b_rms_t + row.b_rms_error_t) / row.limit_t


def _verdict(row: NetFieldResult) -> str | None:
    """Whether the field with net currents is within its limit, in words; None without a verdict."""
    share = _share(row)
    return None if share is None else WITHIN if row.within_limit else ABOVE if share[0] > 1 else UNSURE


def _tone(row: NetFieldResult) -> Tone:
    return "" if row.within_limit is None else "good" if row.within_limit else "bad"


def net_current_section(result: Answers, _: Mapping[str, bytes]) -> Section | None:
    """What flows, both tables, and the caution on metal that carries it; None without a net current."""
    if result.net_currents is None:
        return None
    blocks: list[Block] = [Text(net_current_words(result)), *net_current_tables(result)]
    if lines := metal_return_lines(result):
        blocks.append(Caution("Net current in metal", lines))
    return Section("Net currents", "net-currents", tuple(blocks))


NetTables = Sequence[Table[NetFieldResult] | Table[NetDistanceResult] | Table[NetLossResult]]


def net_current_tables(result: Answers) -> NetTables:
    """Those with rows."""
    tables: NetTables = (net_field_table(result), net_distance_table(result), net_loss_table(result))
    return [table for table in tables if table.rows]


def net_current_rows(result: Answers) -> list[SheetRow]:
    """Each place with net currents on the sheet to sign, and the loss of all parts."""
    found = result.net_currents
    if found is None:
        return []
    rows = [_row(result, row) for row in found.fields]
    for reach in found.distances:
        value = reach.state
        if reach.from_outline_m is not None:
            unit = unit_for(reach.from_outline_m, LENGTH)
            value = f"{value_with_error(reach.from_outline_m, reach.error_m or 0.0, unit)} from the outline"
        own = f"Distance beyond which {_limit(result, reach)} is met with net currents"
        rows.append(SheetRow(own, value, beyond=BEYOND, section="net-currents"))
    if found.losses:
        last = found.losses[-1]
        unit = result_units(result).of(LOSS_PER_LENGTH, [last.loss_w_per_m])
        value = value_with_error(last.loss_w_per_m, last.loss_error_w_per_m, unit)
        rows.append(SheetRow("Loss of all parts with net currents", value, beyond=BEYOND, section="net-currents"))
    return rows


def _row(result: Answers, row: NetFieldResult) -> SheetRow:
    unit = result_units(result).of(FLUX_DENSITY, [row.b_rms_t])
    value = value_with_error(row.b_rms_t, row.b_rms_error_t, unit)
    limit, margin, share = None, None, _share(row)
    if row.limit_t is not None:
        limit = stated(row.limit_t, unit) + (f", {row.limit_name}" if row.limit_name is not None else "")
    if share is not None:
        of, worst = share
        margin = 1 - worst if worst <= 1 else _times(of, worst)
    highest = HIGHEST[row.kind]
    own = f"{highest} “{row.place}” with net currents"
    return SheetRow(own, value, limit, margin, _verdict(row), _tone(row), BEYOND, "net-currents")


def net_current_verdicts(result: Answers) -> tuple[str, ...]:
    """The places that net currents alone take above their limit, and the worst place, at the head of the report."""
    fields = () if result.net_currents is None else result.net_currents.fields
    above = [f"“{row.place}”" for row in fields if row.taken_above]
    turned = f"Within the limit without net currents, above it with them: {', '.join(above)}."
    lines: list[str] = [First(turned)] if above else []
    shares = {row.place: share for row in fields if (share := _share(row)) is not None}
    if shares:
        place = max(shares, key=lambda own: shares[own][1])
        of, worst = shares[place]
        left = f"least margin is {per_cent(1 - worst, signed=False)} of the limit, at “{place}”"
        told = left if worst <= 1 else f"worst is “{place}”: the field is {_times(of, worst)}"
        said = f"With net currents the {told}."
        lines.append(said if worst <= 1 else First(said))
    return tuple(lines)


def _times(of: float, worst: float) -> str:
    """Multiples of the limit; with the error if the field alone is not above it."""
    return f"{plain(of)} times the limit" if of > 1 else f"up to {plain(worst, 5)} times the limit"


def metal_return_lines(result: Answers) -> tuple[str, ...]:
    """The caution on metal that carries a net current."""
    found = () if result.net_currents is None else result.net_currents.currents
    names = dict.fromkeys(row.returns_in for row in found if row.returns_in not in (EARTH, FAR_AWAY) and row.current_a)
    return (TOUCH.format(names=", ".join(names)),) if names else ()
