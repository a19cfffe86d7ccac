"""A survey in tables, sentences and the row of the sheet to sign."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from studies.answers.answers import Answers
from studies.answers.figure_names import without_net_currents
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.answers.survey.rows import (
    UNLIKELY,
    FittedCircuit,
    FittedPermeability,
    NextReading,
    SurveyFit,
    SurveyReading,
    SurveyResult,
)
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import fixed, per_cent, plain, with_unit
from studies.text.table import Column, Table
from studies.text.units import AMPERE, DEGREE, FLUX_DENSITY, METRE, NUMBER, PER_CENT

FIGURE = "survey"
FAR_OFF = 3.0
"""Deviations above this multiple of the uncertainty are marked. [-]"""
READING_NOTE = (
    "Computed: the field as drawn at the load of the time. Deviation: computed less measured, over the standard "
    "uncertainty of the reading; of good readings and a right study two in three are within 1, and 19 of 20 within 2. "
    "Formula: line currents without metal. Field map and traverses show readings of the resultant over their load."
)
FIT_NOTE = (
    "±: standard uncertainty from the readings alone, two in three. Load: factor on the stated currents. Residual "
    "current: net current of the circuit, the same in each of its conductors, constant over the survey, that returns "
    "far away; its angle is ahead of the circuit's first phase. "
)
STEEL_NOTE = "Steel keeps the permeability of the solution."
FITTED_NOTE = (
    "Permeability: relative, one number for all of the part that the study names; at least and at most: two standard "
    "uncertainties about it, 19 of 20, within the stated range. Other steel keeps that of the solution."
)
PERMEABILITY = (
    ("Permeability", "relative_permeability"),
    ("at least", "relative_permeability_lowest"),
    ("at most", "relative_permeability_highest"),
)
BEYOND = "sources that are not in the study, readings whose errors depend on each other"
CAPTION = (
    "Readings with their standard uncertainty, the field computed as drawn, and the best fit; below, the deviations in "
    "units of the uncertainty, with the band of two."
)


def survey_table(result: Answers) -> Table[SurveyReading]:
    """Each reading beside the computed field."""
    found = result.survey
    columns: tuple[Column[SurveyReading], ...] = (
        Column("Reading", lambda r: r.name, brief=True),
        Column("x", lambda r: r.x_m, METRE),
        Column("y", lambda r: r.y_m, METRE),
        Column("Axis", lambda r: r.axis),
        Column("Load", lambda r: r.load, PER_CENT),
        Column("Measured", lambda r: r.measured_t, FLUX_DENSITY, lambda r: r.uncertainty_t, brief=True),
        Column("Computed", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Formula", lambda r: r.line_formula_b_rms_t, FLUX_DENSITY),
        Column("Deviation", lambda r: r.deviation, NUMBER, digits=3, brief=True, tone=_tone_of(False)),
        Column("Fitted", lambda r: r.fitted_b_rms_t, FLUX_DENSITY, optional=True),
        Column("Deviation, fitted", lambda r: r.fitted_deviation, NUMBER, digits=3, optional=True, tone=_tone_of(True)),
    )
    rows = () if found is None else found.readings
    caption = f"Readings of the survey{without_net_currents(result)}"
    return Table(caption, columns, rows, READING_NOTE, units=result_units(result))


def fit_table(result: Answers) -> Table[tuple[int, SurveyFit, FittedCircuit]]:
    """Load and residual current of each fit that the readings allow."""
    fits = () if result.survey is None else result.survey.fits
    rows = [(number, fit, one) for number, fit in enumerate(fits, 1) for one in fit.circuits]
    columns: tuple[Column[tuple[int, SurveyFit, FittedCircuit]], ...] = (
        Column("Fit", lambda r: f"{r[0]}", brief=True),
        Column("χ²", lambda r: r[1].chi_square, NUMBER, digits=3, brief=True),
        Column("Circuit", lambda r: r[2].circuit, brief=True),
        Column("Load", lambda r: r[2].load_factor, NUMBER, lambda r: r[2].load_factor_uncertainty, brief=True),
        Column(
            "Residual current",
            lambda r: r[2].residual_a,
            AMPERE,
            lambda r: r[2].residual_uncertainty_a,
            brief=True,
            optional=True,
        ),
        Column("Angle", _radians("angle_deg"), DEGREE, _radians("angle_uncertainty_deg"), brief=True, optional=True),
    )
    if any(fit.permeability is not None for fit in fits):
        columns += tuple(
            Column(heading, _of_permeability(name), NUMBER, digits=3, brief=True) for heading, name in PERMEABILITY
        )
        note = FIT_NOTE + FITTED_NOTE
    else:
        note = FIT_NOTE + STEEL_NOTE
    return Table("Loads and residual currents that explain the readings", columns, rows, note)


def _of_permeability(name: str) -> Callable[[tuple[int, SurveyFit, FittedCircuit]], float | None]:
    return lambda row: None if row[1].permeability is None else getattr(row[1].permeability, name)


def survey_tables(result: Answers) -> tuple[Table[SurveyReading] | Table[tuple[int, SurveyFit, FittedCircuit]], ...]:
    """The tables of a terminal."""
    found = result.survey
    if found is None:
        return ()
    return (survey_table(result), fit_table(result)) if found.fits else (survey_table(result),)


def survey_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The section of the report; None without a survey."""
    if result.survey is None:
        return None
    blocks: list[Block] = [Text(survey_lines(result)), *survey_tables(result)]
    if FIGURE in figures:
        count = len(result.survey.readings)
        blocks.insert(1, Figure(CAPTION, f"{count} readings with the computed field and the fit.", figures[FIGURE]))
    return Section("Survey", "survey", tuple(blocks))


