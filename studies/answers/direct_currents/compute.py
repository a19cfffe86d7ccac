"""Static field and loss of direct currents, by the solution of vanishing frequency."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from studies.answers.direct_currents.rows import DirectConductorResult, DirectCurrents, DirectFieldResult
from studies.answers.limits.judged_field import JudgedField
from studies.answers.limits.zones import judged_zone
from studies.answers.losses.doubtful_currents import doubt_in_words, doubtful_currents
from studies.answers.losses.rows import LossResult, PartResult
from studies.closed_forms.lines import formula_field, line_model
from studies.data.static_levels import STATIC_LEVELS
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.section.spectrum import Component, at_component
from studies.solve.accuracy import solve_to_tolerance
from studies.solve.solution import Solution
from studies.study.direct_currents import direct_phase_currents
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.study.requests import Receptor, Zone
from studies.text.failures import guarded
from studies.text.progress import Progress

STATIC = 1e-9
"""Frequency of the solution: skin depths are hundreds of metres, so that nothing is induced. [Hz]"""
ALL_PARTS = "all parts"


def direct_currents(
    study: Study, losses: Sequence[LossResult], parts: Sequence[PartResult], report_progress: Progress
) -> DirectCurrents | None:
    """Static fields, losses and total currents; None if no circuit has a direct current.

    losses, parts: Rows of the alternating currents.
    """
    if not study.has_direct_currents():
        return None
    report_progress("solving the static field of the direct currents")
    solution = static_solution(study, cross_section(study))
    places: tuple[Receptor | Zone, ...] = (*study.receptors, *study.zones)
    fields = [
        guarded(f"static field at {place.name}", partial(direct_field, solution, place), None) for place in places
    ]
    conductors = _conductors(solution, losses, parts)
    totals = {row.part: row.total_rms_a for row in conductors if row.total_rms_a is not None}
    doubt = doubt_in_words(doubtful_currents(study, solution.section, totals))
    net = float(solution.section.net_current().real)
    return DirectCurrents(tuple(row for row in fields if row is not None), conductors, net, doubt)


def static_section(study: Study, whole: CrossSection) -> CrossSection:
    """The cross-section with the direct currents alone; a net one returns far away."""
    currents = {
        (circuit.name, phase): complex(current)
        for circuit in study.circuits
        for phase, current in direct_phase_currents(circuit.phases, circuit.direct_current).items()
    }
    return replace(at_component(whole, Component(STATIC, currents)), earth=None)


def static_solution(study: Study, whole: CrossSection) -> Solution:
    """The solution of the direct currents to the tolerance of a study; permeabilities are those of weak fields."""
    section = static_section(study, whole)
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    found = solve_to_tolerance(section, receptors, (), study.accuracy.tolerance, lambda _: None)
    return Solution(section, *found, line_model(section))


def direct_field(solution: Solution, place: Receptor | Zone) -> DirectFieldResult:
    """Static field of a solution at a receptor, or the highest in a zone, against its static limit."""
    asked = place.static_limit
    name = asked if isinstance(asked, str) else None
    limit = STATIC_LEVELS[asked].value_t if isinstance(asked, str) else asked
    field = JudgedField((solution,))
    if isinstance(place, Zone):
        kind, peak = "zone", judged_zone(place.model_copy(update={"limit": limit}), field).peak
        point, value, error = peak.place, peak.value, peak.error
    else:
        kind, point = "receptor", np.array(place.at)
        value, error = (float(one[0]) for one in field.value_and_error(point[None]))
    b = solution.solved.probe.flux_density(solution.solved.nodal, point[None])[0].real
    return DirectFieldResult(
        kind=kind,
        name=place.name,
        x_m=float(point[0]),
        y_m=float(point[1]),
        b_t=value,
        b_error_t=error,
        bx_t=float(b[0]),
        by_t=float(b[1]),
        line_formula_b_t=float(np.linalg.norm(formula_field(solution.model, point[None]))),
        limit_t=limit,
        limit_name=name,
        within_limit=None if limit is None else value + error <= limit,
    )


def _conductors(
    solution: Solution, losses: Sequence[LossResult], parts: Sequence[PartResult]
) -> tuple[DirectConductorResult, ...]:
    """Conductors with a direct current, and all parts together."""
    rows = []
    own, errors = solution.solved.losses.total, solution.estimate.of_losses()
    currents = solution.solved.drive.currents.real
    for k, part in enumerate(solution.section.parts):
        direct, other, loss = float(currents[k]), parts[k], losses[k]
        if part.kind != CONDUCTOR or own[k] <= 1e-9 * own.max():
            continue
        rows.append(
            DirectConductorResult(
                part=part.name,
                phase=other.phase,
                direct_current_a=direct,
                current_rms_a=other.current_rms_a,
                total_rms_a=float(np.hypot(direct, other.current_rms_a)),
                direct_loss_w_per_m=float(own[k]),
                direct_loss_error_w_per_m=float(errors[k]),
                formula_direct_loss_w_per_m=direct**2 * part.dc_resistance,
                loss_w_per_m=loss.loss_w_per_m,
                total_loss_w_per_m=float(own[k]) + loss.loss_w_per_m,
                total_loss_error_w_per_m=float(errors[k]) + loss.loss_error_w_per_m,
            )
        )
    alternating = sum(loss.loss_w_per_m for loss in losses)
    alternating_error = sum(loss.loss_error_w_per_m for loss in losses)
    formulas = [row.formula_direct_loss_w_per_m or 0.0 for row in rows]
    total = DirectConductorResult(
        part=ALL_PARTS,
        phase=None,
        direct_current_a=None,
        current_rms_a=None,
        total_rms_a=None,
        direct_loss_w_per_m=float(own.sum()),
        direct_loss_error_w_per_m=float(errors.sum()),
        formula_direct_loss_w_per_m=sum(formulas),
        loss_w_per_m=alternating,
        total_loss_w_per_m=float(own.sum()) + alternating,
        total_loss_error_w_per_m=float(errors.sum()) + alternating_error,
    )
    return (*rows, total)
