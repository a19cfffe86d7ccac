"""How saturating steel was magnetised, and the study at other currents, as blocks."""

from __future__ import annotations

from collections.abc import Mapping

from fem.effective import DEFAULT_RULE, RULES
from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.steel.steel_words import (
    RULE_ACCURACY,
    curves_in_words,
    hysteresis_words,
    other_steel_rows,
    third_harmonic_words,
)
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Grid, Head
from studies.text.numbers import NONE, difference, percent, significant
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, common_unit

MOST_RECEPTORS = 6
"""Receptors in the table of the current sweep; results.json holds all."""


def steel_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Saturation and current sweep; None where the study has neither."""
    blocks: list[Block] = []
    if result.saturation:
        blocks += [Text((_rule(result),)), _saturation_table(result), *_other_steel(result)]
    if result.current_sweep:
        blocks.append(_sweep_table(result))
        if names.CURRENT_SWEEP in figures:
            blocks.append(
                Figure(
                    "The study at other currents. Dashed: what constant permeability gives, loss with the square of "
                    "the current and field in proportion to it, from the solution at factor 1.",
                    "Loss of trays and fields at the receptors against the currents.",
                    figures[names.CURRENT_SWEEP],
                )
            )
    return Section("Saturation and other currents", "saturation", tuple(blocks)) if blocks else None


def _rule(result: Answers) -> str:
    several = len(names.frequencies(result)) > 1
    rides = (
        f" The steel is magnetised at {result.cross_section.frequency:g} Hz; others see the permeability it leaves."
        if several
        else ""
    )
    return (
        "Each point of saturating steel has one permeability for the whole cycle, found together with the field: the "
        f"rule “{DEFAULT_RULE}”, {RULES[DEFAULT_RULE].meaning}. {RULE_ACCURACY}.{rides} "
        f"The curves are {hysteresis_words([steel.loss_angle for steel in result.cross_section.steels().values()])}"
    )


def _saturation_table(result: Answers) -> Grid:
    unit = common_unit([part.loss_w_per_m for part in result.saturation], LOSS_PER_LENGTH)
    flux = common_unit([part.mean_peak_b_t for part in result.saturation], FLUX_DENSITY)
    return Grid(
        f"Magnetisation of saturating steel{names.at_own_frequency(result)}",
        (
            Head("Part"),
            Head("Mean of the peaks", flux.symbol),
            Head("Largest peak", flux.symbol),
            Head("Loss", unit.symbol),
            Head("Linear loss", unit.symbol),
            Head("Loss over linear", "%"),
            Head("Linear permeability", "–"),
            Head("Error of the rule", "%"),
            Head("Solves", "–"),
        ),
        tuple(
            (
                part.part,
                significant(part.mean_peak_b_t, flux, 3),
                significant(part.peak_b_t, flux, 3),
                significant(part.loss_w_per_m, unit),
                significant(part.linear_loss_w_per_m, unit),
                percent(difference(part.loss_w_per_m, part.linear_loss_w_per_m)),
                f"{part.relative_permeability:.4g}",
                percent(part.rule_error, signed=False),
                str(part.solves),
            )
            for part in result.saturation
        ),
        "Peaks over the cycle; their mean over the area of the part, and the largest of all triangles, which grows at "
        "sharp corners as the mesh is refined and says little. Linear: the same study with the stated permeability, "
        "or that of a curve of your own at low field, at every field strength. Loss over linear: less one. Error of "
        "the rule: largest error of the loss by one permeability for the whole cycle, at this saturation; part of the "
        "± of the loss. Solves: field solutions until field and permeability agreed.",
    )


def _other_steel(result: Answers) -> list[Block]:
    """The numbers with the curve of another steel, and what is in no number."""
    rows, harmonic = other_steel_rows(result), third_harmonic_words(result)
    blocks: list[Block] = [Text((harmonic,))] if harmonic else []
    if not rows:
        return [
            *blocks,
            Text(("No curve of another steel of this use is known: how far the answers depend on it is open.",)),
        ]
    own, other = curves_in_words(result)
    table = Grid(
        "The same with another steel",
        (Head("Of"), Head(own), Head(other), Head("Difference"), Head("Verdict with the other steel")),
        tuple((*row[:4], row[4] or NONE) for row in rows),
        "Solved once more with the curve of another steel of the same use. The difference is the uncertainty of the "
        "steel, which no ± contains: batches of sheet differ as much.",
    )
    return [*blocks, table]


def _sweep_table(result: Answers) -> Grid:
    points = sorted(result.current_sweep, key=lambda point: point.factor)
    unit = common_unit([point.tray_loss_w_per_m for point in points], LOSS_PER_LENGTH)
    own = common_unit([point.conductor_loss_w_per_m for point in points], LOSS_PER_LENGTH)
    shown = result.study.receptors[:MOST_RECEPTORS]
    fields = common_unit([b for point in points for b in point.receptor_b_rms_t[:MOST_RECEPTORS]], FLUX_DENSITY)
    return Grid(
        f"The study at other currents{names.at_own_frequency(result)}",
        (
            Head("Factor of all currents", "–"),
            Head("Loss of trays and metalwork", unit.symbol),
            Head("By the square law", unit.symbol),
            Head("Square law, difference", "%"),
            Head("Loss of conductors", own.symbol),
            *(Head(f"Field, {receptor.name}", fields.symbol) for receptor in shown),
        ),
        tuple(
            (
                f"{point.factor:g}",
                significant(point.tray_loss_w_per_m, unit),
                significant(point.quadratic_tray_loss_w_per_m, unit),
                percent(difference(point.quadratic_tray_loss_w_per_m, point.tray_loss_w_per_m)),
                significant(point.conductor_loss_w_per_m, own),
                *(significant(b, fields) for b in point.receptor_b_rms_t[:MOST_RECEPTORS]),
            )
            for point in points
        ),
        "On the finest mesh of the study, without error estimates of their own. Square law: the loss at factor 1 times "
        "the square of the factor; difference: law over finite element less one.",
    )