def survey_lines(result: Answers) -> tuple[str, ...]:
    """Whether the readings agree, what would explain them, what cannot be told apart, and what to read next."""
    found = result.survey
    if found is None:
        return ()
    lines = [_as_drawn(found)]
    if found.fits:
        lines.append(_as_fitted(found))
    else:
        numbers = len(found.readings) - found.degrees_of_freedom
        lines.append(
            f"Nothing was fitted: {len(found.readings)} readings do not check {numbers} fitted numbers. Take at least "
            f"{numbers + 1}, on more than one side of the run."
        )
    if found.fits and found.fits[0].permeability is not None and _explains(found):
        lines += permeability_lines(found.fits[0].permeability)
    if len(found.fits) > 1:
        lines.append(_not_told_apart(found))
    if found.next_reading is not None:
        lines.append(_next(found.next_reading, len(found.fits) > 1))
    return tuple(lines)


def survey_rows(result: Answers) -> tuple[SheetRow, ...]:
    """The line of the sheet to sign."""
    found = result.survey
    if found is None:
        return ()
    count, agrees = len(found.readings), found.agrees
    value = f"χ² = {plain(found.chi_square)} of {count} readings as drawn"
    if found.fits:
        value += f", {plain(found.fits[0].chi_square)} of {found.degrees_of_freedom} fitted"
    verdict = "agrees with the study" if agrees else "does not agree with the study"
    tone: Tone = "good" if agrees else "bad"
    of = f"Survey “{found.file}”{without_net_currents(result)}"
    return (SheetRow(of, value, verdict=verdict, tone=tone, beyond=BEYOND, section="survey"),)


def survey_verdicts(result: Answers) -> tuple[str, ...]:
    """A survey that contradicts the study stands at the head of the report."""
    found = result.survey
    return () if found is None or found.agrees else (_as_drawn(found),)


def _as_drawn(found: SurveyResult) -> str:
    count = len(found.readings)
    head = f"χ² is {plain(found.chi_square)} of {count} readings"
    if found.agrees:
        return f"The survey agrees with the study as drawn: {head}."
    worst = max(found.readings, key=lambda reading: abs(reading.deviation))
    return (
        f"The survey does not agree with the study as drawn: {head}, which chance gives in "
        f"{_chance(found.probability)}; the farthest off is “{worst.name}”, {plain(abs(worst.deviation))} "
        f"uncertainties {'below' if worst.deviation > 0 else 'above'} what was computed."
    )


