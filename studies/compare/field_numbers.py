"""The field of a case: the worst over its limit, and the highest, each with the place that decides it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.closed_forms.lines import formula_field, line_model
from studies.compare.number import NOTHING, Number
from studies.result import Result
from studies.section.spectrum import components


def worst_over_limit(result: Result) -> Number:
    """The largest field over its limit of all receptors and zones with a limit. [-]

    Notes
    -----
    Against a reference level it is the exposure index, the sum over the frequencies.
    """
    ratios = [_receptor_ratio(receptor) for receptor in result.receptors if receptor.limit_t is not None]
    ratios += [_zone_ratio(result, zone) for zone in result.zones if zone.limit_t is not None]
    return _largest(ratios)


def highest_field(result: Result) -> Number:
    """The highest field of all receptors and zones. [T]"""
    fields = [
        Number(receptor.b_rms_t, receptor.b_rms_error_t, receptor.line_formula_b_rms_t, receptor.name)
        for receptor in result.receptors
    ]
    fields += [
        Number(zone.b_max_rms_t, zone.b_max_rms_error_t, _zone_formula(result, zone), f"zone {zone.name}")
        for zone in result.zones
    ]
    return _largest(fields)


def receptor_fields(result: Result) -> Mapping[str, Number]:
    """The field at each receptor. [T]"""
    return {
        receptor.name: Number(receptor.b_rms_t, receptor.b_rms_error_t, receptor.line_formula_b_rms_t)
        for receptor in result.receptors
    }


def zone_fields(result: Result) -> Mapping[str, Number]:
    """The highest field in each zone. [T]"""
    return {
        zone.name: Number(zone.b_max_rms_t, zone.b_max_rms_error_t, _zone_formula(result, zone))
        for zone in result.zones
    }


def _receptor_ratio(receptor: ReceptorResult) -> Number:
    limit = receptor.limit_t or np.nan
    if receptor.exposure_index is not None:
        # a line formula of the whole spectrum is no exposure index
        formula = receptor.line_formula_b_rms_t / limit if len(receptor.spectrum) == 1 else None
        return Number(receptor.exposure_index, receptor.exposure_error, formula, receptor.name)
    return Number(
        receptor.b_rms_t / limit, receptor.b_rms_error_t / limit, receptor.line_formula_b_rms_t / limit, receptor.name
    )


def _zone_ratio(result: Result, zone: ZoneResult) -> Number:
    limit = zone.limit_t or np.nan
    ratio = zone.b_max_rms_t / limit if zone.exposure_index is None else zone.exposure_index
    error = zone.b_max_rms_error_t / limit if zone.exposure_error is None else zone.exposure_error
    formula = _zone_formula(result, zone)
    return Number(ratio, error, None if formula is None else formula / limit, f"zone {zone.name}")


def _zone_formula(result: Result, zone: ZoneResult) -> float | None:
    """Field of the line currents at the place of a zone's highest field; None at several frequencies. [T]"""
    if len(components(result.study)) > 1:
        return None
    field = formula_field(line_model(result.cross_section), np.array([[zone.x_m, zone.y_m]]))
    size = float(np.linalg.norm(np.abs(field)))
    return size if np.isfinite(size) else None


def _largest(numbers: list[Number]) -> Number:
    return max(numbers, key=lambda number: float(number.value or 0.0), default=NOTHING)
