"""The numbers of a case: fields, losses and current sharing, each with its error and the closed form beside it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.net_currents.marked import marked_receptors, marked_zones, net_fields
from studies.closed_forms.lines import formula_field, line_model
from studies.closed_forms.losses import CIRCULATING
from studies.result import Result
from studies.section.spectrum import components
from studies.study.parts import CONDUCTOR, METAL_LAYERS

CaseValue = float | int | bool | None


@dataclass(frozen=True)
class CaseNumber:
    """One number of a case."""

    value: CaseValue
    """[SI unit]"""
    error: float | None = None
    """Estimate of its numerical error; None for what has none, such as a width. [SI unit]"""
    formula: float | None = None
    """What a closed form gives for it; None where there is none. [SI unit]"""
    place: str = ""
    """Of a number that is the worst of several: the receptor, zone or cable that decides it; of clear gaps: which."""


NOTHING = CaseNumber(None)
"""A number that a case does not have."""
Named = Mapping[str, CaseNumber]
"""Numbers that each receptor or each circuit has, by its name."""


def worst_over_limit(result: Result) -> CaseNumber:
    """The largest field over its limit of all receptors and zones with a limit. [-]

    Against a reference level it is the exposure index, the sum over the frequencies.
    """
    return _largest([_over_limit(entry, field) for entry, field in _fields(result) if entry.limit_t is not None])


def highest_field(result: Result) -> CaseNumber:
    """The highest field of all receptors and zones. [T]"""
    return _largest([field for _, field in _fields(result)])


def energy_of(result: Result) -> CaseNumber:
    """Energy of all losses over a year, if the study states its load. [J/m]"""
    if result.energy is None or not result.energy.rows:
        return NOTHING
    total = result.energy.rows[-1]
    return CaseNumber(total.energy_j_per_m, total.energy_error_j_per_m)


def energy_cost_of(result: Result) -> CaseNumber:
    """Price of that energy per metre of run, if the study states one. [currency/m]"""
    total = result.energy.rows[-1] if result.energy is not None and result.energy.rows else None
    if total is None or total.cost_per_m is None:
        return NOTHING
    price = total.cost_per_m / total.energy_j_per_m if total.energy_j_per_m else 0.0
    return CaseNumber(total.cost_per_m, price * total.energy_error_j_per_m)


def largest_current_ratio(result: Result) -> CaseNumber:
    """Largest current over its permitted current, if the study states one. [-]"""
    cables = () if result.permitted is None else result.permitted.cables
    return _largest([CaseNumber(row.current_ratio, row.current_ratio_error, place=row.cable) for row in cables])


def equal_heat_factor_of(result: Result) -> CaseNumber:
    """Factor on all currents at which no cable loses more than alone at its permitted current. [-]"""
    found = result.permitted
    if found is None or found.equal_heat_factor is None:
        return NOTHING
    return CaseNumber(found.equal_heat_factor, found.equal_heat_factor_error, place=found.decided_by or "")


def receptor_fields(result: Result) -> Named:
    """The field at each receptor. [T]"""
    return {
        receptor.name: CaseNumber(receptor.b_rms_t, receptor.b_rms_error_t, receptor.line_formula_b_rms_t)
        for receptor in marked_receptors(result)
    }


def zone_fields(result: Result) -> Named:
    """The highest field in each zone. [T]"""
    return {
        zone.name: CaseNumber(zone.b_max_rms_t, zone.b_max_rms_error_t, _zone_formula(result, zone))
        for zone in marked_zones(result)
    }


def _fields(result: Result) -> list[tuple[ReceptorResult | ZoneResult, CaseNumber]]:
    """Each receptor and zone with its field and its place. [T]"""
    receptors, zones = receptor_fields(result), zone_fields(result)
    return [
        *((own, replace(receptors[own.name], place=own.name)) for own in marked_receptors(result)),
        *((own, replace(zones[own.name], place=f"zone {own.name}")) for own in marked_zones(result)),
    ]


def _over_limit(entry: ReceptorResult | ZoneResult, field: CaseNumber) -> CaseNumber:
    """A field over its limit, or the exposure index. [-]"""
    limit, formula = entry.limit_t or np.nan, field.formula
    if entry.exposure_index is not None and isinstance(entry, ReceptorResult) and len(entry.spectrum) != 1:
        formula = None  # a line formula of the whole spectrum is no exposure index
    by_formula = None if formula is None else formula / limit
    if entry.exposure_index is not None:
        return CaseNumber(entry.exposure_index, entry.exposure_error, by_formula, field.place)
    return CaseNumber(float(field.value or 0.0) / limit, (field.error or 0.0) / limit, by_formula, field.place)


def _zone_formula(result: Result, zone: ZoneResult) -> float | None:
    """Field of the line currents at the place of a zone's highest field; None at several frequencies. [T]"""
    own = net_fields(result, "zone").get(zone.name)
    if own is not None:
        return own.line_formula_b_rms_t
    if len(components(result.study)) > 1:
        return None
    field = formula_field(line_model(result.cross_section), np.array([[zone.x_m, zone.y_m]]))
    size = float(np.linalg.norm(np.abs(field)))
    return size if np.isfinite(size) else None