def _as_fitted(found: SurveyResult) -> str:
    best = found.fits[0]
    head = f"χ² falls to {plain(best.chi_square)} of {found.degrees_of_freedom} degrees of freedom"
    if not _explains(found):
        metal = "" if best.permeability is None else f" and no permeability of {best.permeability.part} in the range"
        return (
            f"No load and no residual current{metal} explains the readings: {head}, which chance gives in "
            f"{_chance(best.probability or 0.0)}. Metal or a source is missing in the study, places or materials "
            "differ, or the uncertainties are larger than stated. The fitted numbers mean nothing then."
        )
    return f"With {' and '.join(map(_circuit_words, best.circuits))} the readings are explained: {head}."


def _explains(found: SurveyResult) -> bool:
    """Whether chi-square of the best fit may be chance."""
    probability = found.fits[0].probability
    return probability is None or probability >= UNLIKELY


def permeability_lines(one: FittedPermeability) -> tuple[str, ...]:
    """What the readings say of the permeability of the part."""
    value = f"relative permeability of {one.part}"
    span = f"{plain(one.relative_permeability_lowest)} to {plain(one.relative_permeability_highest)}"
    if one.is_determined:
        stated = f"the study has {plain(one.relative_permeability_stated)}"
        return (f"The {value} is {plain(one.relative_permeability)}, {span} with 95 in 100; {stated}.",)
    line = f"The readings do not determine the {value}: {span} all explain them, up to an end of the stated range. "
    return (line + "Take readings nearer to it, or where it shields most.",)


def _circuit_words(one: FittedCircuit) -> str:
    words = f"{plain(one.load_factor)} times the load in {one.circuit}"
    if one.residual_a is None or one.angle_deg is None:
        return words
    size = with_unit(one.residual_a, (AMPERE,))
    if one.residual_uncertainty_a is not None and one.residual_a < 2 * one.residual_uncertainty_a:
        return f"{words} (residual current not distinguishable from none)"
    return f"{words} and a residual current of {size} at {fixed(one.angle_deg, 0)}°"


def _not_told_apart(found: SurveyResult) -> str:
    others = "; ".join(" and ".join(map(_circuit_words, fit.circuits)) for fit in found.fits[1:])
    return f"The readings cannot tell this from: {others}. Do not act on one of them alone."


def _next(reading: NextReading, are_several: bool) -> str:
    axis = "the resultant" if reading.axis == "resultant" else f"the {reading.axis} axis"
    place = f"x = {plain(reading.x_m, 4)} m, y = {plain(reading.y_m, 4)} m"
    expected = with_unit(reading.expected_t, FLUX_DENSITY)
    if are_several and reading.other_t is not None:
        other = with_unit(reading.other_t, FLUX_DENSITY)
        return f"A reading of {axis} at {place} tells most: {expected} by fit 1, {other} by fit 2."
    return f"A reading of {axis} at {place} would narrow the fit most; expected there: {expected}."


def _chance(probability: float) -> str:
    return "less than 1 case in 10 000" if probability < 1e-4 else f"{per_cent(probability, signed=False)} of cases"


def _tone_of(is_fitted: bool) -> Callable[[SurveyReading], Tone]:
    def tone(row: SurveyReading) -> Tone:
        value = row.fitted_deviation if is_fitted else row.deviation
        return "bad" if value is not None and abs(value) > FAR_OFF else ""

    return tone


def _radians(name: str) -> Callable[[tuple[int, SurveyFit, FittedCircuit]], float | None]:
    def value(row: tuple[int, SurveyFit, FittedCircuit]) -> float | None:
        degrees = getattr(row[2], name)
        return None if degrees is None else math.radians(degrees)

    return value
