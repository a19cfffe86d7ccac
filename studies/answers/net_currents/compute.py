"""Field and loss with the net currents of the circuits, by superposition on the solutions of a study."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from geometry.shapes import Point
from studies.answers.fields.peak import traverse_peak
from studies.answers.fields.rows import ReceptorResult, TraverseResult
from studies.answers.limits.compute import limit_distances_of
from studies.answers.limits.rows import OVERALL, LimitDistanceResult, ZoneResult
from studies.answers.limits.verdicts import field_of
from studies.answers.losses.rows import LossResult
from studies.answers.net_currents.rows import (
    NetCurrents,
    NetDistanceResult,
    NetFieldResult,
    NetLossResult,
    NetTraverseResult,
)
from studies.answers.net_currents.superposed import FieldWithNet, Superposed
from studies.answers.net_currents.with_net import field_with_net, judged_with_net, line_resultant, taken_net_currents
from studies.section.parts import METALWORK, TRAY
from studies.solve.solution import Solution, root_sum_square
from studies.study.file import Study
from studies.text.failures import guarded

ALL_PARTS = "all parts"
"""The whole study, as results call it."""


def net_currents(
    study: Study, solutions: tuple[Solution, ...], done: Mapping[str, Sequence[object]]
) -> NetCurrents | None:
    """Fields and losses with all net currents of a study; None if it has none.

    done: Rows of receptors, zones, traverses, limit distances and losses without net currents.
    """
    field = field_with_net(study, solutions)
    if not isinstance(field, FieldWithNet):
        return None
    rows, superposed = taken_net_currents(study), field.superposed
    places = [
        guarded(f"net currents at {entry.name}", partial(_place, study, field, len(rows), entry), None)
        for key in ("receptors", "zones")
        for entry in done[key]
        if isinstance(entry, ReceptorResult | ZoneResult)
    ]
    lines = [
        guarded(f"net currents along {entry.name}", partial(_traverse, field, len(rows), entry), None)
        for entry in done["traverses"]
        if isinstance(entry, TraverseResult)
    ]
    along = [line for line in lines if line is not None]
    fields = (*(row for row in places if row is not None), *(row for row, _ in along))
    own = [loss for loss in done["losses"] if isinstance(loss, LossResult)]
    losses = guarded("losses with net currents", partial(_losses, superposed, own, len(rows)), ())
    reach = guarded("limit distances with net currents", partial(_distances, study, field, done["limit_distances"]), ())
    return NetCurrents(tuple(rows), fields, reach, losses, tuple(line for _, line in along))


def _distances(study: Study, field: FieldWithNet, without: Sequence[object]) -> tuple[NetDistanceResult, ...]:
    """The largest distance of each limit."""
    before = {row.of: row for row in without if isinstance(row, LimitDistanceResult) and row.direction == OVERALL}
    return tuple(
        NetDistanceResult(
            limit_t=row.limit_t,
            limit_name=row.limit_name,
            of=row.of,
            without_state=before[row.of].state,
            without_from_outline_m=before[row.of].from_outline_m,
            state=row.state,
            from_outline_m=row.from_outline_m,
            error_m=row.error_m,
        )
        for row in limit_distances_of(study, field)
        if row.direction == OVERALL and row.of in before
    )


def _place(study: Study, field: FieldWithNet, count: int, entry: ReceptorResult | ZoneResult) -> NetFieldResult:
    """A receptor or zone."""
    (found,) = judged_with_net(study, field, [entry])
    kind = "zone" if isinstance(entry, ZoneResult) else "receptor"
    row = _field(field, count, (kind, entry.name), (found.x_m, found.y_m), field_of(entry), field_of(found))
    return replace(
        row,
        limit_t=found.limit_t,
        limit_name=found.limit_name,
        exposure_index=found.exposure_index,
        exposure_error=found.exposure_error,
        within_limit=found.within_limit,
        within_limit_without=entry.within_limit,
    )


def _traverse(field: FieldWithNet, count: int, own: TraverseResult) -> tuple[NetFieldResult, NetTraverseResult]:
    """The highest field along a traverse, and that at its points."""
    peak = traverse_peak(own.points_m, field)
    without, error, _ = own.highest()
    now = peak.b_rms_t, peak.b_rms_error_t
    row = _field(field, count, ("traverse", own.name), (peak.x_m, peak.y_m), (without, error), now)
    return row, NetTraverseResult(own.name, peak.distance_m, field.value(own.points_m))


def _field(
    field: FieldWithNet,
    count: int,
    place: tuple[str, str],
    at: Point,
    without: tuple[float, float],
    now: tuple[float, float],
) -> NetFieldResult:
    """The field at a place of a kind and name, in the order of field and error without and with, not judged."""
    point = np.array(at)
    angles = [0.0] * count
    alone, lines = [], []
    for solution, own in zip(field.solutions, field.superposed, strict=True):
        lines.append(line_resultant(solution.model, own, point[None]))
        if own is not None:
            vectors = own.now.vectors(point[None])
            alone.append(own.together(np.stack([0 * vectors[0], *vectors[1:]]))[0])
            for term, angle in zip(own.terms, own.together(vectors)[1][0], strict=True):
                angles[term.number] = float(angle)
    return NetFieldResult(
        *place,
        x_m=at[0],
        y_m=at[1],
        b_without_rms_t=without[0],
        b_without_rms_error_t=without[1],
        net_b_rms_t=float(root_sum_square(alone)[0]),
        b_rms_t=now[0],
        b_rms_error_t=now[1],
        line_formula_b_rms_t=float(root_sum_square(lines)[0]),
        angles_rad=tuple(angles),
    )


def _losses(
    superposed: Sequence[Superposed | None], without: Sequence[LossResult], count: int
) -> tuple[NetLossResult, ...]:
    """Of each tray and piece of metalwork, and of all parts together."""
    size = len(without) + 1
    added, error, angles = np.zeros(size), np.zeros(size), np.zeros((size, count))
    for own in superposed:
        if own is not None:
            more, of_more, phases = own.losses()
            added, error = added + more, error + of_more
            angles[:, [term.number for term in own.terms]] = phases
    base = np.array([loss.loss_w_per_m for loss in without])
    base_error = np.array([loss.loss_error_w_per_m for loss in without])
    base, base_error = np.append(base, base.sum()), np.append(base_error, base_error.sum())
    shown = [k for k, loss in enumerate(without) if loss.kind in (TRAY, METALWORK)]
    names = [*(loss.part for loss in without), ALL_PARTS]
    return tuple(
        NetLossResult(
            part=names[k],
            loss_without_w_per_m=float(base[k]),
            loss_without_error_w_per_m=float(base_error[k]),
            loss_w_per_m=float(base[k] + added[k]),
            loss_error_w_per_m=float(base_error[k] + error[k]),
            angles_rad=tuple(angles[k].tolist()),
        )
        for k in (*shown, size - 1)
    )
