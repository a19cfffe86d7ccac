"""Fields and losses with the curve of another steel of the same use: how far they depend on the steel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.compute import judge
from studies.answers.limits.rows import ZoneResult
from studies.answers.losses.rows import LossResult
from studies.section.parts import CrossSection
from studies.solve.accuracy import solve_once
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.progress import Progress


def with_other_steel(
    study: Study,
    solution: Solution,
    receptors: Sequence[ReceptorResult],
    zones: Sequence[ZoneResult],
    losses: Sequence[LossResult],
    report_progress: Progress,
) -> Mapping[str, Sequence[object]]:
    """Receptors, zones and losses with their numbers by the other steel; nothing if no other curve is known.

    On the mesh before the last, on which the study's own steel is solved already: both have its error, and the ratio of
    the two is far better than the steel is known. The field of a zone is compared at the place of its highest field
    with the study's steel.
    """
    section = _section_of_other(solution.section)
    if section is None:
        return {}
    report_progress("solving with the curve of another steel")
    places = np.array([(zone.x_m, zone.y_m) for zone in zones]).reshape(-1, 2)
    points = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    other = solve_once(section, solution.estimate.coarser.mesh, np.vstack([points, places]), ()).requested
    fields = resultant(other.receptors)
    before = solution.estimate.before
    in_zones = resultant(solution.solved.probe.flux_density(solution.solved.nodal, places))
    of_losses = _ratio(other.losses, before.losses)
    return {
        "receptors": tuple(_receptors(study, receptors, _ratio(fields[: len(points)], resultant(before.receptors)))),
        "zones": tuple(_zones(zones, _ratio(fields[len(points) :], in_zones))),
        "losses": tuple(
            replace(loss, other_steel_loss_w_per_m=float(loss.loss_w_per_m * ratio))
            for ratio, loss in zip(of_losses, losses, strict=True)
        ),
    }


def _section_of_other(section: CrossSection) -> CrossSection | None:
    """The cross-section with the other curve of each steel that has one; None if none has."""
    parts = tuple(
        replace(part, steel=replace(part.steel, curve=part.steel.other))
        if part.steel is not None and part.steel.other is not None
        else part
        for part in section.parts
    )
    return None if parts == section.parts else replace(section, parts=parts)


def _receptors(study: Study, receptors: Sequence[ReceptorResult], ratios: Floats) -> Iterator[ReceptorResult]:
    """The receptors with their field by the other steel, and its verdict."""
    for ratio, stated, receptor in zip(ratios, study.receptors, receptors, strict=True):
        parts = receptor.spectrum
        fields, errors = [part.b_rms_t * ratio for part in parts], [part.b_rms_error_t * ratio for part in parts]
        within = judge(stated.limit, [part.frequency_hz for part in parts], fields, errors).within
        value = float(receptor.b_rms_t * ratio)
        yield replace(receptor, other_steel_b_rms_t=value, other_steel_within_limit=within)


def _zones(zones: Sequence[ZoneResult], ratios: Floats) -> Iterator[ZoneResult]:
    """The zones with their highest field by the other steel, and its verdict; the exposure is in proportion to it."""
    for ratio, zone in zip(ratios, zones, strict=True):
        worst = float(zone.b_max_rms_t + zone.b_max_rms_error_t) * float(ratio)
        within = None if zone.limit_t is None else worst <= zone.limit_t
        if zone.exposure_index is not None and zone.b_max_rms_t > 0:
            within = zone.exposure_index * worst / zone.b_max_rms_t <= 1
        value = float(zone.b_max_rms_t * ratio)
        yield replace(zone, other_steel_b_max_rms_t=value, other_steel_within_limit=within)


def _ratio(other: Floats, own: Floats) -> Floats:
    return np.divide(other, own, out=np.ones_like(own), where=own > 0)
