"""Saturation of steel, the study at other currents and with another steel: tables and sentences."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from fem.effective import DEFAULT_RULE, RULES
from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.result_units import loss_units, result_units
from studies.answers.sheet_row import SheetRow
from studies.answers.steel.rows import SaturationResult, SweepPoint
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import difference, per_cent, with_unit
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, NUMBER, PER_CENT, Family

MOST_RECEPTORS = 6
"""Receptors in the table of the current sweep; results.json holds all."""
MOST_OTHER = 6
"""Numbers with another steel in the summary; the section on saturation has them all."""
WITHIN, ABOVE = "within the limit", "above the limit"
RULE_ACCURACY = (
    "Errors of the rule beside time-domain solutions with the same curves: up to 5.5 % in the loss of thick plates, up "
    "to 7 % low in the loss of a channel tray, up to 3 % low in the field beside that tray, 9 % low in the loss with a "
    "rectangular curve. The ± of the loss contains this error at the computed saturation"
)
TYPICAL_ANGLE = (
    "Typical loss angles of steel sheet are 15 to 20° at hundreds of A/m and fall to 0 at low field (20° in a public "
    "material table of 1018 steel [seen]; Rayleigh's law gives 23° at most [derived])."
)
SATURATION_NOTE = (
    "Mean of the peaks: peak over the cycle, averaged over the area of the part. Largest peak: of all triangles; at "
    "sharp corners it grows with every finer mesh and means little. Linear loss: of the same study with a constant "
    "permeability, the stated one or that of your curve at low field. Loss over linear: loss / linear loss − 1. Error "
    "of the rule: largest error that one permeability for the whole cycle causes in the loss at this saturation; the ± "
    "of the loss contains it. Solves: field solutions until field and permeability agreed."
)
OTHER_NOTE = (
    "The study solved once more with the curve of another steel of the same use. The difference shows the uncertainty "
    "of the steel, which no ± contains: batches of sheet differ as much."
)
NO_OTHER = "No curve of another steel of this use is known: the results with one were not computed."
SWEEP_NOTE = (
    "On the finest mesh of the study, without error estimates of their own. Square law: the loss at factor 1 times the "
    "square of the factor. Difference: square law / finite element − 1."
)
SWEEP_CAPTION = (
    "The study at other currents. Dashed: constant permeability, with which the loss grows with the square of the "
    "current and the field in proportion to it, from the solution at factor 1."
)


@dataclass(frozen=True)
class OtherSteelRow:
    """A number with the study's steel and with the other."""

    name: str
    own: float
    """Field [T] or loss [W/m]."""
    other: float
    within: bool | None = None
    """Whether the other steel keeps the limit; None without one."""


