"""The answers with the curve of another steel of the same use: how far they depend on which steel it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.compute import judge
from studies.answers.limits.rows import ZoneResult
from studies.answers.losses.rows import LossResult
from studies.section.cross_section import CrossSection
from studies.solve.accuracy import Progress, solve_once
from studies.solve.solution import Solution
from studies.study.file import Study


@dataclass(frozen=True)
class OtherSteel:
    """Answers with the other steel over those with the study's, at the frequency that magnetises it. [-]"""

    receptors: Floats
    """Shape (r,)."""
    zones: Floats
    """At the place of the highest field with the study's steel, shape (z,)."""
    losses: Floats
    """Of each part, shape (N,)."""


def with_other(
    study: Study,
    solution: Solution,
    receptors: tuple[ReceptorResult, ...],
    zones: tuple[ZoneResult, ...],
    losses: tuple[LossResult, ...],
    tell: Progress,
) -> tuple[tuple[ReceptorResult, ...], tuple[ZoneResult, ...], tuple[LossResult, ...]]:
    """Receptors, zones and losses with their numbers by the other steel; as they are where no other curve is known."""
    other = solved_with_other_steel(study, solution, zones, tell)
    if other is None:
        return receptors, zones, losses
    return receptors_with(other, study, receptors), zones_with(other, zones), losses_with(other, losses)


def solved_with_other_steel(
    study: Study, solution: Solution, zones: Sequence[ZoneResult], tell: Progress
) -> OtherSteel | None:
    """Solve a study once more with the other steel; None where no other curve is known.

    Notes
    -----
    On the mesh before the last, on which the study's own steel is solved already: both have its error, and the ratio of
    the two is far better than the steel is known.
    """
    section = with_other_steel(solution.section)
    if section is None:
        return None
    tell("solving with the curve of another steel")
    places = np.array([(zone.x_m, zone.y_m) for zone in zones]).reshape(-1, 2)
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    other = solve_once(section, solution.estimate.coarser.mesh, np.vstack([receptors, places]), ())
    fields = resultant(other.requested.receptors)
    before = solution.estimate.before
    of_zones = resultant(solution.solved.probe.flux_density(solution.solved.nodal, places))
    return OtherSteel(
        _ratio(fields[: len(receptors)], resultant(before.receptors)),
        _ratio(fields[len(receptors) :], of_zones),
        _ratio(other.requested.losses, before.losses),
    )


def with_other_steel(section: CrossSection) -> CrossSection | None:
    """A cross-section with the other curve of each steel that has one; None where none has."""
    parts = tuple(
        replace(part, steel=replace(part.steel, curve=part.steel.other))
        if part.steel is not None and part.steel.other is not None
        else part
        for part in section.parts
    )
    return None if parts == section.parts else replace(section, parts=parts)


def receptors_with(
    other: OtherSteel, study: Study, receptors: tuple[ReceptorResult, ...]
) -> tuple[ReceptorResult, ...]:
    """The receptors with their field by the other steel, and its verdict."""
    found = []
    for ratio, stated, receptor in zip(other.receptors, study.receptors, receptors, strict=True):
        parts = receptor.spectrum
        frequencies = [part.frequency_hz for part in parts]
        fields, errors = [part.b_rms_t * ratio for part in parts], [part.b_rms_error_t * ratio for part in parts]
        within = judge(stated.limit, frequencies, fields, errors).within
        value = float(receptor.b_rms_t * ratio)
        found.append(replace(receptor, other_steel_b_rms_t=value, other_steel_within_limit=within))
    return tuple(found)


def zones_with(other: OtherSteel, zones: tuple[ZoneResult, ...]) -> tuple[ZoneResult, ...]:
    """The zones with their highest field by the other steel, and its verdict; an exposure grows as the field does."""
    found = []
    for ratio, zone in zip(other.zones, zones, strict=True):
        worst = float(zone.b_max_rms_t + zone.b_max_rms_error_t) * float(ratio)
        within = None if zone.limit_t is None else worst <= zone.limit_t
        if zone.exposure_index is not None and zone.b_max_rms_t > 0:
            within = zone.exposure_index * worst / zone.b_max_rms_t <= 1
        value = float(zone.b_max_rms_t * ratio)
        found.append(replace(zone, other_steel_b_max_rms_t=value, other_steel_within_limit=within))
    return tuple(found)


def losses_with(other: OtherSteel, losses: tuple[LossResult, ...]) -> tuple[LossResult, ...]:
    """The losses with those by the other steel."""
    pairs = zip(other.losses, losses, strict=True)
    return tuple(replace(loss, other_steel_loss_w_per_m=float(loss.loss_w_per_m * ratio)) for ratio, loss in pairs)


def _ratio(other: Floats, own: Floats) -> Floats:
    return np.divide(other, own, out=np.ones_like(own), where=own > 0)
