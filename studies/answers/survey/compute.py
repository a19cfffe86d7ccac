"""A survey beside the computed field: fields of each circuit and of its residual current, and chi-square."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.special import gammaincc

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from studies.answers.orders.transfer import transfer
from studies.answers.survey.fit import Minimum, Model, information, minima
from studies.answers.survey.permeability import Case, Permeabilities, solved_permeabilities
from studies.answers.survey.rows import (
    FittedCircuit,
    FittedPermeability,
    NextReading,
    SurveyFit,
    SurveyReading,
    SurveyResult,
)
from studies.formulas.line_field import line_field
from studies.section.enclosure import metal_at
from studies.section.survey_file import AXES, Reading, survey_readings
from studies.solve.accuracy import SAFETY
from studies.solve.solution import Solution
from studies.study.circuits import phase_currents
from studies.study.file import Study
from studies.study.survey import LOAD_AND_RESIDUAL
from studies.text.failures import guarded

ALIKE = 6.0
"""Minima whose chi-square is larger by less than this are not told apart: exp(-3) = 1 to 20 in likelihood. [P] [-]"""
GRID = 15
"""Places along each side of the area in which the next reading is looked for."""
SURE = 2.0
"""Standard uncertainties within which 19 of 20 permeabilities lie. [-]"""
BEYOND, LEAST = 0.5, 0.5
"""The area is that of the readings and this share of it, and at least this, on each side. [-] [m]"""


def survey_result(study: Study, solutions: tuple[Solution, ...]) -> SurveyResult | None:
    """The survey of a study; None if it has none."""
    if study.survey is None:
        return None
    readings = survey_readings(study)
    metal = guarded("fit of the permeability", lambda: solved_permeabilities(study, solutions), None)
    model = model_of(study, solutions, readings, metal)
    measured = np.array([reading.field for reading in readings])
    spread = np.array([reading.uncertainty for reading in readings])
    drawn = model.as_drawn()
    computed = model.fields(drawn)
    left = len(readings) - len(drawn)
    found: tuple[Minimum, ...] = ()
    if left > 0:
        found = guarded("fit of the survey", lambda: minima(model, measured, spread, ALIKE), ())
    chi_square = float((((computed - measured) / spread) ** 2).sum())
    errors = _errors(solutions, readings)
    formula = _formula(solutions, readings)
    fitted = model.fields(found[0].numbers) if found else None
    return SurveyResult(
        file=study.survey.file,
        readings=tuple(
            SurveyReading(
                name=one.name,
                x_m=one.at[0],
                y_m=one.at[1],
                axis=one.axis,
                load=one.load,
                measured_t=one.field,
                uncertainty_t=one.uncertainty,
                b_rms_t=float(computed[k]),
                b_rms_error_t=float(errors[k]),
                line_formula_b_rms_t=float(formula[k]),
                deviation=float((computed[k] - one.field) / one.uncertainty),
                fitted_b_rms_t=None if fitted is None else float(fitted[k]),
                fitted_deviation=None if fitted is None else float((fitted[k] - one.field) / one.uncertainty),
            )
            for k, one in enumerate(readings)
        ),
        chi_square=chi_square,
        probability=float(gammaincc(len(readings) / 2, chi_square / 2)),
        degrees_of_freedom=left,
        fits=tuple(_fit(study, model, metal, minimum, left) for minimum in found),
        next_reading=(
            guarded("next reading", lambda: _next(study, solutions, readings, metal, found), None) if found else None
        ),
    )


def model_of(
    study: Study, solutions: tuple[Solution, ...], readings: tuple[Reading, ...], metal: Permeabilities | None
) -> Model:
    """Fields at the readings of each circuit at its stated currents, and of one ampere of its residual current."""
    points = np.array([reading.at for reading in readings])
    own, residual = _maps(study, [(solution.section, solution.solved) for solution in solutions], points)
    varied = None
    if metal is not None:
        every = [_maps(study, cases, points) for cases in metal.cases]
        varied = metal.varied(np.array([case[0] for case in every]), np.array([case[1] for case in every]))
    return Model(
        own=own,
        residual=residual,
        loads=np.array([reading.load for reading in readings]),
        axes=np.array([AXES.index(reading.axis) for reading in readings]),
        ampere=0.01 * max(abs(current) for circuit in study.circuits for current in phase_currents(circuit).values()),
        varied=varied,
    )


def _maps(study: Study, cases: Sequence[Case], points: Floats) -> tuple[Complexes, Complexes]:
    """`own` and `residual` of the model at points (q, 2), from the solution of each frequency."""
    circuits = [circuit.name for circuit in study.circuits]
    own, residual = [], np.zeros((len(points), 2, 0), dtype=np.complex128)
    for k, (section, solved) in enumerate(cases):
        maps = transfer(section, solved.fields, points)
        drive, parts = solved.drive, solved.fields.part_names
        currents = np.array([drive.currents[parts.index(name)] for name in maps.names])
        of = {part.name: part.cable.circuit for part in section.conductors() if part.cable}
        member = np.array([[of[name] == circuit for circuit in circuits] for name in maps.names], dtype=float)
        own.append(np.einsum("qik,k,kc->qic", maps.field, currents, member))
        if k == 0 and study.survey is not None and study.survey.fit == LOAD_AND_RESIDUAL:
            residual = np.einsum("qik,kc->qic", maps.field, member / np.maximum(member.sum(axis=0), 1.0))
    return np.array(own), residual


def _errors(solutions: tuple[Solution, ...], readings: tuple[Reading, ...]) -> Floats:
    """Estimate of the numerical error of the field at each reading, as drawn. [T]"""
    points = np.array([reading.at for reading in readings])
    squares = np.zeros(len(points))
    for solution in solutions:
        solved, estimate = solution.solved, solution.estimate
        now = solved.probe.flux_density(solved.nodal, points)
        coarser = FieldProbe(estimate.coarser)
        before = coarser.flux_density(estimate.coarser.potential(estimate.before.voltages), points)
        change = SAFETY * np.linalg.norm(now - before, axis=1)
        squares += np.maximum(change, estimate.least_relative * np.linalg.norm(now, axis=1)) ** 2
    return np.asarray(np.sqrt(squares) * np.array([reading.load for reading in readings]))


def _formula(solutions: tuple[Solution, ...], readings: tuple[Reading, ...]) -> Floats:
    """Field of line currents at each reading and its load. [T]"""
    points = np.array([reading.at for reading in readings])
    own = np.array([line_field(points, s.model.axes, s.model.currents)[:, :, None] for s in solutions])
    loads, axes = (np.array([getattr(reading, name) for reading in readings]) for name in ("load", "axis"))
    none = np.zeros((len(points), 2, 0), dtype=np.complex128)
    line = Model(own, none, loads, np.array([AXES.index(axis) for axis in axes]), 1.0)
    return line.fields(np.ones(1))


def _fit(study: Study, model: Model, metal: Permeabilities | None, minimum: Minimum, left: int) -> SurveyFit:
    """A minimum in the numbers that a reader knows."""
    spread = np.sqrt(np.diagonal(minimum.covariance)) if minimum.covariance is not None else None
    rows = []
    for k, circuit in enumerate(study.circuits):
        factor, current = minimum.numbers[k], model.residual_current(minimum.numbers, k)
        first = next(iter(phase_currents(circuit).values()))
        size = turn = None
        if current is not None and minimum.covariance is not None:
            at = model.place_of_residual(k)
            own = minimum.covariance[at : at + 2, at : at + 2] * model.ampere**2
            along = np.array([current.real, current.imag]) / max(abs(current), 1e-300)
            across = np.array([-along[1], along[0]])
            size, turn = float(np.sqrt(along @ own @ along)), float(np.sqrt(across @ own @ across)) / abs(current)
        rows.append(
            FittedCircuit(
                circuit=circuit.name,
                load_factor=float(factor),
                load_factor_uncertainty=None if spread is None else float(spread[k]),
                residual_a=None if current is None else abs(current),
                residual_uncertainty_a=size,
                angle_deg=None if current is None else float(np.angle(current / first, deg=True)),
                angle_uncertainty_deg=None if turn is None else min(float(np.degrees(turn)), 180.0),
            )
        )
    probability = float(gammaincc(left / 2, minimum.chi_square / 2)) if left > 0 else None
    return SurveyFit(minimum.chi_square, probability, tuple(rows), fitted_permeability(metal, minimum))


def fitted_permeability(metal: Permeabilities | None, minimum: Minimum) -> FittedPermeability | None:
    """The permeability of a minimum with its uncertainty and the ends of what the readings allow."""
    if metal is None:
        return None
    at, (low, high) = float(minimum.numbers[-1]), metal.logarithms[[0, -1]]
    spread = None if minimum.covariance is None else float(np.sqrt(minimum.covariance[-1, -1]))
    reach = SURE * spread if spread is not None else high - low
    value = metal.stated * np.exp(at)
    return FittedPermeability(
        part=metal.part,
        relative_permeability_stated=metal.stated,
        relative_permeability=float(value),
        relative_permeability_uncertainty=None if spread is None else float(value * spread),
        relative_permeability_lowest=float(metal.stated * np.exp(max(at - reach, low))),
        relative_permeability_highest=float(metal.stated * np.exp(min(at + reach, high))),
        is_determined=bool(low < at - reach and at + reach < high),
    )


def _next(
    study: Study,
    solutions: tuple[Solution, ...],
    readings: tuple[Reading, ...],
    metal: Permeabilities | None,
    found: tuple[Minimum, ...],
) -> NextReading | None:
    """Place and axis of the reading, as sure as the others, that tells two fits apart best or narrows the only one."""
    places = _candidates(solutions[0], readings)
    sure = float(np.median([reading.uncertainty / reading.field for reading in readings if reading.field > 0]))
    floor = min(reading.uncertainty for reading in readings)  # no meter is sure of a null
    best = None
    there = tuple(Reading("", (float(x), float(y)), AXES[0], 1.0, 1.0, 1.0) for x, y in places)
    resultants = model_of(study, solutions, there, metal)
    for number, axis in enumerate(AXES):
        model = replace(resultants, axes=np.full(len(places), number))
        expected = model.fields(found[0].numbers)
        other = model.fields(found[1].numbers) if len(found) > 1 else None
        if other is not None:
            score = np.abs(other - expected) / np.maximum(sure * np.maximum(other, expected), floor)
        elif found[0].covariance is not None:
            score = information(model, found[0].numbers, found[0].covariance) / np.maximum(sure * expected, floor) ** 2
        else:
            return None
        k = int(np.argmax(score))
        x, y = map(float, places[k])
        row = NextReading(x, y, axis, float(expected[k]), None if other is None else float(other[k]))
        if best is None or score[k] > best[0] * 1.001:  # of equals the resultant
            best = (float(score[k]), row)
    return None if best is None else best[1]


def _candidates(solution: Solution, readings: tuple[Reading, ...]) -> Floats:
    """A grid of places in air around the readings, shape (n, 2). [m]"""
    points = np.array([reading.at for reading in readings])
    low, high = points.min(axis=0), points.max(axis=0)
    room = np.maximum(BEYOND * (high - low), LEAST)
    x, y = (np.linspace(low[k] - room[k], high[k] + room[k], GRID) for k in (0, 1))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    solid = metal_at(solution.section, grid)
    return np.round(grid[[body is None for body in solid]], 3)
