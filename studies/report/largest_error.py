"""The largest relative error estimate of what a summary shows."""

from __future__ import annotations

import math

from studies.answers.answers import Answers


def largest_error(result: Answers) -> float:
    """Largest error estimate over its number, of all numbers that have one and are not zero. [-]

    Receptors, zones, limit distances, impedances of the phases, the loss of each kind, fault forces, the route, and all
    that was refined.
    """
    pairs = [(entry.b_rms_t, entry.b_rms_error_t) for entry in result.receptors]
    pairs += [(zone.b_max_rms_t, zone.b_max_rms_error_t) for zone in result.zones]
    pairs += [(row.from_outline_m or 0.0, row.error_m or 0.0) for row in result.limit_distances]
    pairs += [(abs(row.z_ohm_per_m or 0.0), row.z_error_ohm_per_m or 0.0) for row in result.phases]
    pairs += [(entry.peak_force_n_per_m, entry.peak_force_error_n_per_m) for entry in result.faults]
    kinds = dict.fromkeys(loss.kind for loss in result.losses)
    for kind in kinds:
        own = [loss.loss_error_w_per_m for loss in result.losses if loss.kind == kind]
        pairs.append((result.loss_total(kind), math.fsum(own)))
    if result.route is not None:
        pairs += [(row.b_rms_t, row.b_rms_error_t) for row in result.route.fields]
        pairs.append((result.route.loss_w, result.route.loss_error_w))
    ratios = [error / value for value, error in pairs if value > 0 and math.isfinite(error)]
    return max(result.accuracy.worst_error, *ratios) if ratios else result.accuracy.worst_error
