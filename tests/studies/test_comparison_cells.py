"""Every cell of a comparison, on its page, in the terminal and in its files, is the number of its case."""

import csv
import io
import json
import math
import random
import re
from collections.abc import Iterator

from studies.compare.case_numbers import CaseNumber
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.measured import Measured
from studies.compare.report import write_comparison_report
from studies.compare.table_files import comparison_csv, comparison_json
from studies.compare.words import comparison_summary
from studies.study.reading import loads
from tests.studies.cells import FLUX, LOSS, SIZES, covers, shows
from tests.studies.reading_cells import ReadTable, read_number, tables_of_page, tables_of_terminal
from tests.studies.sweep_studies import TRIPLE

COLUMNS: dict[str, tuple[str, tuple[str, ...]]] = {
    "Worst field over limit": ("worst_field_over_limit", ("–",)),
    "Highest field": ("highest_b_rms_t", FLUX),
    "Field at bench": ("b_rms_t.bench", FLUX),
    "Field at desk": ("b_rms_t.desk", FLUX),
    "Highest field in zone hall": ("b_max_rms_t.hall", FLUX),
    "Total loss": ("total_loss_w_per_m", LOSS),
    "Energy of a year": ("loss_energy_j_per_m", ("kWh/m",)),
    "Cost of a year per metre": ("energy_cost_per_m", ("–",)),
    "Tray loss": ("tray_loss_w_per_m", LOSS),
    "Conductor loss": ("conductor_loss_w_per_m", LOSS),
    "Screen loss": ("screen_loss_w_per_m", LOSS),
    "of it circulating": ("circulating_loss_w_per_m", LOSS),
    "Reactance X1 of F1": ("x1_ohm_per_m.F1", ("Ω/km",)),
    "V2/V1 of F1": ("u2_over_u1.F1", ("%",)),
    "Voltage unbalance V2 of F1": ("u2_v_per_m.F1", ("V/km",)),
    "V0/V1 of F1": ("u0_over_u1.F1", ("%",)),
    "x_spread of F1": ("phase_inequality.F1", ("%",)),
    "x_spread between lines of F1": ("phase_inequality_between_lines.F1", ("%",)),
    "Largest share of a parallel cable": ("largest_share", ("%",)),
    "Current over permitted current": ("current_over_permitted", ("–",)),
    "Equal-heat factor": ("equal_heat_factor", ("–",)),
    "Tray width used": ("width_m", ("mm",)),
    "Clear gaps kept": ("spacing_rules_met", ("",)),
    "Worst numerical error": ("worst_error", ("%",)),
    "Unknowns": ("unknowns", ("–",)),
}
"""Column and units of each heading."""
SCALES = {
    "_t": 1e-6,
    "_w_per_m": 3.0,
    "_j_per_m": 1e9,
    "ohm_per_m": 1e-4,
    "_v_per_m": 0.01,
    "width_m": 0.1,
    "unknowns": 2e4,
}
DECIDED = ("worst_field_over_limit", "highest_b_rms_t", "current_over_permitted", "equal_heat_factor")
"""Numbers that one of several places decides."""
NOT_COMPUTED = ("width_m", "worst_error", "unknowns")
"""Numbers without an error or a formula."""


def numbers_of(dice: random.Random) -> dict[str, CaseNumber]:
    """A number for each column, no two alike."""
    found = {}
    for key, _ in COLUMNS.values():
        scale = next((size for end, size in SCALES.items() if key.partition(".")[0].endswith(end)), 0.3)
        value = scale * dice.uniform(0.5, 2)
        if key == "spacing_rules_met":
            found[key] = CaseNumber(True, place=dice.choice(("1 diam.", "2.15 diam.")))
        elif key in NOT_COMPUTED:
            found[key] = CaseNumber(round(value) if key == "unknowns" else value)
        else:
            place = dice.choice(("bench", "desk", "zone hall")) if key in DECIDED else ""
            found[key] = CaseNumber(value, value * dice.uniform(1e-3, 9e-3), scale * dice.uniform(0.5, 2), place)
    return found


def compared() -> Comparison:
    dice = random.Random(7)
    names = ("base study", "a", "b", "c")
    rows = tuple(
        CaseRow(name, "base" if k == 0 else "variant", (), (), Measured(numbers_of(dice), (), ()), "", 1.0)
        for k, name in enumerate(names)
    )
    return Comparison(loads(TRIPLE), (), rows, {"trayfield": "1.2.3"})


def cell_mistakes(table: ReadTable, comparison: Comparison) -> Iterator[str]:
    """Cells of a table of numbers that are not those of their case, and headings that nobody knows."""
    key, seen = "", []
    for n, (heading, unit) in enumerate(table.head[1:], 1):
        if heading not in BESIDE:
            if heading not in COLUMNS:
                yield f"“{heading}” is no heading that tests/studies/test_comparison_cells.py knows: add it to COLUMNS"
                return
            key, units = COLUMNS[heading]
            seen.append(key)
        if heading != "Decided by" and unit not in units:
            yield f"“{heading}” has the unit “{unit}”, none of {units}"
            continue
        spread = table.head[n + 1][0] == "±" if n + 1 < len(table.head) else False
        for row, cells in zip(comparison.rows, table.rows, strict=True):
            entry = row.entry(key)
            if cells[0] != row.label:
                yield f"the row of “{row.label}” is called “{cells[0]}”"
            if not _agrees(heading, cells[n : n + 1 + spread], entry, SIZES[unit]):
                yield f"“{table.caption}”, {row.label}, “{heading}” of {key}: “{cells[n]}” where {entry} is expected"


