"""The sheet to sign of a comparison: which cases keep every limit, their cross-sections, cautions, signatures."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.compare.comparison import CaseRow, Comparison
from studies.compare.criteria import LEAST_SHARE, ROUNDED_AWAY, units_of
from studies.compare.limits import WORST, keeps_limits, limits_first
from studies.compare.words import limit_line
from studies.report.sheet import identity_of, signatures_of, title_block_of
from studies.text.blocks import Block, Caution, Figure, Section, Text
from studies.text.grid import Tone
from studies.text.table import Column, Table
from studies.text.units import LOSS_PER_LENGTH, NUMBER, PER_CENT

MOST_LISTED = 14
"""Cases that the sheet lists; the tables of the report hold all."""
KEPT: Mapping[bool | None, tuple[str, Tone]] = {
    True: ("keeps every limit", "good"),
    False: ("above a limit", "bad"),
    None: ("no limit judged", ""),
}
DRAWN = (
    "The cross-sections on one scale, with the contours of the limits: outside such a contour the limit is met. "
    "Contours that end at an edge go on beyond it. Below its name each cross-section is enlarged, all alike."
)
NOTE = (
    "Worst field over its limit: of all receptors and zones, at most 1 with its ± where every limit is kept. ±: "
    "numerical error alone."
)


def comparison_sheet(comparison: Comparison, picture: bytes | None, cautions: tuple[str, ...]) -> Section:
    """Page one: everything that a signature under a comparison needs."""
    rows = limits_first(comparison.solved)
    shown = rows[:MOST_LISTED]
    facts = title_block_of(comparison.base)
    blocks: list[Block] = [facts] if facts.entries else []
    blocks.append(Text(_lead(comparison, len(rows) - len(shown)), "lead"))
    if shown:
        units = units_of(comparison.solved)
        blocks.append(Table("Verdicts of the cases", _columns(comparison), shown, NOTE, units=units))
    if picture is not None:
        blocks.append(Figure(DRAWN, "Cross-sections of the cases with the contours of their limits.", picture))
    blocks += [
        Caution("Cautions: before anybody builds from this", cautions),
        identity_of(comparison.base, comparison.versions),
        signatures_of(comparison.base),
    ]
    return Section("Sheet to sign", "sheet", tuple(blocks), is_sheet=True)


def _lead(comparison: Comparison, left_out: int) -> tuple[str, ...]:
    lines = [limit_line(comparison.solved)] if comparison.solved else ["No case has numbers."]
    if comparison.failed:
        lines.append(f"{len(comparison.failed)} of {len(comparison.rows)} cases failed and are not compared.")
    if left_out:
        lines.append(f"{left_out} more cases stand in the tables below.")
    return tuple(line for line in lines if line)


def _columns(comparison: Comparison) -> tuple[Column[CaseRow], ...]:
    def measure(row: CaseRow, name: str) -> float | None:
        value = row.entry(name).value
        return None if value is None else float(value)

    def error(row: CaseRow, name: str) -> float | None:
        return row.entry(name).error

    return (
        Column("Case", lambda row: row.label, target=lambda row: row.report),
        Column("Verdict", lambda row: KEPT[keeps_limits(row)][0], tone=lambda row: KEPT[keeps_limits(row)][1]),
        Column("Worst field over its limit", partial(measure, name=WORST), NUMBER, partial(error, name=WORST)),
        Column("At", lambda row: row.entry(WORST).place or None),
        Column(
            "Total loss",
            partial(measure, name="total_loss_w_per_m"),
            LOSS_PER_LENGTH,
            partial(error, name="total_loss_w_per_m"),
        ),
        Column("V2/V1, worst circuit", _unbalance, PER_CENT, digits=3),
        Column("Clear gaps kept", lambda row: row.entry("spacing_rules_met").place or None),
    )


def _unbalance(row: CaseRow) -> float | str | None:
    """The largest of the circuits; words for what rounding alone leaves."""
    numbers = {} if row.measured is None else row.measured.numbers
    values = [one.value for name, one in numbers.items() if name.startswith("u2_over_u1") and one.value is not None]
    largest = max(map(float, values), default=None)
    return ROUNDED_AWAY if largest is not None and largest < LEAST_SHARE / 2 else largest