def _largest(numbers: list[CaseNumber]) -> CaseNumber:
    return max(numbers, key=lambda number: float(number.value or 0.0), default=NOTHING)


def loss_of(result: Result, *kinds: str) -> CaseNumber:
    """Loss of parts of some kinds, of all if none is named. [W/m]"""
    return _loss([loss for loss in result.losses if not kinds or loss.kind in kinds])


def tray_loss(result: Result) -> CaseNumber:
    """Loss of all that is no part of a cable. [W/m]"""
    return _loss([loss for loss in result.losses if loss.kind not in (CONDUCTOR, *METAL_LAYERS)])


def circulating_loss(result: Result) -> CaseNumber:
    """Loss that the net currents of the cables' metal layers would have alone, spread evenly over them. [W/m]"""
    layers = [part for part in result.parts if part.kind in METAL_LAYERS]
    value = sum((part.current_rms_a**2 * part.r_dc_ohm_per_m for part in layers), 0.0)
    error = sum((2 * part.current_rms_a * part.current_error_a * part.r_dc_ohm_per_m for part in layers), 0.0)
    by_formula = _circulating_formula(result, [part.part for part in layers if part.current_rms_a > 0])
    return CaseNumber(value, error, by_formula)


def largest_cable_share(result: Result) -> CaseNumber:
    """Current of the most loaded parallel cable over an equal share; nothing where no cable has a parallel one. [-]"""
    parts = [part for part in _parallel_conductors(result) if part.share_of_phase is not None]
    if not parts:
        return NOTHING
    most = max(parts, key=lambda part: part.share_of_phase or 0.0)
    share = most.share_of_phase or 0.0
    error = share * most.current_error_a / abs(most.current_a) if most.current_a != 0 else 0.0
    return CaseNumber(
        share, error, _largest_cable_share_of_lines(result, parts), f"{most.part.rpartition('.')[0]} ({most.phase})"
    )


def _largest_cable_share_of_lines(result: Result, parts: Sequence[PartResult]) -> float | None:
    """The same of line currents that share by their impedance matrix; None at several frequencies. [-]"""
    if len(components(result.study)) > 1:
        return None
    shares = [
        part.formula_current_rms_a * part.share_of_phase / abs(part.current_a)
        for part in parts
        if part.formula_current_rms_a is not None and part.share_of_phase
    ]
    return max(shares) if len(shares) == len(parts) else None


def _loss(losses: Sequence[LossResult]) -> CaseNumber:
    formulas = [loss.formula_loss_w_per_m for loss in losses]
    known = [value for value in formulas if value is not None]
    formula = math.fsum(known) if losses and len(known) == len(losses) else None
    return CaseNumber(
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
