"""Receptors, zones and any place with the net currents of a study."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.compute import judged
from studies.answers.limits.judged_field import JudgedField
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.zones import judged_zone
from studies.answers.net_currents.rows import NetCurrentResult
from studies.answers.net_currents.superposed import FieldWithNet, NetAtPoints, Superposed, Term
from studies.closed_forms.lines import LineModel, formula_field
from studies.formulas.line_field import line_field
from studies.section.parts import CrossSection, is_of
from studies.section.spectrum import fundamental
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.circuits import Circuit, phase_currents
from studies.study.file import Study
from studies.study.net_currents import EARTH, FAR_AWAY, carriers
from studies.study.parts import GROUPS, layer_group

Place = ReceptorResult | ZoneResult


def field_with_net(study: Study, solutions: Sequence[Solution]) -> JudgedField:
    """The field of a study, with its net currents if it has any."""
    rows = taken_net_currents(study)
    superposed = tuple(_superposed(study, solution, rows) for solution in solutions) if rows else ()
    return FieldWithNet(tuple(solutions), superposed=superposed) if rows else JudgedField(tuple(solutions))


def superposed_of(field: JudgedField) -> tuple[Superposed | None, ...]:
    """The net currents of each frequency of a field."""
    return field.superposed if isinstance(field, FieldWithNet) else (None,) * len(field.solutions)


def line_resultant(model: LineModel, net: Superposed | None, points: Floats) -> Floats:
    """Resultant of line currents with net currents at points (q, 2) [m], shape (q,). [T]"""
    formula = formula_field(model, points)
    if net is None:
        return resultant(formula)
    return net.together(np.stack([formula, *(line_field(points, *net.lines(term)) for term in net.terms)]))[0]


def net_at_points(field: JudgedField, points: Floats) -> list[NetAtPoints]:
    """Fields of the net currents of each frequency at points (q, 2) [m]; of one without, nothing."""
    nothing = np.zeros((len(points), 2), dtype=np.complex128)
    none = NetAtPoints(nothing, nothing[None][:0], np.zeros(len(points)))
    return [none if own is None else own.at_points(points) for own in superposed_of(field)]


def judged_with_net(study: Study, field: JudgedField, places: Sequence[Place]) -> list[Place]:
    """Receptors and zones of a study, as they are if it has no net currents.

    field: As of `field_with_net`.
    Returns places: With resultant, its error, place and verdict of the field; all else is without net currents.
    """
    return [_judged(study, field, place) for place in places] if isinstance(field, FieldWithNet) else [*places]


def _judged(study: Study, field: FieldWithNet, place: Place) -> Place:
    if isinstance(place, ZoneResult):
        found = judged_zone(next(zone for zone in study.zones if zone.name == place.name), field)
        (x, y), peak, verdict = found.peak.place, found.peak, found.verdict
        where = found.air.where(peak.place)
        place = replace(place, x_m=float(x), y_m=float(y), where=where, b_max_rms_t=peak.value)
        place = replace(place, b_max_rms_error_t=peak.error)
    else:
        sizes, errors = field.magnitudes_and_errors(np.array([[place.x_m, place.y_m]]))
        own = next(receptor for receptor in study.receptors if receptor.name == place.name)
        frequencies = [solution.frequency for solution in field.solutions]
        verdict = judged(own, frequencies, [float(one[0]) for one in sizes], [float(one[0]) for one in errors])
        b, error = float(root_sum_square(sizes)[0]), float(combined_error(sizes, errors)[0])
        place = replace(place, b_rms_t=b, b_rms_error_t=error)
    index, spread = verdict.exposure_index, verdict.exposure_error
    return replace(
        place,
        limit_t=verdict.limit_t,
        limit_name=verdict.limit_name,
        within_limit=verdict.within,
        exposure_index=index,
        exposure_error=spread,
    )


def taken_net_currents(study: Study) -> list[NetCurrentResult]:
    """Every net current of a study as it is taken."""
    return [row for circuit in study.circuits for row in _as_taken(study, circuit)]


def _as_taken(study: Study, circuit: Circuit) -> Iterator[NetCurrentResult]:
    """The net current of a circuit at its fundamental, unless that is 0 beside harmonics, and these."""
    net = circuit.net_current
    if net is None:
        return
    largest = max(map(abs, phase_currents(circuit).values()))
    current = net.share * largest if net.share is not None else net.current or 0.0
    row = NetCurrentResult(
        circuit=circuit.name,
        current_a=current,
        share=current / largest if largest > 0 else None,
        frequency_hz=fundamental(study, circuit),
        carried_by=carriers(tuple(dict.fromkeys(circuit.phases))),
        returns_in=net.returns_in or (FAR_AWAY if study.earth is None else EARTH),
        angle_rad=net.angle if isinstance(net.angle, float) else None,
    )
    if current > 0 or not net.harmonics:
        yield row
    for order, own in sorted(net.harmonics.items()):
        frequency = order * row.frequency_hz
        yield replace(row, current_a=own, share=None, frequency_hz=frequency, angle_rad=None)


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
