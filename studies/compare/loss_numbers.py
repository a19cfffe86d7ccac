"""The losses and the current sharing of a case, each with its error and what a closed form gives."""

from __future__ import annotations

import math
from collections.abc import Sequence

from studies.answers.losses.rows import LossResult, PartResult
from studies.closed_forms.losses import CIRCULATING
from studies.compare.number import NOTHING, Number
from studies.result import Result
from studies.section.spectrum import components
from studies.study.parts import CONDUCTOR, METAL_LAYERS


def total_loss(result: Result) -> Number:
    """Loss of all parts. [W/m]"""
    return _loss(result.losses)


def tray_loss(result: Result) -> Number:
    """Loss of all that is no part of a cable. [W/m]"""
    return _loss([loss for loss in result.losses if loss.kind not in (CONDUCTOR, *METAL_LAYERS)])


def conductor_loss(result: Result) -> Number:
    """Loss of the cables' conductors. [W/m]"""
    return _loss([loss for loss in result.losses if loss.kind == CONDUCTOR])


def screen_loss(result: Result) -> Number:
    """Loss of the cables' screens, sheaths and armours. [W/m]"""
    return _loss([loss for loss in result.losses if loss.kind in METAL_LAYERS])


def circulating_loss(result: Result) -> Number:
    """Loss that the net currents of the cables' metal layers would have alone, spread evenly over them. [W/m]"""
    layers = [part for part in result.parts if part.kind in METAL_LAYERS]
    value = sum((part.current_rms_a**2 * part.r_dc_ohm_per_m for part in layers), 0.0)
    error = sum((2 * part.current_rms_a * part.current_error_a * part.r_dc_ohm_per_m for part in layers), 0.0)
    by_formula = _circulating_formula(result, [part.part for part in layers if part.current_rms_a > 0])
    return Number(value, error, by_formula)


def largest_share(result: Result) -> Number:
    """Current of the most loaded parallel cable over an equal share; nothing where no cable has a parallel one. [-]"""
    parts = [part for part in _parallel_conductors(result) if part.share_of_phase is not None]
    if not parts:
        return NOTHING
    most = max(parts, key=lambda part: part.share_of_phase or 0.0)
    share = most.share_of_phase or 0.0
    error = share * most.current_error_a / abs(most.current_a) if most.current_a != 0 else 0.0
    return Number(
        share, error, _largest_share_of_lines(result, parts), f"{most.part.rpartition('.')[0]} ({most.phase})"
    )


def _largest_share_of_lines(result: Result, parts: Sequence[PartResult]) -> float | None:
    """The same of line currents that share by their impedance matrix; None at several frequencies. [-]"""
    if len(components(result.study)) > 1:
        return None
    shares = [
        part.formula_current_rms_a * part.share_of_phase / abs(part.current_a)
        for part in parts
        if part.formula_current_rms_a is not None and part.share_of_phase
    ]
    return max(shares) if len(shares) == len(parts) else None


def _loss(losses: Sequence[LossResult]) -> Number:
    formulas = [loss.formula_loss_w_per_m for loss in losses]
    known = [value for value in formulas if value is not None]
    formula = math.fsum(known) if losses and len(known) == len(losses) else None
    return Number(
        sum((loss.loss_w_per_m for loss in losses), 0.0),
        sum((loss.loss_error_w_per_m for loss in losses), 0.0),
        formula,
    )


def _circulating_formula(result: Result, parts: Sequence[str]) -> float | None:
    """Closed form of the circulating loss of some parts; None where one has none, or at several frequencies. [W/m]"""
    if not parts or len(components(result.study)) > 1:
        return None
    values = {
        loss.part: loss.formula_loss_w_per_m
        for loss in result.losses
        if loss.formula.startswith(CIRCULATING) and loss.formula_loss_w_per_m is not None
    }
    return math.fsum(values[part] for part in parts) if all(part in values for part in parts) else None


def _parallel_conductors(result: Result) -> list[PartResult]:
    cables = {cable.label: cable for cable in result.cross_section.cables}
    counts: dict[tuple[str, str], int] = {}
    for cable in cables.values():
        counts[cable.circuit, cable.phase] = counts.get((cable.circuit, cable.phase), 0) + 1
    parallel = {label for label, cable in cables.items() if counts[cable.circuit, cable.phase] > 1}
    return [part for part in result.parts if part.kind == CONDUCTOR and part.part.rpartition(".")[0] in parallel]
