"""The table of shields, the one that is chosen, and its lines for the study file."""

from __future__ import annotations

from collections.abc import Mapping

from studies.answers.answers import Answers
from studies.answers.figure_names import with_net_currents
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.answers.shields.rows import ShieldResult
from studies.text.blocks import Block, Figure, Listing, Section, Text
from studies.text.numbers import value_with_error
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, METRE, MILLIMETRE, NUMBER, Unit

FIGURE = "shields"
KILOGRAM_PER_METRE = Unit("kg/m", 1.0, "kg_per_m")
NONE = "none of the {} that were solved; try wider, thicker or nearer ones"
NOWHERE = "none of the stated ranges can be placed without touching cables or metal"
BEYOND = "joints, holes and fixings of the shield; its ends"
CHOSEN, BEATEN, FRONT, OVER = "chosen", "another is better in all", "not beaten", "above a limit"
NOTE = (
    "Each shield is a flat plate that carries no net current, solved with the study to 5 %; the chosen one to the "
    "accuracy asked. Place: the receptor or zone whose field is largest over its limit. Factor: field there without "
    "the shield over that with it. Formula: that of a plate without edges for line currents alone, where all cables "
    "are on one side of it, the receptor on the other, and the plate reaches beyond both by three times their distance "
    "across it; up to about 1 % high for a factor of 3, 5 % for one of 12. Losses: of all parts. "
    "A shield is beaten if another has no more mass, losses and field over limit and less of one. Joints, holes and "
    "fixings weaken a shield and are not computed; bond it as the local code asks."
)
CAPTION = (
    "The field of each shield where it is largest over its limit, over what is to be least. Open marks: beaten by "
    "another in mass, losses and field together."
)


def shield_table(result: Answers) -> Table[ShieldResult]:
    """Every shield with its mass, factor, losses and standing."""
    columns: tuple[Column[ShieldResult], ...] = (
        Column("Metal", lambda r: r.metal, brief=True),
        Column("Width", lambda r: r.width_m, MILLIMETRE, brief=True, stated=True),
        Column("Thickness", lambda r: r.thickness_m, MILLIMETRE, brief=True, stated=True),
        Column("At x", lambda r: r.x_m, METRE, brief=True, stated=True),
        Column("At y", lambda r: r.y_m, METRE, brief=True, stated=True),
        Column("Standing", standing_of, brief=True),
        Column("Mass", lambda r: r.mass_kg_per_m, KILOGRAM_PER_METRE, brief=True),
        Column("Place", lambda r: r.receptor),
        Column("Field", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Field over limit", lambda r: r.field_over_limit, NUMBER),
        Column("Factor", lambda r: r.shielding_factor, NUMBER, brief=True),
        Column("Formula", formula_of, NUMBER, optional=True),
        difference_column(formula_of, lambda r: r.shielding_factor, optional=True),
        Column("Losses", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m, brief=True),
        Column("Of the shield", lambda r: r.shield_loss_w_per_m, LOSS_PER_LENGTH),
    )
    caption, note = f"Shields{with_net_currents(result)}", NOTE
    if result.study.has_net_currents():
        note += " Fields and limits are with net currents, factors without them."
    return Table(caption, columns, result.shields, note, units=result_units(result))


def formula_of(row: ShieldResult) -> float | None:
    """Factor of a plate without edges where it holds. [-]"""
    return None if row.infinite_plate_outside else row.infinite_plate_factor


def standing_of(row: ShieldResult) -> str:
    """Whether a shield is the one to take, in words."""
    if row.chosen:
        return CHOSEN
    return OVER if not row.within_limits else BEATEN if row.beaten else FRONT


def shield_rows(result: Answers) -> list[SheetRow]:
    """The chosen shield, or that there is none, on the sheet to sign."""
    search = result.study.shield_search
    if search is None:
        return []
    chosen = [row for row in result.shields if row.chosen]
    value = (NONE if result.shields else NOWHERE).format(len(result.shields))
    if chosen:
        one = chosen[0]
        field = value_with_error(one.b_rms_t, one.b_rms_error_t, result_units(result).of(FLUX_DENSITY))
        value = (
            f"{one.metal}, {one.width_m * 1e3:.6g} mm by {one.thickness_m * 1e3:.6g} mm, middle at x = {one.x_m:.6g} "
            f"m, y = {one.y_m:.6g} m: {field} at “{one.receptor}”; its lines for the study file stand in the section"
        )
    return [SheetRow(f"Shield of least {search.least} that meets all limits", value, beyond=BEYOND, section="shields")]


def shield_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The table, the figure and the lines of the chosen shield; None if it was not asked."""
    if result.study.shield_search is None:
        return None
    blocks: list[Block] = [shield_table(result)] if result.shields else [Text((f"Shields: {NOWHERE}.",))]
    if FIGURE in figures:
        blocks.append(Figure(CAPTION, f"{len(result.shields)} shields with their fields.", figures[FIGURE]))
    blocks += [Listing(row.line, "The chosen shield in the study file") for row in result.shields if row.chosen]
    return Section("Shields", "shields", tuple(blocks))