def steel_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Saturation and current sweep; None where the study has neither."""
    blocks: list[Block] = []
    if result.saturation:
        harmonic, others = third_harmonic_words(result), [table for table in other_steel_tables(result) if table.rows]
        blocks += [Text((_rule(result),)), saturation_table(result)]
        blocks += [Text((harmonic,))] if harmonic else []
        blocks += others or [Text((NO_OTHER,))]
    if result.current_sweep:
        blocks.append(sweep_table(result))
        if names.CURRENT_SWEEP in figures:
            what = "Loss of trays and fields at the receptors against the currents."
            blocks.append(Figure(SWEEP_CAPTION, what, figures[names.CURRENT_SWEEP]))
    return Section("Saturation and other currents", "saturation", tuple(blocks)) if blocks else None


def _rule(result: Answers) -> str:
    steels, several = result.cross_section.steels().values(), names.several_frequencies(result)
    own = f" The field at {result.cross_section.frequency:g} Hz alone decides the permeability." if several else ""
    return (
        "Each point of saturating steel has one permeability for the whole cycle, computed together with the field by "
        f"the rule “{DEFAULT_RULE}”: {RULES[DEFAULT_RULE].meaning}. {RULE_ACCURACY}.{own} "
        f"The curves are {hysteresis_words([steel.loss_angle for steel in steels])}"
    )


def saturation_table(result: Answers) -> Table[SaturationResult]:
    """Peak flux density of each part of saturating steel, and its loss beside the linear one."""
    columns: tuple[Column[SaturationResult], ...] = (
        Column("Part", lambda p: p.part, brief=True),
        Column("Mean of the peaks", lambda p: p.mean_peak_b_t, FLUX_DENSITY, digits=3, brief=True),
        Column("Largest peak", lambda p: p.peak_b_t, FLUX_DENSITY, digits=3, brief=True),
        Column("Loss", lambda p: p.loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column("Linear loss", lambda p: p.linear_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column("Loss over linear", lambda p: difference(p.loss_w_per_m, p.linear_loss_w_per_m), PER_CENT, signed=True),
        Column("Linear permeability", lambda p: p.relative_permeability, NUMBER, digits=3),
        Column("Error of the rule", lambda p: p.rule_error, PER_CENT),
        Column("Solves", lambda p: p.solves, NUMBER, brief=True),
    )
    caption = f"Magnetisation of saturating steel{names.at_own_frequency(result)}"
    return Table(caption, columns, result.saturation, SATURATION_NOTE, units=loss_units(result))


def other_steel_tables(result: Answers) -> tuple[Table[OtherSteelRow], ...]:
    """Fields and losses with the study's steel and with the other."""
    own, other = curves_in_words(result)

    def columns(unit: Family) -> tuple[Column[OtherSteelRow], ...]:
        return (
            Column("Of", lambda row: row.name, brief=True),
            Column(own, lambda row: row.own, unit, digits=3, brief=True),
            Column(other, lambda row: row.other, unit, digits=3, brief=True),
            Column("Difference", lambda row: difference(row.other, row.own), PER_CENT, signed=True, brief=True),
            Column("Verdict with the other steel", _verdict, tone=_tone, brief=True, optional=True),
        )

    groups = (
        ("Fields with another steel", FLUX_DENSITY, _other_fields(result), result_units(result)),
        ("Losses with another steel", LOSS_PER_LENGTH, _other_losses(result), loss_units(result)),
    )
    return tuple(Table(caption, columns(unit), rows, OTHER_NOTE, units=units) for caption, unit, rows, units in groups)


def _verdict(row: OtherSteelRow) -> str | None:
    return None if row.within is None else WITHIN if row.within else ABOVE


def _tone(row: OtherSteelRow) -> Tone:
    return "" if row.within is None else "good" if row.within else "bad"


def _other_fields(result: Answers) -> tuple[OtherSteelRow, ...]:
    fields = [(r.name, r.b_rms_t, r.other_steel_b_rms_t, r.other_steel_within_limit) for r in result.receptors]
    fields += [
        (f"zone {z.name}", z.b_max_rms_t, z.other_steel_b_max_rms_t, z.other_steel_within_limit) for z in result.zones
    ]
    return tuple(OtherSteelRow(name, own, other, within) for name, own, other, within in fields if other is not None)


def _other_losses(result: Answers) -> tuple[OtherSteelRow, ...]:
    steels = {part.part for part in result.saturation}
    return tuple(
        OtherSteelRow(loss.part, loss.loss_w_per_m, loss.other_steel_loss_w_per_m)
        for loss in result.losses
        if loss.part in steels and loss.other_steel_loss_w_per_m is not None
    )


def curves_in_words(result: Answers) -> tuple[str, str]:
    """Names of the study's magnetisation curves, and of those of the other steel."""
    known = [part for part in result.saturation if part.other_curve]
    own, other = (dict.fromkeys(curves) for curves in ((p.curve for p in known), (p.other_curve for p in known)))
    return ", ".join(own), ", ".join(other)


def sweep_rows(result: Answers) -> list[SheetRow]:
    """The loss of the trays at other currents on the sheet to sign."""
    if not result.current_sweep:
        return []
    least, most = (choose(result.current_sweep, key=lambda point: point.factor) for choose in (min, max))
    losses = " to ".join(with_unit(point.tray_loss_w_per_m, LOSS_PER_LENGTH) for point in (least, most))
    of = f"Loss of the trays at {least.factor:g} to {most.factor:g} times the currents"
    return [SheetRow(of, losses, beyond="no error estimate of its own", section="saturation")]


