"""Losses of the parts, where they arise, and the electrical state of the parts: tables, captions and sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.losses.doubtful_currents import computed_currents, doubt_in_words, doubtful_currents
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.result_units import loss_units
from studies.answers.sheet_row import SheetRow
from studies.drawing.sheets import is_sheet
from studies.section.parts import parallel_conductors
from studies.study.parts import CONDUCTOR, METAL_LAYERS, plural
from studies.text.blocks import Block, Figure, Section
from studies.text.numbers import DIFFERENCE, GAP, largest, per_cent, plain, value_with_error
from studies.text.table import Column, Table, difference_column
from studies.text.units import AMPERE, LOSS_PER_LENGTH, NUMBER, OHM_PER_KM, PER_CENT, VOLT_PER_KM

LOSS_NOTE = (
    "Share: of the loss of all parts. Formula: for a conductor, ac resistance times the square of the current; for a "
    "screen, sheath or tray, the closed form listed under “Formulas beside the numbers”. A sum has a formula if each "
    f"of its parts has one. Difference: {DIFFERENCE}."
)
PART_NOTE = (
    "Voltage: along the part, for each kilometre of run; the voltage drop of a conductor, the induced voltage of a "
    "part without net current. {fundamental}R dc: at the temperature of the part. R ac: loss over the square of the "
    "current, for parts of cables with a net current. Of equal share: current over an equal share of the phase current."
)
FUNDAMENTAL = "Fundamental: of the circuit of the cable; for trays and metalwork, the frequency of the study. "
SHARING_NOTE = (
    "Of equal share: current over an equal share of the phase current. Closed form: sharing by the impedance matrix of "
    "line currents, made of ac resistance, geometric mean radius and the distances of the axes, without trays, screens "
    f"and proximity effect. Difference: {DIFFERENCE}."
)
SHARES_CAPTION = "Current of each of the parallel cables, the equal share of its phase, and the closed form."
DENSITY_CAPTION = (
    "Current density over the conductors' sections. Unequal colour within a conductor is skin and proximity effect."
)
SECTION_CAPTION = (
    "Loss density of {} over its section. The title names thin sheets that are drawn thicker than they are."
)
SHEET_CAPTION = (
    "Loss of {}. Above: loss density in its walls, thickened by the factor in the title. Below: the same "
    "through the whole thickness, along the sheet laid flat, from A to B or all round from A."
)


def loss_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
    """Losses by part and kind, and pictures of where they arise."""
    pictures = [
        Figure(
            (SHEET_CAPTION if is_sheet(result.cross_section.part(part).shape) else SECTION_CAPTION).format(part),
            f"Loss density over the section of {part}.",
            figures[stem],
        )
        for part, stem in names.loss_stems(result).items()
        if stem in figures
    ]
    if names.CURRENT_DENSITY in figures:
        pictures.append(Figure(DENSITY_CAPTION, "Current density over each conductor.", figures[names.CURRENT_DENSITY]))
    return Section("Losses", "losses", (loss_table(result), *pictures))


def part_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
    """Currents, voltages and resistances of all parts, and how parallel cables share."""
    blocks: list[Block] = [_part_table(result)]
    sharing = sharing_table(result)
    if sharing.rows:
        blocks.append(sharing)
        if names.SHARES in figures:
            picture = figures[names.SHARES]
            blocks.append(Figure(SHARES_CAPTION, "Bar chart of the currents of parallel cables.", picture))
    return Section("Parts", "parts", tuple(blocks))


def loss_table(result: Answers) -> Table[LossResult]:
    """Current and loss of each part beside its formula, then the loss of each kind and of all."""
    total = sum(loss.loss_w_per_m for loss in result.losses)
    currents = {part.part: part.current_rms_a for part in result.parts}
    hysteresis = Column[LossResult]("Of it hysteresis", lambda r: r.magnetic_loss_w_per_m, LOSS_PER_LENGTH)
    columns: tuple[Column[LossResult], ...] = (
        Column("Part", lambda r: r.part, brief=True),
        Column("Phase", lambda r: r.phase, brief=True),
        Column("Current, rms", lambda r: currents.get(r.part), AMPERE, brief=True),
        Column(
            *("Loss", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m),
            missed=lambda r: not r.within_tolerance,
            brief=True,
        ),
        *((hysteresis,) if any(loss.magnetic_loss_w_per_m > 0 for loss in result.losses) else ()),
        Column("Share", lambda r: r.loss_w_per_m / total if total > 0 else None, PER_CENT, brief=True),
        Column("Formula", lambda r: r.formula_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        difference_column(lambda r: r.formula_loss_w_per_m, lambda r: r.loss_w_per_m, brief=True),
        Column("Formula used", _formula_used),
    )
    caption = f"Loss per metre of run{names.over_all_frequencies(result)}"
    return Table(caption, columns, (*result.losses, *_sums(result)), LOSS_NOTE, units=loss_units(result))


def _sums(result: Answers) -> Iterator[LossResult]:
    """The losses of each kind and of all parts as rows of the same table."""
    groups: dict[str, list[LossResult]] = {}
    for loss in result.losses:
        groups.setdefault(plural(loss.kind).capitalize(), []).append(loss)
    for name, group in {**groups, "All parts": list(result.losses)}.items():
        formulas = [loss.formula_loss_w_per_m for loss in group if loss.formula_loss_w_per_m is not None]
        yield LossResult(
            part=f"{name} ({len(group)})",
            kind="",
            phase=None,
            loss_w_per_m=sum(loss.loss_w_per_m for loss in group),
            loss_error_w_per_m=sum(loss.loss_error_w_per_m for loss in group),
            magnetic_loss_w_per_m=sum(loss.magnetic_loss_w_per_m for loss in group),
            formula_loss_w_per_m=sum(formulas) if formulas and len(formulas) == len(group) else None,
            formula="",
            within_tolerance=True,
            formula_outside_range="",
        )


def _formula_used(loss: LossResult) -> str:
    return loss.formula + (f" (outside its range: {loss.formula_outside_range})" if loss.formula_outside_range else "")


def _part_table(result: Answers) -> Table[PartResult]:
    parallel, several = parallel_conductors(result.cross_section), names.several_frequencies(result)
    overall = Column[PartResult]("Current over all frequencies, rms", lambda p: p.current_rms_a, AMPERE)
    columns: tuple[Column[PartResult], ...] = (
        Column("Part", lambda p: p.part),
        Column("Phase", lambda p: p.phase),
        Column(("Current, rms", "Current angle"), lambda p: p.current_a, AMPERE, polar=True),
        Column(("Voltage, rms", "Voltage angle"), lambda p: p.voltage_v_per_m, VOLT_PER_KM, polar=True),
        Column("R dc", lambda p: p.r_dc_ohm_per_m, OHM_PER_KM),
        Column("R ac", _resistance, OHM_PER_KM, lambda p: p.r_ac_error_ohm_per_m),
        Column("R ac / R dc", lambda p: None if (r := _resistance(p)) is None else r / p.r_dc_ohm_per_m, NUMBER),
        Column("Of equal share", lambda p: p.share_of_phase if p.part in parallel else None, PER_CENT, optional=True),
        *((overall,) if several else ()),
    )
    caption = "Currents, voltages and resistances of the parts" + (", at the fundamental of each" if several else "")
    return Table(caption, columns, result.parts, PART_NOTE.format(fundamental=FUNDAMENTAL if several else ""))


def _resistance(part: PartResult) -> float | None:
    """Ac resistance of a part of a cable. [ohm/m]"""
    return part.r_ac_ohm_per_m if part.kind in (CONDUCTOR, *METAL_LAYERS) else None


def sharing_table(result: Answers) -> Table[PartResult]:
    """How parallel cables share their current, beside the closed form."""
    columns: tuple[Column[PartResult], ...] = (
        Column("Cable", lambda p: p.part.removesuffix(f".{CONDUCTOR}"), brief=True),
        Column("Phase", lambda p: p.phase, brief=True),
        Column("Current, rms", lambda p: p.current_rms_a, AMPERE, lambda p: p.current_error_a, brief=True),
        Column("Of equal share", lambda p: p.share_of_phase, PER_CENT, brief=True),
        Column("Closed form", lambda p: p.formula_current_rms_a, AMPERE, brief=True),
        difference_column(lambda p: p.formula_current_rms_a, lambda p: p.current_rms_a, brief=True),
    )
    caption = f"Sharing between parallel cables{names.over_all_frequencies(result)}"
    return Table(caption, columns, _parallel(result), SHARING_NOTE)


def _parallel(result: Answers) -> tuple[PartResult, ...]:
    parallel = parallel_conductors(result.cross_section)
    return tuple(part for part in result.parts if part.part in parallel)


def doubt_line(result: Answers) -> str:
    """The currents too high for the areas of their conductors."""
    return doubt_in_words(doubtful_currents(result.study, result.cross_section, computed_currents(result.parts)))


def loss_rows(result: Answers) -> list[SheetRow]:
    """The loss of all parts on the sheet to sign."""
    total, error = (
        sum(loss.loss_w_per_m for loss in result.losses),
        sum(loss.loss_error_w_per_m for loss in result.losses),
    )
    unit = loss_units(result).of(LOSS_PER_LENGTH, [total])
    of = "Loss of all parts per metre of run" + (names.NO_DIRECT if result.study.has_direct_currents() else "")
    return [SheetRow(of, value_with_error(total, error, unit), section="losses")]


def part_rows(result: Answers) -> list[SheetRow]:
    """The largest share, circulating current and standing voltage on the sheet to sign."""
    rows = []
    shared = [part for part in _parallel(result) if part.share_of_phase is not None]
    if shared:
        most = largest(shared, lambda part: part.share_of_phase or 0.0)
        value = f"{per_cent(most.share_of_phase, signed=False)} of an equal share, {most.part}"
        rows.append(SheetRow("Largest current of parallel cables", value, section="parts"))
    bonded = [part for part in result.parts if part.kind != CONDUCTOR and part.current_rms_a > 0]
    if bonded:
        most = largest(bonded, lambda part: part.current_rms_a)
        value = f"{value_with_error(most.current_rms_a, most.current_error_a, AMPERE)}, {most.part}"
        rows.append(SheetRow("Largest circulating current", value, section="bonds"))
    opened = [part for part in result.parts if part.standing_voltage_v_per_100m]
    if opened:
        most = largest(opened, lambda part: part.standing_voltage_v_per_100m or 0.0)
        value = f"{plain(most.standing_voltage_v_per_100m or 0.0)}{GAP}V for each 100{GAP}m, {most.part}"
        rows.append(SheetRow("Largest standing voltage", value, section="bonds"))
    return rows


def formula_lines(result: Answers) -> list[str]:
    """The formulas of losses in screens, sheaths and trays, and why they are outside their range."""
    parts: dict[tuple[str, str], list[str]] = {}
    for loss in result.losses:
        if loss.kind != CONDUCTOR and loss.formula_loss_w_per_m is not None:
            name = loss.formula.rpartition(", ")[0] if loss.kind in METAL_LAYERS else loss.formula
            parts.setdefault((name, loss.formula_outside_range), []).append(loss.part)
    return [
        f"Loss formula of {', '.join(names)}: {formula}{f' (outside its range: {outside})' if outside else ''}."
        for (formula, outside), names in parts.items()
    ]
