"""Permitted currents in words: tables, the verdict on the sheet, what the equal-heat factor is and what it is not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers.answers import Answers
from studies.answers.figure_names import with_net_currents
from studies.answers.permitted.rows import PermittedCable, PermittedResult, SurfaceLoss
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Figure, First, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import DIFFERENCE, brief, plain, value_with_error
from studies.text.table import ROUND_OFF, Column, Table, difference_column
from studies.text.units import AMPERE, LOSS_PER_AREA, LOSS_PER_LENGTH, METRE, NUMBER

FIGURE = "permitted"
MOST_DRAWN = 32
"""Cables that are drawn: of more, those with the largest current over permitted current."""
WITHIN, ABOVE = "within the permitted current", "above the permitted current"
UNSURE = "permitted current within the error"
HOTTER = "hotter than alone"
ALONE = (
    "Loss alone: of the cable alone in air at its permitted current, at the same temperatures and the fundamental of "
    "its circuit, its screen, sheath and armour without net current, as a cable alone has no loop for them."
)
NOT_A_RATING = (
    "The equal-heat factor is no rating: it compares losses, not temperatures, and does not know how neighbours, the "
    "tray and the sun heat the air. The permitted current, with its own reductions for grouping, is the user's."
)
NOTE = (
    f"{ALONE} Equal-heat factor: on all currents together, at which the cable as installed, with its share of the "
    "current, proximity and the losses of its screen, sheath and armour, loses as much as alone. Losses go with the "
    "square of the current. Formula: of the loss alone, permitted current squared times ac resistance of the "
    f"conductor. Difference: {DIFFERENCE}."
)
SURFACE_NOTE = (
    "Surface: outline of the section, both faces and the edges, holes counted as sheet. Common practice, no source: "
    "still air takes some 10 W/m² for each kelvin that metal is warmer, so 100 W/m² warm it by some 10 K, beside "
    "what the cables do."
)


def permitted_table(result: Answers) -> Table[PermittedCable]:
    """Current of each cable beside what is permitted."""
    found = result.permitted
    columns: tuple[Column[PermittedCable], ...] = (
        Column("Cable", lambda r: r.cable, brief=True),
        Column("Phase", lambda r: r.phase, brief=True),
        Column("Current", lambda r: r.current_rms_a, AMPERE, lambda r: r.current_error_a, brief=True),
        Column("Permitted", lambda r: r.permitted_current_a, AMPERE, stated=True, brief=True),
        Column("Current / permitted", lambda r: r.current_ratio, NUMBER, lambda r: r.current_ratio_error, brief=True),
        Column("Verdict", lambda r: cable_verdict(r).replace(" the permitted current", ""), tone=_tone, brief=True),
    )
    rows = () if found is None else found.cables
    return Table(f"Currents beside permitted currents{with_net_currents(result)}", columns, rows)


def heat_table(result: Answers) -> Table[PermittedCable]:
    """Loss of each cable as installed beside that of the same cable alone with its permitted current."""
    found = result.permitted
    columns: tuple[Column[PermittedCable], ...] = (
        Column("Cable", lambda r: r.cable, brief=True),
        Column("Loss", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m, brief=True),
        Column(
            "Loss alone",
            lambda r: r.alone_loss_w_per_m,
            LOSS_PER_LENGTH,
            lambda r: r.alone_loss_error_w_per_m,
            brief=True,
        ),
        Column("Formula", lambda r: r.formula_alone_loss_w_per_m, LOSS_PER_LENGTH, optional=True),
        difference_column(lambda r: r.formula_alone_loss_w_per_m, lambda r: r.alone_loss_w_per_m, optional=True),
        Column(
            "Equal-heat factor", lambda r: r.equal_heat_factor, NUMBER, lambda r: r.equal_heat_factor_error, brief=True
        ),
    )
    rows = () if found is None else found.cables
    caption = f"Losses beside those of the cables alone{with_net_currents(result)}"
    return Table(caption, columns, rows, NOTE, result_units(result), brief_note=ALONE)


def surface_table(result: Answers) -> Table[SurfaceLoss]:
    """Loss of trays and metalwork over their surface."""
    found = result.permitted
    columns: tuple[Column[SurfaceLoss], ...] = (
        Column("Part", lambda r: r.part, brief=True),
        Column("Loss", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m, brief=True),
        Column("Outline", lambda r: r.surface_m2_per_m, METRE, digits=3, brief=True),
        Column(
            "Loss per surface", lambda r: r.loss_w_per_m2, LOSS_PER_AREA, lambda r: r.loss_error_w_per_m2, brief=True
        ),
    )
    rows = () if found is None else found.surfaces
    return Table("Loss of metal per area of its surface", columns, rows, SURFACE_NOTE, result_units(result))


def cable_verdict(row: PermittedCable) -> str:
    """Whether the current of a cable is permitted, and else whether it is hotter than alone."""
    if row.current_ratio > 1:
        return ABOVE
    if row.current_ratio + row.current_ratio_error > 1:
        return UNSURE
    factor, error = row.equal_heat_factor, row.equal_heat_factor_error or 0.0
    return f"{WITHIN}, {HOTTER}" if factor is not None and factor - error < 1 else WITHIN


def _tone(row: PermittedCable) -> Tone:
    return "good" if cable_verdict(row) == WITHIN else "bad"


def factor_words(found: PermittedResult) -> str:
    """The factor, which cable decides it, and how it was found; that of no loss has none."""
    if found.equal_heat_factor is None or found.equal_heat_factor_error is None:
        return "Equal-heat factor: none, as no cable with a permitted current has a loss."
    value = brief(found.equal_heat_factor, NUMBER, found.equal_heat_factor_error)
    how = (
        "solved again at that factor with the steel as it then is"
        if found.solved_with_steel
        else "losses going with the square of the current"
    )
    return f"Equal-heat factor on all currents: {value}, decided by {found.decided_by}; {how}. {NOT_A_RATING}"


def _ratio(row: PermittedCable) -> str:
    """Current over permitted current; the current of a cable alone in its phase was stated and has no error."""
    if row.current_ratio_error < ROUND_OFF * row.current_ratio:
        return plain(row.current_ratio, 4)
    return value_with_error(row.current_ratio, row.current_ratio_error, NUMBER)


def permitted_rows(result: Answers) -> list[SheetRow]:
    """The cable with the largest current over its permitted one, and the equal-heat factor."""
    found = result.permitted
    if found is None:
        return []
    most = max(found.cables, key=lambda row: row.current_ratio + row.current_ratio_error)
    left = 1 - most.current_ratio - most.current_ratio_error
    word = ABOVE if most.current_ratio > 1 else WITHIN if found.within_permitted_current else UNSURE
    rows = [
        SheetRow(
            f"Largest current over permitted current{with_net_currents(result)}",
            f"{_ratio(most)}, {most.cable}",
            "1, as stated by the user",
            left if left >= 0 else f"{plain(most.current_ratio)} times the limit",
            word,
            "good" if found.within_permitted_current else "bad",
            "the permitted current itself",
            "permitted",
        )
    ]
    if found.equal_heat_factor is not None and found.equal_heat_factor_error is not None:
        factor, error = found.equal_heat_factor, found.equal_heat_factor_error
        rows.append(
            SheetRow(
                "Equal-heat factor on all currents, no rating",
                f"{value_with_error(factor, error, NUMBER)}, {found.decided_by}",
                "1 or above",
                None,
                "no cable hotter than alone" if found.within_equal_heat else "a cable hotter than alone",
                "good" if found.within_equal_heat else "bad",
                "air warmed by neighbours, the tray and the sun",
                "permitted",
            )
        )
    return rows


def permitted_verdicts(result: Answers) -> tuple[str, ...]:
    """One sentence: whether all currents are permitted, and the cables above."""
    found = result.permitted
    if found is None:
        return ()
    if found.within_permitted_current:
        return ("No cable carries more than its permitted current.",)
    above = [one for one in found.cables if one.current_ratio + one.current_ratio_error > 1]
    named = ", ".join(f"{one.cable} ({plain(one.current_ratio)} times)" for one in above)
    unsure = "" if all(one.current_ratio > 1 for one in above) else ", or within its error"
    return (First(f"Current above the permitted one{unsure}: {named}."),)


def drawn_cables(result: Answers) -> list[PermittedCable]:
    """Cables of the figure in the order of the table."""
    rows = () if result.permitted is None else result.permitted.cables
    largest = sorted(rows, key=lambda row: -row.current_ratio)[:MOST_DRAWN]
    return [row for row in rows if row in largest]


def _figure(result: Answers, png: bytes) -> Figure:
    drawn = drawn_cables(result)
    above = [row.cable for row in drawn if row.current_ratio > 1]
    which = f"of the {len(drawn)} cables with the largest" if len(drawn) == MOST_DRAWN else "of each cable"
    caption = f"Current over permitted current {which}; the dashed line is the permitted current."
    return Figure(caption, f"{len(drawn)} bars; above the line: {', '.join(above) or 'none'}.", png)


def permitted_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The factor, the figure, both tables; None if the study states no permitted current."""
    found = result.permitted
    if found is None:
        return None
    blocks: list[Block] = [permitted_table(result)]
    blocks += [_figure(result, figures[FIGURE])] if FIGURE in figures else []
    blocks += [Text((factor_words(found),)), heat_table(result)]
    blocks += [surface_table(result)] if found.surfaces else []
    return Section("Permitted currents", "permitted", tuple(blocks))


def permitted_tables(result: Answers) -> Sequence[Table[PermittedCable] | Table[SurfaceLoss]]:
    """The tables of a terminal."""
    found = result.permitted
    if found is None:
        return []
    return [permitted_table(result), heat_table(result), *([surface_table(result)] if found.surfaces else [])]