def sweep_table(result: Answers) -> Table[SweepPoint]:
    """Losses and fields at other currents, beside the square law."""
    columns: tuple[Column[SweepPoint], ...] = (
        Column("Factor of all currents", lambda p: p.factor, NUMBER, stated=True, brief=True),
        Column("Loss of trays and metalwork", lambda p: p.tray_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column("By the square law", lambda p: p.quadratic_tray_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        difference_column(lambda p: p.quadratic_tray_loss_w_per_m, lambda p: p.tray_loss_w_per_m, brief=True),
        Column("Loss of conductors", lambda p: p.conductor_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        *(
            Column(f"Field, {receptor.name}", partial(_swept_field, k), FLUX_DENSITY)
            for k, receptor in enumerate(result.study.receptors[:MOST_RECEPTORS])
        ),
    )
    points = sorted(result.current_sweep, key=lambda point: point.factor)
    caption = f"The study at other currents{names.at_own_frequency(result)}"
    return Table(caption, columns, points, SWEEP_NOTE, units=loss_units(result))


def _swept_field(number: int, point: SweepPoint) -> float:
    return point.receptor_b_rms_t[number]


def steel_line(result: Answers) -> str:
    """Saturation of the steel, and the results with another steel."""
    if not result.saturation:
        return ""
    worst = max(result.saturation, key=lambda part: part.mean_peak_b_t)
    loss = sum(part.loss_w_per_m for part in result.saturation)
    linear = sum(part.linear_loss_w_per_m for part in result.saturation)
    unit = loss_units(result).of(LOSS_PER_LENGTH, [loss])
    peak, over = with_unit(worst.mean_peak_b_t, FLUX_DENSITY), per_cent(difference(loss, linear))
    return (
        f"Saturating steel: the flux density in {worst.part} peaks at {peak}, mean over its area; all saturating steel "
        f"loses {with_unit(loss, (unit,))}, {over} against the same steel without saturation. "
        f"{third_harmonic_words(result)}{_other_steel(result)}"
    ).strip()


def _other_steel(result: Answers) -> str:
    """Numbers with each of two steels in one sentence."""
    fields, losses = _other_fields(result), _other_losses(result)
    if not (fields or losses):
        return ""
    flux = result_units(result).of(FLUX_DENSITY, [row.own for row in fields])
    loss = loss_units(result).of(LOSS_PER_LENGTH, [row.own for row in losses])
    numbers = [(row.name, row, flux) for row in fields] + [(f"loss of {row.name}", row, loss) for row in losses]
    listed = "; ".join(
        f"{name} {with_unit(row.other, (unit,))} in place of {with_unit(row.own, (unit,))} "
        f"({per_cent(difference(row.other, row.own))})"
        for name, row, unit in numbers[:MOST_OTHER]
    )
    return f" With the curve of another steel, {curves_in_words(result)[1]}: {listed}."


def third_harmonic_words(result: Answers) -> str:
    """How large the third harmonic of the field beside saturating steel may be; empty without such steel."""
    shares = [r.third_harmonic_b_rms_t / r.b_rms_t for r in result.receptors if r.third_harmonic_b_rms_t and r.b_rms_t]
    if not shares:
        return ""
    return (
        f"Saturating steel adds a field at three times the frequency, at most {100 * max(shares):.2g} % of the "
        "fundamental at the receptors. No other number contains it; it raises an rms resultant by 0.5 % or less."
    )


def hysteresis_words(angles: Sequence[float]) -> str:
    """Whether curves have hysteresis by a stated loss angle [rad]."""
    stated = sorted({round(math.degrees(angle), 1) for angle in angles if angle > 0})
    if not stated:
        return f"without hysteresis. {TYPICAL_ANGLE}"
    some = "" if all(angle > 0 for angle in angles) else " of some parts"
    return f"with hysteresis{some} by the stated loss angle of {', '.join(f'{angle:g}°' for angle in stated)}."
