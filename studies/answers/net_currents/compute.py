"""Field and loss with the net currents of the circuits, by superposition on the solutions of a study."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from fem.polarisation import resultant
from fem.solve import part_places
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.compute import judged, limit_distances_of
from studies.answers.limits.rows import OVERALL, LimitDistanceResult, ZoneResult
from studies.answers.limits.zones import judged_zone
from studies.answers.losses.rows import LossResult
from studies.answers.net_currents.rows import (
    NetCurrentResult,
    NetCurrents,
    NetDistanceResult,
    NetFieldResult,
    NetLossResult,
)
from studies.answers.net_currents.superposed import FieldWithNet, Superposed, Term
from studies.closed_forms.lines import formula_field
from studies.formulas.line_field import line_field
from studies.section.parts import METALWORK, TRAY, CrossSection, is_of
from studies.section.spectrum import fundamental
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.circuits import Circuit, phase_currents
from studies.study.file import Study
from studies.study.net_currents import EARTH, FAR_AWAY, carriers
from studies.study.parts import GROUPS, layer_group
from studies.text.failures import guarded

ALL_PARTS = "all parts"
"""The whole study, as results call it."""


def net_currents(
    study: Study, solutions: tuple[Solution, ...], done: Mapping[str, Sequence[object]]
) -> NetCurrents | None:
    """Fields and losses with all net currents of a study; None if it has none.

    done: Rows of receptors, zones, limit distances and losses without net currents.
    """
    rows = [_as_taken(study, circuit) for circuit in study.circuits if circuit.net_current is not None]
    if not rows:
        return None
    superposed = tuple(_superposed(study, solution, rows) for solution in solutions)
    field = FieldWithNet(solutions, superposed=superposed)
    places = [entry for key in ("receptors", "zones") for entry in done[key]]
    fields = [
        guarded(f"net currents at {entry.name}", partial(_field, study, field, entry, len(rows)), None)
        for entry in places
        if isinstance(entry, ReceptorResult | ZoneResult)
    ]
    own = [loss for loss in done["losses"] if isinstance(loss, LossResult)]
    losses = guarded("losses with net currents", partial(_losses, superposed, own, len(rows)), ())
    reach = guarded("limit distances with net currents", partial(_distances, study, field, done["limit_distances"]), ())
    return NetCurrents(tuple(rows), tuple(row for row in fields if row is not None), reach, losses)


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


def _as_taken(study: Study, circuit: Circuit) -> NetCurrentResult:
    net = circuit.net_current
    assert net is not None
    largest = max(map(abs, phase_currents(circuit).values()))
    current = net.share * largest if net.share is not None else net.current or 0.0
    return NetCurrentResult(
        circuit=circuit.name,
        current_a=current,
        share=current / largest if largest > 0 else None,
        frequency_hz=fundamental(study, circuit),
        carried_by=carriers(tuple(dict.fromkeys(circuit.phases))),
        returns_in=net.returns_in or (FAR_AWAY if study.earth is None else EARTH),
        angle_rad=net.angle if isinstance(net.angle, float) else None,
    )


def _superposed(study: Study, solution: Solution, rows: Sequence[NetCurrentResult]) -> Superposed | None:
    terms = []
    for number, row in enumerate(rows):
        if math.isclose(row.frequency_hz, solution.frequency, rel_tol=1e-9):
            section = solution.section
            labels = {phase.phase: phase.tie for phase in section.phases if phase.circuit == row.circuit}
            each = complex(row.current_a / len(row.carried_by))
            currents = {labels[at]: each for at in row.carried_by}
            back = return_parts(section, row.returns_in)
            if back:
                tie = next(k for k, tie in enumerate(section.ties) if back[0] in tie.parts)
                currents[tie] = currents.get(tie, 0j) - row.current_a
            terms.append(Term(number, currents, row.angle_rad))
    return Superposed(solution, terms) if terms else None


def return_parts(section: CrossSection, name: str) -> tuple[str, ...]:
    """Parts of the study in which a net current returns, none for the earth and far away."""
    if name in (EARTH, FAR_AWAY):
        return ()
    layers = {
        layer_group(part.cable.circuit, part.kind): part for part in section.parts if part.cable and part.kind in GROUPS
    }
    first = layers.get(name)  # all parts of a group are in one tie
    return (first.name,) if first else tuple(part.name for part in section.parts if is_of(part.name, name))


def _field(study: Study, field: FieldWithNet, entry: ReceptorResult | ZoneResult, count: int) -> NetFieldResult:
    if isinstance(entry, ZoneResult):
        kind, without, without_error = "zone", entry.b_max_rms_t, entry.b_max_rms_error_t
        found = judged_zone(next(zone for zone in study.zones if zone.name == entry.name), field)
        point, b, error, verdict = found.peak.place, found.peak.value, found.peak.error, found.verdict
    else:
        kind, without, without_error = "receptor", entry.b_rms_t, entry.b_rms_error_t
        point = np.array([entry.x_m, entry.y_m])
        place = next(receptor for receptor in study.receptors if receptor.name == entry.name)
        sizes, errors = field.magnitudes_and_errors(point[None])
        b, error = float(root_sum_square(sizes)[0]), float(combined_error(sizes, errors)[0])
        frequencies = [solution.frequency for solution in field.solutions]
        verdict = judged(place, frequencies, [float(one[0]) for one in sizes], [float(one[0]) for one in errors])
    angles = [0.0] * count
    alone, lines = [], []
    for solution, own in zip(field.solutions, field.superposed, strict=True):
        formula = formula_field(solution.model, point[None])
        if own is None:
            lines.append(resultant(formula))
            continue
        vectors = own.now.vectors(point[None])
        alone.append(own.together(np.stack([0 * vectors[0], *vectors[1:]]))[0])
        for term, angle in zip(own.terms, own.together(vectors)[1][0], strict=True):
            angles[term.number] = float(angle)
        lines.append(own.together(np.stack([formula, *(_line(own, term, point[None]) for term in own.terms)]))[0])
    return NetFieldResult(
        kind=kind,
        place=entry.name,
        x_m=float(point[0]),
        y_m=float(point[1]),
        b_without_rms_t=without,
        b_without_rms_error_t=without_error,
        net_b_rms_t=float(root_sum_square(alone)[0]),
        b_rms_t=b,
        b_rms_error_t=error,
        line_formula_b_rms_t=float(root_sum_square(lines)[0]),
        angles_rad=tuple(angles),
        limit_t=verdict.limit_t,
        limit_name=verdict.limit_name,
        exposure_index=verdict.exposure_index,
        exposure_error=verdict.exposure_error,
        within_limit=verdict.within,
        within_limit_without=entry.within_limit,
    )


def _line(own: Superposed, term: Term, points: Floats) -> Complexes:
    """(Bx, By) of a net current as lines at the conductors' axes and in the middle of the metal of its return."""
    section, model = own.solution.section, own.solution.model
    axes = dict(zip((part.name for part in model.conductors), model.axes, strict=True))
    places = dict(zip(own.now.fields.part_names, part_places(own.now.fields), strict=True))
    at, currents = [], []
    for tie, current in term.currents.items():
        parts = section.ties[tie].parts
        at += [axes.get(part, places[part]) for part in parts]
        currents += [current * np.exp(1j * (term.angle or 0.0)) / len(parts)] * len(parts)
    return line_field(points, np.array(at), np.array(currents))


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
