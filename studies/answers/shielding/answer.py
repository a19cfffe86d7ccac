"""The answer on shielding: its table, sentences and figure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.answers.shielding.compute import ShieldingResult, shielding_results
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.file_names import slugs
from studies.text.numbers import DIFFERENCE, value_with_error, with_error
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, METRE, NUMBER

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Drawing

WEAKENS, RAISES, NEITHER = "weakens", "raises", "no change"
NOTE = (
    "Shielding factor: resultant without the metal over resultant with it, rms over all frequencies. Cables, screens "
    "and all other metal stay. Both fields are solved to the asked accuracy; the ± of the factor adds their relative "
    "errors. Effect: whether the metal weakens the field or raises it (factor below 1), or changes it by no more than "
    "that error. A traverse is shown at that of its points with the least factor. A tray goes "
    "together with its cover. Formula: long thin-walled tube around all cables, far outside of it, if that is what the "
    f"metal is (Kaden). Difference: {DIFFERENCE}."
)
NOTHING = "Shielding factors: none, as the study has no tray or metalwork, or no receptor or traverse."
HEIGHT = 2.9
"""Height of the figure. [in]"""
DASHES = ("-", (0, (6, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)), (0, (3, 1)), (0, (8, 2, 1, 2, 1, 2)))
"""Lines of the figure, one for each metal; `results.json` holds further ones."""


def shielding_table(result: Answers) -> Table[ShieldingResult]:
    """The shielding factor of each metal at each receptor and at the worst point of each traverse."""
    columns: tuple[Column[ShieldingResult], ...] = (
        Column("Metal", lambda r: r.metal, brief=True),
        Column("Place", lambda r: r.place, brief=True),
        Column("Along", lambda r: r.distance_m, METRE, digits=3, brief=True, optional=True),
        Column("Without", lambda r: r.b_without_rms_t, FLUX_DENSITY, lambda r: r.b_without_rms_error_t),
        Column("With", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Factor", lambda r: r.shielding_factor, NUMBER, lambda r: r.shielding_factor_error, brief=True),
        Column("Formula", lambda r: r.formula_shielding_factor, NUMBER, brief=True, optional=True),
        difference_column(lambda r: r.formula_shielding_factor, lambda r: r.shielding_factor, optional=True),
        Column("Effect", effect, brief=True),
    )
    return Table("Shielding factors", columns, result.shielding, NOTE, units=result_units(result))


def effect(row: ShieldingResult) -> str | None:
    """What the metal does to the field at a place, in words; None without a field."""
    factor, error = row.shielding_factor, row.shielding_factor_error
    if factor is None or error is None:
        return None
    return WEAKENS if factor - error > 1 else RAISES if factor + error < 1 else NEITHER


def shielding_lines(result: Answers) -> tuple[str, ...]:
    """Every place at which metal raises the field, and what the sheet to sign has no row for."""
    if result.study.shielding is None:
        return ()
    if not result.shielding:
        return (NOTHING,)
    factors = {row: row.shielding_factor for row in result.shielding if row.shielding_factor is not None}
    lines = []
    if factors and not any(effect(row) == WEAKENS for row in factors):
        lines.append("Shielding: no tray or metalwork weakens the field by more than the error of its factor.")
    raised = [f"{_named(row)}, factor {_factor(row)}" for row in factors if effect(row) == RAISES]
    if raised:
        lines.append(f"Metal that raises the field: {'; '.join(raised)}.")
    return tuple(lines)


def shielding_rows(result: Answers) -> list[SheetRow]:
    """The largest shielding factor of each metal on the sheet to sign."""
    best: dict[str, ShieldingResult] = {}
    for row in result.shielding:
        if (row.shielding_factor or 0.0) > (best[row.metal].shielding_factor or 0.0 if row.metal in best else 0.0):
            best[row.metal] = row
    rows = []
    for metal, row in best.items():
        value = value_with_error(row.shielding_factor or 0.0, row.shielding_factor_error or 0.0, NUMBER)
        rows.append(SheetRow(f"Largest shielding factor of {metal}", f"{value}, “{row.place}”", section="shielding"))
    return rows


def _named(row: ShieldingResult) -> str:
    where = "at" if row.distance_m is None else "on the traverse"
    return f"{row.metal} {where} “{row.place}”"


def _factor(row: ShieldingResult) -> str:
    number, error = with_error(row.shielding_factor or 0.0, row.shielding_factor_error or 0.0, NUMBER)
    return f"{number} ± {error}"


def shielding_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The table, and the factor along each traverse; None if it was not asked."""
    if result.study.shielding is None:
        return None
    blocks: list[Block] = [shielding_table(result)] if result.shielding else [Text((NOTHING,))]
    for stem, (name, rows) in zip(_stems(result), _traverses(result).items(), strict=True):
        if stem in figures:
            metals = ", ".join(row.metal for row in rows[: len(DASHES)])
            caption = f"Shielding factor along the traverse “{name}”. Below 1 the metal raises the field."
            blocks.append(Figure(caption, f"Curves of the shielding factor of {metals}.", figures[stem]))
    return Section("Shielding", "shielding", tuple(blocks))


