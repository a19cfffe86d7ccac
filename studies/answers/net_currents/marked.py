"""Receptors and zones of a result as maps mark and comparisons judge them: with net currents, if the study has any."""

from __future__ import annotations

from dataclasses import replace

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.answers.net_currents.rows import NetFieldResult


def marked_receptors(result: Answers) -> tuple[ReceptorResult, ...]:
    """The receptors with field, error, line formula and verdict of the field with net currents."""
    net = net_fields(result, "receptor")
    return tuple(
        replace(
            one,
            b_rms_t=own.b_rms_t,
            b_rms_error_t=own.b_rms_error_t,
            line_formula_b_rms_t=own.line_formula_b_rms_t,
            within_limit=own.within_limit,
            exposure_index=own.exposure_index,
            exposure_error=own.exposure_error,
        )
        if (own := net.get(one.name)) is not None
        else one
        for one in result.receptors
    )


def marked_zones(result: Answers) -> tuple[ZoneResult, ...]:
    """The zones with place, highest field, error and verdict of the field with net currents."""
    net = net_fields(result, "zone")
    return tuple(
        replace(
            one,
            x_m=own.x_m,
            y_m=own.y_m,
            b_max_rms_t=own.b_rms_t,
            b_max_rms_error_t=own.b_rms_error_t,
            within_limit=own.within_limit,
            exposure_index=own.exposure_index,
            exposure_error=own.exposure_error,
        )
        if (own := net.get(one.name)) is not None
        else one
        for one in result.zones
    )


def net_fields(result: Answers, kind: str) -> dict[str, NetFieldResult]:
    """Fields with net currents at the places of a kind, by name; none without net currents."""
    fields = () if result.net_currents is None else result.net_currents.fields
    return {row.place: row for row in fields if row.kind == kind}
