"""The report of a comparison: which case is better at what, the table, the trade-offs, and what the numbers mean."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from operator import itemgetter
from pathlib import PurePath

from studies.answers.cautions.words import ALWAYS, USUAL
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.criteria import trade_offs, units_of
from studies.compare.limits import limits_first
from studies.compare.quantities import QUANTITIES, Quantity, quantity_of
from studies.compare.sheet import comparison_sheet
from studies.compare.tables import number_tables
from studies.compare.words import findings, joining_lines, undominated_line
from studies.report.contents import footer_of
from studies.report.failed import sections_of
from studies.text.blocks import Block, Caution, Figure, Listing, Section, Text
from studies.text.failures import Failure
from studies.text.html import render
from studies.text.numbers import NONE
from studies.text.table import Column, Table

Pictures = Mapping[str, bytes]
MOST_ROWS = 120
"""Most cases that a table of the report lists."""
GROUPS: Mapping[str, tuple[str, ...]] = {
    "Field": ("worst_field_over_limit", "highest_b_rms_t", "b_rms_t", "b_max_rms_t"),
    "Loss per metre of run": (
        "total_loss_w_per_m",
        "tray_loss_w_per_m",
        "conductor_loss_w_per_m",
        "screen_loss_w_per_m",
        "circulating_loss_w_per_m",
        "loss_energy_j_per_m",
        "energy_cost_per_m",
    ),
    "Impedance and unbalance": (
        "x1_ohm_per_m",
        "u2_over_u1",
        "u2_v_per_m",
        "u0_over_u1",
        "phase_inequality",
        "phase_inequality_between_lines",
    ),
    "Currents of the cables": ("largest_share", "current_over_permitted", "equal_heat_factor"),
    "Room, and how exact the numbers are": ("width_m", "spacing_rules_met", "worst_error", "unknowns"),
}
"""Tables of the report with the quantities of each."""
TRANSPOSED = (
    "A transposed case is solved as one run of sections, with the currents that the whole run drives. Circuits that "
    "are transposed together change at the same joints; N and PE keep their places. Impedances, voltage drops and "
    "losses are the mean over the run; the field is the highest beside any section. The field at the joints is "
    "three-dimensional and is not in these numbers."
)
READING = (
    "±: the estimate of the numerical error. Formula: the closed form of the same number. The best number of each "
    "column stands out, with all that equal it within the numerical error, unless all are equal."
)
BETTER = {"lower": "lower", "higher": "higher", "": NONE}


def write_comparison_report(
    comparison: Comparison,
    figures: Mapping[str, bytes],
    failures: Sequence[Failure] = (),
    for_print: bool = False,
) -> str:
    """The report of a comparison as the text of one HTML file, with pictures by the stems of their figures.

    Failures before the report are named in it. The same input gives the same text.
    """
    name = PurePath(comparison.base.source_name.replace("\\", "/")).name
    count = f"{len(comparison.solved)} of {len(comparison.rows)}" if comparison.failed else str(len(comparison.rows))
    subtitle = f"Comparison of {count} cases" + (f", from {name}" if name else "")
    blocks = comparison_document(comparison, figures, failures)
    return render(comparison.base.title, subtitle, blocks, footer=footer_of(comparison.base), for_print=for_print)


def comparison_document(
    comparison: Comparison, figures: Mapping[str, bytes], failures: Sequence[Failure] = ()
) -> tuple[Section, ...]:
    """The blocks of the report; a section that fails is one that says so, and costs no other."""
    return sections_of({title: partial(make, comparison, figures) for title, make in SECTIONS.items()}, failures)


def _sheet_section(comparison: Comparison, figures: Pictures) -> Section:
    return comparison_sheet(comparison, figures.get("cross_sections"), _cautions(comparison))


def _summary_section(comparison: Comparison, figures: Pictures) -> Section:
    return Section("Summary", "summary", (Text(findings(comparison), "list"), *_failures(comparison)))


def _failures(comparison: Comparison) -> list[Block]:
    groups = {
        "failed and not compared": comparison.failed,
        "compared without what failed after the solve": comparison.incomplete,
    }
    found: list[Block] = []
    for what, rows in groups.items():
        lines = tuple(f"“{row.name}”: {row.message}" for row in rows[:MOST_ROWS])
        found += [Caution(f"{len(rows)} case{'' if len(rows) == 1 else 's'} {what}", lines)] if rows else []
    return found


def _picture_section(comparison: Comparison, figures: Pictures) -> Section | None:
    blocks: list[Block] = []
    if "cases" in figures:
        caption = "The cases beside each other; lower is better in every column."
        blocks.append(
            Figure(
                caption, "Bars of field, loss, reactance, V2/V1, unbalance and width of every case.", figures["cases"]
            )
        )
    for stem, (first, second) in trade_offs(comparison.solved).items() if comparison.solved else ():
        if stem in figures:
            line = undominated_line(comparison.solved, first, second)
            description = f"Every case as a point, {first.noun} upwards and {second.noun} to the right."
            blocks.append(Figure(line, description, figures[stem]))
    return Section("Trade-offs", "trade-offs", tuple(blocks)) if blocks else None


def _table_section(comparison: Comparison, figures: Pictures) -> Section | None:
    rows = limits_first(comparison.solved)[:MOST_ROWS]
    if not rows:
        return None
    units = units_of(comparison.solved)
    tables: list[Block] = []
    for caption, keys in GROUPS.items():
        columns = [name for name in comparison.columns if quantity_of(name).key in keys]
        columns = [name for name in columns if any(row.number(name) for row in comparison.solved)]
        if len([name for name in columns if quantity_of(name).each in ("receptor", "zone")]) == 1:
            columns.remove("highest_b_rms_t")  # the same as that of the only place
        tables += number_tables(caption, columns, rows, units)
    if tables and len(comparison.solved) > 1:
        tables.insert(0, Text((READING,)))
    if len(comparison.solved) > MOST_ROWS:
        note = f"The first {MOST_ROWS} of {len(comparison.solved)} cases; comparison.csv has all of them."
        tables.insert(0, Text((note,)))
    return Section("Numbers", "numbers", tuple(tables))


def _case_section(comparison: Comparison, figures: Pictures) -> Section:
    rows = comparison.rows[:MOST_ROWS]
    note = f"The first {MOST_ROWS} of {len(comparison.rows)} cases." if len(rows) < len(comparison.rows) else ""
    blocks: list[Block] = [Table("What each case changes in the base study", CASES, rows, note)]
    if any(row.sections > 1 for row in comparison.rows):
        blocks.append(Text((TRANSPOSED, *joining_lines(comparison.rows))))
    return Section("Cases", "cases", tuple(blocks))


def _state(row: CaseRow) -> str:
    if row.measured is None or row.message:
        return "failed" if row.measured is None else "incomplete"
    return f"{row.sections} sections" if row.sections > 1 else "solved"


CASES: tuple[Column[CaseRow], ...] = (
    Column("Case", lambda row: row.label, target=lambda row: row.report),
    Column("Changes", lambda row: "the study as it stands" if row.origin == "base" else "; ".join(row.changes)),
    Column("State", _state, tone=lambda row: "bad" if row.measured is None or row.message else ""),
)


def _meaning_section(comparison: Comparison, figures: Pictures) -> Section:
    used = {quantity_of(name).key for name in comparison.columns}
    note = "The summary calls cases equal if they differ by no more than the sum of their error estimates."
    rows = [quantity for quantity in QUANTITIES if quantity.key in used]
    return Section("Meaning of the numbers", "meaning", (Table("What is compared", MEANING, rows, note),))


MEANING: tuple[Column[Quantity], ...] = (
    Column("Quantity", lambda quantity: quantity.heading.removesuffix(" of").removesuffix(" at")),
    Column("Better", lambda quantity: BETTER[quantity.better] if quantity.unit else "met"),
    Column("Meaning", lambda quantity: quantity.meaning),
    Column("Formula beside it", lambda quantity: quantity.formula or None),
)


def _cautions(comparison: Comparison) -> tuple[str, ...]:
    """The cautions of all cases, the particular ones with the cases that they are of."""
    cases: dict[str, list[str]] = {}
    for row in comparison.solved:
        for caution in row.measured.cautions if row.measured else ():
            cases.setdefault(caution, []).append(row.label)
    own = []
    usual = [caution for caution in cases if caution in USUAL] or ALWAYS
    for caution in (*(one for one in cases if one not in USUAL), *usual):
        names = cases.get(caution, [])
        few = 0 < len(names) < len(comparison.solved)
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        own.append(f"{caution} (Cases: {', '.join(names[:3])}{more}.)" if few else caution)
    return tuple(own)


def _source_section(comparison: Comparison, figures: Pictures) -> Section:
    blocks: list[Block] = []
    if comparison.base.source_text:
        blocks.append(Listing(comparison.base.source_text, "The study file, as it was read"))
    software: tuple[Column[tuple[str, str]], ...] = (Column("Name", itemgetter(0)), Column("Version", itemgetter(1)))
    blocks.append(Table("Software", software, tuple(comparison.versions.items())))
    return Section("Study file and software", "source", tuple(blocks))


SECTIONS: Mapping[str, Callable[[Comparison, Pictures], Section | None]] = {
    "Sheet to sign": _sheet_section,
    "Summary": _summary_section,
    "Trade-offs": _picture_section,
    "Numbers": _table_section,
    "Cases": _case_section,
    "Meaning of the numbers": _meaning_section,
    "Study file and software": _source_section,
}
"""The sections in their order, by their titles."""
