"""Losses of the parts, where they arise, and the electrical state of the parts as blocks."""

from __future__ import annotations

from collections.abc import Mapping

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.losses.rows import LossResult, PartResult
from studies.drawing.sheets import is_sheet
from studies.section.cross_section import parallel_conductors
from studies.study.parts import CONDUCTOR, METAL_LAYERS, plural
from studies.text.blocks import Block, Figure, Section
from studies.text.grid import Cell, Grid, Head, error_cell
from studies.text.numbers import NONE, angle, difference, percent, plain, significant, with_error
from studies.text.units import AMPERE, LOSS_PER_LENGTH, OHM_PER_KM, VOLT_PER_KM, Unit, unit_for

Row = tuple[str | Cell, ...]


def loss_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
    """Losses by part and kind, and pictures of where they arise."""
    unit = unit_for(sum(loss.loss_w_per_m for loss in result.losses), LOSS_PER_LENGTH)
    hysteresis = any(loss.magnetic_loss_w_per_m > 0 for loss in result.losses)
    columns = [Head("Part"), Head("Phase"), Head("Loss", unit.symbol), Head("±", unit.symbol)]
    if hysteresis:
        columns.append(Head("of it hysteresis", unit.symbol))
    columns += [Head("Formula", unit.symbol), Head("Difference", "%"), Head("Formula used")]
    rows = [_loss_row(loss, unit, hysteresis) for loss in result.losses]
    rows += _totals(result, unit, hysteresis)
    marked = any(not loss.within_tolerance for loss in result.losses)
    table = Grid(
        "Loss per metre of run" + (", summed over all frequencies" if len(names.frequencies(result)) > 1 else ""),
        tuple(columns),
        tuple(rows),
        "Difference: formula over finite element less one. Of screens, sheaths and trays the closed form of their kind "
        "from the formulas beside the numbers, below; a sum has a formula where each of its parts has one."
        + (" * The error estimate is above what was asked." if marked else ""),
    )
    return Section("Losses", "losses", (table, *_pictures(result, figures)))


def part_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
    """Currents, voltages and resistances of all parts, and how parallel cables share."""
    parallel = parallel_conductors(result.cross_section)
    several = len(names.frequencies(result)) > 1
    overall = (Head("Current over all frequencies, rms", "A"),) if several else ()
    table = Grid(
        "Currents, voltages and resistances of the parts" + (", at the fundamental of each" if several else ""),
        (
            Head("Part"),
            Head("Phase"),
            Head("Current, rms", "A"),
            Head("Current angle", "°"),
            Head("Voltage, rms", "V/km"),
            Head("Voltage angle", "°"),
            Head("R dc", "Ω/km"),
            Head("R ac", "Ω/km"),
            Head("±", "Ω/km"),
            Head("R ac / R dc", "–"),
            Head("Of equal share", "%"),
            *overall,
        ),
        tuple(_part_row(part, part.part in parallel, several) for part in result.parts),
        "Voltage: along the part, per kilometre of run; of a conductor its voltage drop, of a part without net current "
        "the voltage induced along it. "
        + ("Fundamental: of the cable's circuit; of trays and metalwork the study's own frequency. " if several else "")
        + "R dc: at the part's temperature. R ac: loss over the square of the current, "
        "of parts of cables that carry a net current. Of equal share: the current over an equal share of the phase "
        "current.",
    )
    return Section("Parts", "parts", (table, *_sharing(result, parallel, figures)))


def _sharing(result: Answers, parallel: frozenset[str], figures: Mapping[str, bytes]) -> list[Block]:
    """How parallel cables share, beside the closed form; nothing where there are none."""
    rows = [_share_row(part) for part in result.parts if part.part in parallel]
    if not rows:
        return []
    several = ", over all frequencies" if len(names.frequencies(result)) > 1 else ""
    table = Grid(
        f"Sharing between parallel cables{several}",
        (
            Head("Cable"),
            Head("Phase"),
            Head("Current, rms", "A"),
            Head("±", "A"),
            Head("Of equal share", "%"),
            Head("Closed form", "A"),
            Head("Difference", "%"),
        ),
        tuple(rows),
        "Of equal share: the current over an equal share of the phase current. Closed form: the phase current shared "
        "by the impedance matrix of line currents, from ac resistance, geometric mean radius and the distances of the "
        "axes; it knows no tray, no screens and no proximity effect. Difference: closed form over finite element "
        "less one.",
    )
    if names.SHARES not in figures:
        return [table]
    caption = (
        "Current of each cable of phases with parallel cables, the equal share of each phase, and what the closed form "
        "says."
    )
    return [table, Figure(caption, "Bar chart of the currents of parallel cables.", figures[names.SHARES])]