BESIDE = ("±", "Decided by", "Formula")
"""Columns that belong to the number left of them."""


def _agrees(heading: str, texts: tuple[str, ...], entry: CaseNumber, size: float) -> bool:
    text = texts[0]
    if heading == "Decided by" or isinstance(entry.value, bool):
        return text == entry.place
    read = read_number(text)
    if heading == "Formula":
        value = (entry.formula or math.nan) / size
        return (read is None and text == "–" and entry.formula is None) or (read is not None and shows(read, value))
    if heading == "±":
        return read is not None and entry.error is not None and covers(read, entry.error / size)
    error = read_number(texts[1]) if len(texts) > 1 else None
    if read is None or (error is None) is not (entry.error is None):
        return False
    return shows(read, float(entry.value or 0.0) / size, 0.0 if error is None else 2 * error.half)


def test_every_number_of_the_page_is_that_of_its_case() -> None:
    comparison = compared()
    page = tables_of_page(write_comparison_report(comparison, {}))
    groups = (
        r"(Field|Loss per metre of run|Impedance and unbalance|Currents of the cables|"
        r"Room, and how exact the numbers are)(, continued)?"
    )
    tables = [table for table in page if re.fullmatch(groups, table.caption)]
    found = [sentence for table in tables for sentence in cell_mistakes(table, comparison)]
    assert not found, "\n".join(found[:12])
    headings = [heading for table in tables for heading, _ in table.head if heading in COLUMNS]
    assert sorted(headings) == sorted(COLUMNS)  # each once


TERMINAL = {
    "worst field over limit": ("worst_field_over_limit", ""),
    "tray loss": ("tray_loss_w_per_m", "W/m"),
    "conductor loss": ("conductor_loss_w_per_m", "W/m"),
    "screen loss": ("screen_loss_w_per_m", "W/m"),
    "circulating loss": ("circulating_loss_w_per_m", "W/m"),
    "total loss": ("total_loss_w_per_m", "W/m"),
    "energy of a year": ("loss_energy_j_per_m", "kWh/m"),
    "cost of a year per metre": ("energy_cost_per_m", ""),
    "reactance X1": ("x1_ohm_per_m.F1", "Ω/km"),
    "V2/V1": ("u2_over_u1.F1", "%"),
    "voltage unbalance V2": ("u2_v_per_m.F1", "V/km"),
    "width": ("width_m", "mm"),
}
"""Column and unit of each heading of the terminal's table."""


def test_every_number_of_the_terminal_is_that_of_its_case() -> None:
    comparison = compared()
    (table,) = tables_of_terminal(comparison_summary(comparison))
    found = []
    for row, cells in zip(comparison.rows, table.rows, strict=True):
        for (head, unit), text in zip(table.head, cells, strict=True):
            if head == "Case":
                assert text == row.label
            elif head == "At":
                assert text == row.entry("worst_field_over_limit").place
            elif head == "Clear gaps kept":
                assert text == row.entry("spacing_rules_met").place
            else:
                key, stated = TERMINAL[head]
                found.append(key)
                assert stated == unit, head
                read = read_number(text)
                assert read is not None, text
                assert shows(read, float(row.entry(key).value or 0.0) / SIZES[stated]), (row.label, head, text)
    assert {key for key, _ in TERMINAL.values()} <= set(found)


def test_every_number_of_the_files_is_that_of_its_case() -> None:
    comparison = compared()
    document = json.loads(comparison_json(comparison))
    for row, line, case in zip(
        comparison.rows, csv.DictReader(io.StringIO(comparison_csv(comparison))), document["cases"], strict=True
    ):
        assert (line["case"], case["case"]) == (row.name, row.name)
        for key, _ in COLUMNS.values():
            entry = row.entry(key)
            for head, group, value in (
                *(("", "numbers", entry.value), ("error_", "errors", entry.error)),
                *(("formula_", "formulas", entry.formula), ("place_", "places", entry.place or None)),
            ):
                text = line.get(f"{head}{key}", "")
                assert case[group].get(key) == value, (group, key)
                written = str(value).lower() if isinstance(value, bool) else str(value)
                assert text == ("" if value is None else written), (head, key)


def test_a_current_above_the_permitted_one_and_a_factor_below_one_stand_out_and_the_highest_factor_is_best() -> None:
    def row(name: str, ratio: float, factor: float) -> CaseRow:
        numbers = {
            "current_over_permitted": CaseNumber(ratio, 0.01, place="F1.1"),
            "equal_heat_factor": CaseNumber(factor, 0.01, place="F1.2"),
        }
        return CaseRow(name, "variant", (), (), Measured(numbers, (), ()), "", 1.0)

    rows = (row("base study", 0.8, 1.2), row("hot", 1.05, 0.9), row("cool", 0.7, 1.3))
    page = write_comparison_report(Comparison(loads(TRIPLE), (), rows, {"trayfield": "1"}), {})
    (table,) = [one for one in tables_of_page(page) if one.caption.startswith("Currents of the cables")]
    heads = [head for head, _ in table.head]
    tones = {h: [cells[heads.index(h)] for cells in table.tones] for h in heads if h in COLUMNS}
    assert tones == {
        "Current over permitted current": ["", "bad", "good"],
        "Equal-heat factor": ["", "bad", "good"],
    }