def _traverses(result: Answers) -> Mapping[str, Sequence[ShieldingResult]]:
    """Rows of each traverse by its name."""
    names = dict.fromkeys(row.place for row in result.shielding if row.distance_m is not None)
    return {
        name: [row for row in result.shielding if row.distance_m is not None and row.place == name] for name in names
    }


def _stems(result: Answers) -> list[str]:
    return [f"shielding_{slug}" for slug in slugs(_traverses(result))]


def _figures(result: Answers) -> Mapping[str, Draw]:
    pairs = zip(_stems(result), _traverses(result).items(), strict=True)
    return {stem: partial(draw_shielding, name, rows) for stem, (name, rows) in pairs}


def draw_shielding(name: str, rows: Sequence[ShieldingResult]) -> Drawing:
    """Shielding factor of each metal against the distance along a traverse, with the band of its error."""
    from studies.drawing.style import PAGE_WIDTH, new_figure, styled

    @styled
    def draw() -> Drawing:
        figure = new_figure(HEIGHT)
        axes = figure.add_axes(
            (0.72 / PAGE_WIDTH, 0.52 / HEIGHT, (PAGE_WIDTH - 0.92) / PAGE_WIDTH, (HEIGHT - 0.88) / HEIGHT)
        )
        for number, row in enumerate(rows[: len(DASHES)]):
            distance, factor = np.array(row.along_distance_m), np.array(row.along_shielding_factor)
            error = np.array(row.along_shielding_factor_error)
            colour = f"C{number}"
            axes.plot(distance, factor, color=colour, linestyle=DASHES[number], label=row.metal)
            axes.fill_between(distance, factor - error, factor + error, color=colour, alpha=0.2, linewidth=0)
        axes.axhline(1.0, color="black", linewidth=0.6)
        axes.set_xlim(rows[0].along_distance_m[0], rows[0].along_distance_m[-1])
        axes.set_xlabel("distance from the first point (m)")
        axes.set_ylabel("field without metal / field with it")
        axes.set_title(f"Shielding factor: {name}", loc="left")
        axes.grid(True)
        axes.legend(loc="best")
        return figure

    return draw()


def _shielding(asked: Asked) -> tuple[ShieldingResult, ...]:
    fields = asked.done["receptors"], asked.done["traverses"]
    return shielding_results(asked.study, asked.solutions, *fields, asked.report_progress)


SHIELDING = Answer(
    "shielding",
    "shielding factors",
    _shielding,
    needs=("receptors", "traverses"),
    sections={"Shielding": shielding_section},
    brief=lambda seen: (shielding_table(seen),),
    sheet=shielding_rows,
    lines=shielding_lines,
    figures=_figures,
    sees=("receptors", "zones"),
)
