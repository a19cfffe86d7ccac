"""Direct currents in words: tables, sentences, rows of the sheet to sign."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers.answers import Answers
from studies.answers.direct_currents.rows import DirectConductorResult, DirectFieldResult
from studies.answers.sheet_row import SheetRow
from studies.data.static_levels import IMPLANTS
from studies.text.blocks import Block, Caution, First, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import DIFFERENCE, plain, stated, value_with_error, with_unit
from studies.text.table import Column, Table, difference_column
from studies.text.units import AMPERE, FLUX_DENSITY, LOSS_PER_LENGTH, unit_for

BEYOND = "the earth's field, magnetised steel, bends and ends"
NOTE = (
    "Of the direct currents alone, which static limits are for; alternating components stand against the limits of "
    "alternating fields. The earth's own field (25 to 65 µT) adds as a vector and is not in it. Where a current is "
    "switched or changes, the field changes by as much. Steel has the permeability stated, without remanence and "
    "saturation, which bring the field nearer to the formula; other metal does not change a static field. Formula: "
    f"line currents at the conductor axes, without steel. Difference: {DIFFERENCE}."
)
LOSS_NOTE = (
    "Direct: as many amperes in any part as its resistance lets flow; formula: current squared times resistance. "
    "Alternating: all frequencies. Total current: root of the sum of the squares. All other tables hold the "
    "alternating components alone."
)
IMPLANT = (
    "The static field at {names} is above {limit} mT: pacemakers and other implants may be disturbed there (ICNIRP "
    "2009, Directive 2013/35/EU [named]), and from a few millitesla on loose steel may be drawn in. Keep persons with "
    "implants away, and mark the place as the local code asks."
)


def direct_field_table(result: Answers) -> Table[DirectFieldResult]:
    """Static flux density at each place against its limit."""
    found = result.direct_currents
    columns: tuple[Column[DirectFieldResult], ...] = (
        Column("Place", lambda r: r.name, brief=True),
        Column("Static field", lambda r: r.b_t, FLUX_DENSITY, lambda r: r.b_error_t, brief=True),
        Column("Across", lambda r: r.bx_t, FLUX_DENSITY),
        Column("Up", lambda r: r.by_t, FLUX_DENSITY),
        Column("Formula", lambda r: r.line_formula_b_t, FLUX_DENSITY, brief=True),
        difference_column(lambda r: r.line_formula_b_t, lambda r: r.b_t),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True, optional=True),
        Column("Level", lambda r: r.limit_name, optional=True),
        Column("Verdict", _verdict, tone=_tone, brief=True, optional=True),
    )
    return Table("Static flux density of direct currents", columns, () if found is None else found.fields, NOTE)


def direct_loss_table(result: Answers) -> Table[DirectConductorResult]:
    """Currents and losses of conductors with a direct current."""
    found = result.direct_currents
    columns: tuple[Column[DirectConductorResult], ...] = (
        Column("Part", lambda r: r.part, brief=True),
        Column("Phase", lambda r: r.phase, brief=True),
        Column("Direct current", lambda r: r.direct_current_a, AMPERE, brief=True),
        Column("Alternating, rms", lambda r: r.current_rms_a, AMPERE),
        Column("Total, rms", lambda r: r.total_rms_a, AMPERE, brief=True),
        Column(
            *("Direct loss", lambda r: r.direct_loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.direct_loss_error_w_per_m),
            brief=True,
        ),
        Column("Formula", lambda r: r.formula_direct_loss_w_per_m, LOSS_PER_LENGTH),
        difference_column(lambda r: r.formula_direct_loss_w_per_m, lambda r: r.direct_loss_w_per_m),
        Column("Alternating loss", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH),
        Column(
            *("Total loss", lambda r: r.total_loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.total_loss_error_w_per_m),
            brief=True,
        ),
    )
    rows = () if found is None else found.conductors
    return Table("Currents and losses with direct currents", columns, rows, LOSS_NOTE)


def _verdict(row: DirectFieldResult) -> str | None:
    if row.limit_t is None:
        return None
    if row.within_limit:
        return "within the limit"
    return "above the limit" if row.b_t > row.limit_t else "limit within the error"


def _tone(row: DirectFieldResult) -> Tone:
    return "" if row.within_limit is None else "good" if row.within_limit else "bad"


def direct_current_lines(result: Answers) -> tuple[str, ...]:
    """What no table says: that the limits are apart, and a net current that returns far away."""
    found = result.direct_currents
    if found is None:
        return ()
    lines = ["Direct currents: their static field is judged apart, without the earth's own field."]
    if abs(found.net_direct_current_a) > 1e-6 * max(abs(row.direct_current_a or 0.0) for row in found.conductors):
        size = with_unit(found.net_direct_current_a, (AMPERE,))
        lines.append(f"Direct currents do not sum to zero: {size} are taken to return far away.")
    return tuple(lines)


def direct_current_section(result: Answers, _: Mapping[str, bytes]) -> Section | None:
    """Sentences, both tables and cautions; None without a direct current."""
    if result.direct_currents is None:
        return None
    blocks: list[Block] = [Text(direct_current_lines(result)), *direct_current_tables(result)]
    if lines := direct_current_alarms(result):
        blocks.append(Caution("Direct currents", lines))
    return Section("Direct currents", "direct-currents", tuple(blocks))


def direct_current_tables(result: Answers) -> Sequence[Table[DirectFieldResult] | Table[DirectConductorResult]]:
    """Those with rows."""
    return [table for table in (direct_field_table(result), direct_loss_table(result)) if table.rows]


def direct_current_verdicts(result: Answers) -> tuple[str, ...]:
    """The places with a static field above its limit, at the head of the report."""
    found = result.direct_currents
    above = [] if found is None else [f"“{row.name}”" for row in found.fields if row.within_limit is False]
    lines: list[str] = (
        [First(f"Static field of the direct currents above its limit: {', '.join(above)}.")] if above else []
    )
    bare = [] if found is None else [f"“{row.name}”" for row in found.fields if _rests_on_steel(row)]
    if bare:
        lines.append(f"Static field within its limit only if steel keeps its permeability: {', '.join(bare)}.")
    return tuple(lines)


def _rests_on_steel(row: DirectFieldResult) -> bool:
    return row.within_limit is True and row.line_formula_b_t > (row.limit_t or 0.0)


def direct_current_alarms(result: Answers) -> tuple[str, ...]:
    """Cautions on implants, and on conductors whose total current is beyond their area."""
    found = result.direct_currents
    if found is None:
        return ()
    high = [f"“{row.name}”" for row in found.fields if row.b_t + row.b_error_t > IMPLANTS]
    lines = [IMPLANT.format(names=", ".join(high), limit=f"{1e3 * IMPLANTS:g}")] if high else []
    return (*lines, *([found.doubt] if found.doubt else []))


def direct_current_rows(result: Answers) -> list[SheetRow]:
    """Each place and the loss of all parts on the sheet to sign."""
    found = result.direct_currents
    if found is None:
        return []
    total = found.conductors[-1]
    unit = unit_for(total.total_loss_w_per_m, LOSS_PER_LENGTH)
    value = value_with_error(total.total_loss_w_per_m, total.total_loss_error_w_per_m, unit)
    last = SheetRow("Loss of all parts with direct currents", value, section="direct-currents")
    return [*(_row(row) for row in found.fields), last]


def _row(row: DirectFieldResult) -> SheetRow:
    unit = unit_for(row.b_t, FLUX_DENSITY)
    limit: str | None = None
    margin: float | str | None = None
    if row.limit_t is not None:
        limit = stated(row.limit_t, unit_for(row.limit_t, FLUX_DENSITY))
        limit += f", {row.limit_name}" if row.limit_name is not None else ""
        worst = (row.b_t + row.b_error_t) / row.limit_t
        margin = 1 - worst if worst <= 1 else f"{plain(row.b_t / row.limit_t)} times the limit"
    of = f"{'Highest static field in' if row.kind == 'zone' else 'Static field at'} “{row.name}”"
    value = value_with_error(row.b_t, row.b_error_t, unit)
    return SheetRow(of, value, limit, margin, _verdict(row), _tone(row), BEYOND, "direct-currents")