def _share_row(part: PartResult) -> Row:
    current, error = with_error(part.current_rms_a, part.current_error_a, AMPERE)
    return (
        part.part.removesuffix(f".{CONDUCTOR}"),
        part.phase or NONE,
        current,
        error,
        percent(part.share_of_phase, signed=False),
        significant(part.formula_current_rms_a, AMPERE),
        percent(difference(part.formula_current_rms_a, part.current_rms_a)),
    )


def _loss_row(loss: LossResult, unit: Unit, hysteresis: bool) -> Row:
    value, error = with_error(loss.loss_w_per_m, loss.loss_error_w_per_m, unit)
    row: list[str | Cell] = [loss.part, loss.phase or NONE, value, error_cell(error, loss.within_tolerance)]
    if hysteresis:
        row.append(significant(loss.magnetic_loss_w_per_m, unit))
    row += [
        significant(loss.formula_loss_w_per_m, unit),
        percent(difference(loss.formula_loss_w_per_m, loss.loss_w_per_m)),
        loss.formula + (f" (outside its range: {loss.formula_outside_range})" if loss.formula_outside_range else ""),
    ]
    return tuple(row)


def _totals(result: Answers, unit: Unit, hysteresis: bool) -> list[Row]:
    kinds = dict.fromkeys(loss.kind for loss in result.losses)
    groups = {f"All {plural(kind)}": [loss for loss in result.losses if loss.kind == kind] for kind in kinds}
    groups["All parts"] = list(result.losses)
    rows: list[Row] = []
    for name, group in groups.items():
        if not group:
            continue
        total = sum(loss.loss_w_per_m for loss in group)
        value, error = with_error(total, sum(loss.loss_error_w_per_m for loss in group), unit)
        known = [loss.formula_loss_w_per_m for loss in group if loss.formula_loss_w_per_m is not None]
        formula = sum(known) if len(known) == len(group) else None
        row: list[str | Cell] = [name, "", value, error]
        if hysteresis:
            row.append(significant(sum(loss.magnetic_loss_w_per_m for loss in group), unit))
        row += [significant(formula, unit), percent(difference(formula, total)), ""]
        rows.append(tuple(row))
    return rows


def _pictures(result: Answers, figures: Mapping[str, bytes]) -> list[Block]:
    pictures: list[Block] = []
    for part, stem in names.loss_stems(result).items():
        if stem in figures:
            pictures.append(
                Figure(
                    _loss_caption(part, is_sheet(result.cross_section.part(part).shape)),
                    f"Loss density over the section of {part}.",
                    figures[stem],
                )
            )
    if names.CURRENT_DENSITY in figures:
        pictures.append(
            Figure(
                "Current density over the conductors' sections. Unequal colour within a conductor is skin and "
                "proximity effect.",
                "Current density over each conductor.",
                figures[names.CURRENT_DENSITY],
            )
        )
    return pictures


def _loss_caption(part: str, laid_flat: bool) -> str:
    if not laid_flat:
        return f"Loss density of {part} over its section; thin sheets are drawn thicker than they are where it says so."
    return (
        f"Loss of {part}. Above: loss density in its walls, drawn thicker than they are where it says so. Below: the "
        "same through the whole thickness, along the sheet laid flat, from A to B or all round from A."
    )


def _part_row(part: PartResult, parallel: bool, several: bool) -> Row:
    resistance, error = NONE, NONE
    ratio = NONE
    if part.r_ac_ohm_per_m is not None and part.kind in (CONDUCTOR, *METAL_LAYERS):
        resistance, error = with_error(part.r_ac_ohm_per_m, part.r_ac_error_ohm_per_m or 0.0, OHM_PER_KM)
        ratio = plain(part.r_ac_ohm_per_m / part.r_dc_ohm_per_m, 4)
    share = part.share_of_phase if parallel else None
    return (
        part.part,
        part.phase or NONE,
        significant(abs(part.current_a), AMPERE),
        angle(part.current_a),
        significant(abs(part.voltage_v_per_m), VOLT_PER_KM),
        angle(part.voltage_v_per_m),
        significant(part.r_dc_ohm_per_m, OHM_PER_KM),
        resistance,
        error,
        ratio,
        percent(share, signed=False),
        *((significant(part.current_rms_a, AMPERE),) if several else ()),
    )
