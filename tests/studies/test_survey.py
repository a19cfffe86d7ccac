"""A survey beside the computed field: the load and residual current of invented readings, wrong models, wrong files."""

from __future__ import annotations

import argparse
import cmath
import math
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import studies
from studies import command
from studies.answers.fields.survey_marks import readings_along, readings_of
from studies.answers.fields.traverse_figure import draw_traverse
from studies.answers.survey.compute import fitted_permeability, model_of
from studies.answers.survey.fit import Minimum, Model, minima
from studies.answers.survey.permeability import Permeabilities, solved_permeabilities
from studies.answers.survey.rows import SurveyResult
from studies.answers.survey.words import permeability_lines
from studies.formulas.line_field import line_field
from studies.report.sheet import sheet_rows
from studies.section.survey_file import survey_readings
from tests.studies.cells import Expected, Known, err, num, words
from tests.studies.solved_examples import of_examples

EXAMPLES = Path(studies.__file__).parent / "examples"
TEXT = (EXAMPLES / "survey_of_feeder.toml").read_text(encoding="utf-8")
READINGS = (EXAMPLES / "survey_of_feeder.csv").read_text(encoding="utf-8")


FIELD = ("nT", "µT", "mT", "T")
PURE = ("", "–")


def page_tables(result: studies.Result) -> Iterator[Known]:
    if result.survey is not None:
        yield _readings(result.survey, full=True)
        yield from _fits(result.survey, full=True)


def terminal_tables(result: studies.Result) -> Iterator[Known]:
    if result.survey is not None:
        yield _readings(result.survey, full=False)
        yield from _fits(result.survey, full=False)


def _readings(found: SurveyResult, full: bool) -> Known:
    names = [words("Reading", lambda row: row.name)]
    if not full:
        columns = [num("Measured", FIELD, lambda row: row.measured_t), num("Computed", FIELD, lambda row: row.b_rms_t)]
        return Known("Readings of the survey", found.readings, (*names, *columns, _deviation("Deviation", "deviation")))
    columns = [
        num("x", "m", lambda row: row.x_m),
        num("y", "m", lambda row: row.y_m),
        words("Axis", lambda row: row.axis),
        num("Load", "%", lambda row: row.load),
        num("Measured", FIELD, lambda row: row.measured_t),
        err(FIELD, lambda row: row.uncertainty_t),
        num("Computed", FIELD, lambda row: row.b_rms_t),
        err(FIELD, lambda row: row.b_rms_error_t),
        num("Formula", FIELD, lambda row: row.line_formula_b_rms_t),
        _deviation("Deviation", "deviation"),
    ]
    if found.fits:
        columns += [num("Fitted", FIELD, lambda row: row.fitted_b_rms_t)]
        columns += [_deviation("Deviation, fitted", "fitted_deviation")]
    return Known("Readings of the survey", found.readings, (*names, *columns))


def _deviation(heading: str, name: str) -> Expected:
    return num(heading, PURE, lambda row: getattr(row, name))


def _fits(found: SurveyResult, full: bool) -> Iterator[Known]:
    rows = [(str(k), fit, one) for k, fit in enumerate(found.fits, 1) for one in fit.circuits]

    def number(heading: str, unit: str | tuple[str, ...], name: str, error: str, size: float = 1.0) -> list[Expected]:
        column = num(heading, unit, lambda row: getattr(row[2], name) * size)
        return [column, err(unit, lambda row: getattr(row[2], error) * size)] if full else [column]

    columns = [
        words("Fit", lambda row: row[0]),
        num("χ²", PURE, lambda row: row[1].chi_square),
        words("Circuit", lambda row: row[2].circuit),
        *number("Load", PURE, "load_factor", "load_factor_uncertainty"),
    ]
    if found.fits and found.fits[0].circuits[0].residual_a is not None:
        columns += number("Residual current", "A", "residual_a", "residual_uncertainty_a")
        columns += number("Angle", "°", "angle_deg", "angle_uncertainty_deg", math.pi / 180)
    if found.fits and found.fits[0].permeability is not None:
        for heading, end in (("Permeability", ""), ("at least", "_lowest"), ("at most", "_highest")):
            columns += [num(heading, PURE, _permeability(f"relative_permeability{end}"))]
    if rows:
        yield Known("Loads and residual currents that explain the readings", rows, tuple(columns))


def _permeability(name: str) -> Callable[[Any], float]:
    return lambda row: float(getattr(row[1].permeability, name))


def leads(result: studies.Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    found = result.survey
    if found is not None and found.probability < 0.05:
        worst = max(found.readings, key=lambda row: abs(row.deviation))
        side = "below" if worst.deviation > 0 else "above"
        text = "The survey does not agree with the study as drawn: χ² is {} of {} readings, which chance gives in {*}; "
        text += f"the farthest off is “{worst.name}”, {{}} uncertainties {side} what was computed."
        yield text, (found.chi_square, len(found.readings), abs(worst.deviation))


def sentences(result: studies.Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    yield from leads(result)
    found = result.survey
    if found is None or not found.fits:
        return
    best = found.fits[0]
    one: Any
    (one,) = best.circuits
    if best.probability is not None and best.probability < 0.05:
        yield (
            "No load and no residual current explains the readings: χ² falls to {} of {}{*}",
            (
                best.chi_square,
                found.degrees_of_freedom,
            ),
        )
    elif one.residual_a is None:
        text = f"With {{}} times the load in {one.circuit} the readings are explained: χ² falls to {{}} of {{}}{{*}}"
        yield text, (one.load_factor, best.chi_square, found.degrees_of_freedom)
    elif one.residual_a >= 2 * one.residual_uncertainty_a:
        text = f"With {{}} times the load in {one.circuit} and a residual current of {{A}} at {{}}° the readings are "
        text += "explained: χ² falls to {} of {} degrees of freedom."
        numbers = (one.load_factor, one.residual_a, round(one.angle_deg), best.chi_square, found.degrees_of_freedom)
        yield text, numbers
    if (metal := best.permeability) is not None and metal.is_determined:
        text = "The relative permeability of T1 is {}, {} to {} with 95 in 100; the study has {}."
        yield (
            text,
            (
                metal.relative_permeability,
                metal.relative_permeability_lowest,
                metal.relative_permeability_highest,
                metal.relative_permeability_stated,
            ),
        )
    if (place := found.next_reading) is not None and len(found.fits) == 1:
        text = "A reading of {*} at x = {} m, y = {} m would narrow the fit most; expected there: {T}."
        yield text, (place.x_m, place.y_m, place.expected_t)


def surveyed(folder: Path, text: str = TEXT, readings: str = READINGS) -> studies.Result:
    (folder / "survey_of_feeder.csv").write_text(readings, encoding="utf-8")
    (folder / "feeder.toml").write_text(text, encoding="utf-8")
    return studies.run(studies.load(folder / "feeder.toml"))


@pytest.fixture(scope="module")
def result(coarse_mesh: None, tmp_path_factory: pytest.TempPathFactory) -> studies.Result:
    return surveyed(tmp_path_factory.mktemp("survey"))


@pytest.fixture(scope="module")
def survey(result: studies.Result) -> SurveyResult:
    assert result.survey is not None
    return result.survey


def test_the_residual_current_of_the_readings_is_recovered(survey):
    # the readings were computed from solutions with unequal phase currents, 3 A at 40 degrees, and 3 % of noise
    best = survey.fits[0].circuits[0]
    assert abs(best.residual_a - 3.0) < 3 * best.residual_uncertainty_a < 0.5
    assert abs(best.angle_deg - 40.0) < 3 * best.angle_uncertainty_deg < 30.0
    assert abs(best.load_factor - 1.0) < 3 * best.load_factor_uncertainty < 0.1


def test_chi_square_of_the_right_model_is_that_of_its_noise(survey):
    assert 0.01 < survey.fits[0].probability < 0.99
    assert survey.probability < 1e-6  # as drawn there is no residual current


def test_readings_are_held_against_the_field_of_receptors_at_their_load(survey, tmp_path):
    places = "".join(
        f'[[receptors]]\nname = "{row.name}"\nat = ["{row.x_m} m", "{row.y_m} m"]\n' for row in survey.readings
    )
    text = TEXT.split("[survey]")[0] + places + '[accuracy]\ntolerance = "2 %"\n'
    for row, receptor in zip(survey.readings, studies.run(studies.loads(text)).receptors, strict=True):
        size = {"resultant": receptor.b_rms_t, "x": abs(receptor.bx_t), "y": abs(receptor.by_t)}[row.axis]
        assert row.b_rms_t == pytest.approx(row.load * size, rel=1e-9)
        assert row.deviation == pytest.approx((row.b_rms_t - row.measured_t) / row.uncertainty_t)


def test_a_survey_of_a_study_without_its_tray_is_seen_by_chi_square(tmp_path):
    before, after = TEXT.split("[[trays]]")
    without = surveyed(tmp_path, before + "[survey]" + after.split("[survey]")[1])
    assert without.survey is not None
    probability = without.survey.fits[0].probability
    assert probability is not None
    assert probability < 1e-6
    assert any("No load and no residual current explains the readings" in line for line in sheet_lines(without))


def sheet_lines(result: studies.Result) -> list[str]:
    from studies.answers.survey.words import survey_lines

    return list(survey_lines(result))


def flat_run(points: np.ndarray) -> Model:
    """Resultants at points near three line currents side by side."""
    axes = np.array([[-0.05, 0.0], [0.0, 0.0], [0.05, 0.0]])
    phases = 400 * np.exp(-2j * np.pi * np.arange(3) / 3)
    own = line_field(points, axes, phases)[None, :, :, None]
    residual = line_field(points, axes, np.full(3, 1 / 3))[:, :, None]
    return Model(own, residual, np.ones(len(points)), np.zeros(len(points), dtype=int), 4.0)


def fitted(model: Model, share: float) -> list[float]:
    """Angles of the fits of readings without noise, with 2.7 A at 60 degrees. [deg]"""
    current = 2.7 * cmath.exp(1j * math.radians(60)) / model.ampere
    measured = model.fields(np.array([1.0, current.real, current.imag]))
    fits = minima(model, measured, share * measured, 6.0)
    return [float(np.degrees(cmath.phase(complex(*fit.numbers[1:])))) for fit in fits]


LINE = np.stack([np.linspace(-2, 2, 9), np.full(9, -1.5)], axis=1)
"""A line below the run."""


def test_every_minimum_that_the_readings_cannot_tell_apart_is_listed():
    # far away the run is a dipole, and |B|^2 does not show the sign of what is out of step with it
    first, second = fitted(flat_run(LINE), 0.05)
    assert first == pytest.approx(60, abs=0.01)
    assert abs(second - first) == pytest.approx(180, abs=10)


def test_readings_far_surer_tell_the_minima_apart():
    # what tells them apart is the quadrupole of the three phases, weaker by spacing over distance
    assert fitted(flat_run(LINE), 0.0005) == [pytest.approx(60, abs=0.01)]


def test_slopes_are_those_of_the_fields():
    generator = np.random.default_rng(3)
    own, residual = (generator.normal(size=(*shape, 2)) @ np.array([1, 1j]) for shape in ((2, 6, 2, 2), (6, 2, 2)))
    model = Model(own, residual, generator.uniform(0.5, 1, 6), np.array([0, 1, 2, 0, 1, 2]), 0.7)
    numbers = generator.normal(size=6)
    for k in range(6):
        step = np.eye(6)[k] * 1e-6
        wanted = (model.fields(numbers + step) - model.fields(numbers - step)) / 2e-6
        assert model.slopes(numbers)[:, k] == pytest.approx(wanted, abs=1e-7)


def test_the_uncertainty_of_the_fit_is_the_scatter_of_many_surveys():
    model = flat_run(np.array([[x, y] for y in (-0.8, 0.6) for x in np.linspace(-1.5, 2, 8)]))
    right = np.array([1.0, 0.6, 0.5])
    fields, generator = model.fields(right), np.random.default_rng(5)
    spread = 0.02 * fields
    found = [minima(model, fields + spread * generator.normal(size=16), spread, 0.0)[0] for _ in range(25)]
    scatter = np.std([fit.numbers for fit in found], axis=0)
    assert found[0].covariance is not None
    # the scatter of 25 has a standard uncertainty of 14 %
    assert scatter == pytest.approx(np.sqrt(np.diagonal(found[0].covariance)), rel=0.35)


STEEL = "survey_of_steel_tray"
STEEL_TEXT = (EXAMPLES / f"{STEEL}.toml").read_text(encoding="utf-8")


@of_examples([STEEL])
def test_the_permeability_of_the_readings_is_recovered(solved):
    # ten readings computed with 300 and 0.97 times the load by another study at 0.5 %, with 3 % of noise
    fit = solved.survey.fits[0]
    assert (
        abs(math.log(fit.permeability.relative_permeability / 300))
        < 3 * fit.permeability.relative_permeability_uncertainty / 300
        < 0.5
    )
    assert abs(fit.circuits[0].load_factor - 0.97) < 3 * fit.circuits[0].load_factor_uncertainty < 0.1
    assert 0.01 < fit.probability < 0.99
    assert fit.permeability.is_determined
    assert fit.permeability.relative_permeability_lowest < 300 < fit.permeability.relative_permeability_highest


@of_examples([STEEL])
def test_the_traverse_shows_the_readings_that_lie_on_it(solved):
    (traverse,) = solved.traverses
    marks = readings_along(solved, traverse)
    assert [mark.name for mark in marks] == list("ABCDE")
    assert [mark.place[0] for mark in marks] == pytest.approx([0.2, 0.4, 0.6, 0.8, 1.0])
    figure = draw_traverse(solved, traverse)
    texts = [text for text in figure.axes[0].texts if text.get_text()[1:2] == ":"]
    assert [text.get_text() for text in texts][2].replace("\u2009", " ").replace("\u202f", " ") == "C: 45.4 µT"
    boxes = [text.get_window_extent() for text in texts]
    assert not any(one.overlaps(other) for k, one in enumerate(boxes) for other in boxes[k + 1 :])


def test_marks_are_readings_of_the_resultant_over_their_load(result, survey):
    marks = readings_of(result)
    rows = [row for row in survey.readings if row.axis == "resultant"]
    assert [mark.name for mark in marks] == [row.name for row in rows]
    for mark, row in zip(marks, rows, strict=True):
        assert (mark.field, mark.spread) == (row.measured_t / row.load, row.uncertainty_t / row.load)


@pytest.fixture(scope="module")
def unfitted(coarse_mesh: None, tmp_path_factory: pytest.TempPathFactory) -> studies.Result:
    """The steel tray as stated, without a fit of its permeability."""
    folder = tmp_path_factory.mktemp("steel")
    shutil.copy(EXAMPLES / f"{STEEL}.csv", folder)
    kept = [line for line in STEEL_TEXT.splitlines() if not line.startswith("permeability_")]
    (folder / "feeder.toml").write_text("\n".join(kept), encoding="utf-8")
    return studies.run(studies.load(folder / "feeder.toml"))


def test_a_wrong_permeability_is_seen_by_chi_square(unfitted):
    assert unfitted.survey.fits[0].probability < 1e-6
    assert unfitted.survey.fits[0].permeability is None


@of_examples([STEEL])
def test_fields_between_the_solved_permeabilities_are_those_of_a_solve(solved, coarse_mesh):
    # 300 lies between the solved ones; the study with it has a mesh of its own: 5 % asked, its estimate is far lower
    places = "".join(
        f'[[receptors]]\nname = "{row.name}"\nat = ["{row.x_m} m", "{row.y_m} m"]\n' for row in solved.survey.readings
    )
    changed = STEEL_TEXT.split("[[traverses]]")[0].replace("relative_permeability = 150", "relative_permeability = 300")
    direct = studies.run(studies.loads(changed + places + '[accuracy]\ntolerance = "5 %"\n')).receptors
    metal = solved_permeabilities(solved.study, solved.solutions)
    model = model_of(solved.study, solved.solutions, survey_readings(solved.study), metal)
    assert model.fields(np.array([1.0, math.log(2)])) == pytest.approx([row.b_rms_t for row in direct], rel=2e-3)
    step = np.array([0, 1e-5])
    at = np.array([0.9, 0.3])
    assert model.slopes(at)[:, 1] == pytest.approx((model.fields(at + step) - model.fields(at - step)) / 2e-5, rel=1e-5)


@pytest.mark.parametrize(("spread", "said"), [(0.1, "is 300, 246 to 366"), (2.0, "20.0 to 2000 all explain")])
def test_a_permeability_that_the_readings_leave_open_is_told(spread, said):
    metal = Permeabilities("T1", 150.0, np.log([20 / 150, 2000 / 150]), ())
    minimum = Minimum(np.array([1.0, math.log(2)]), 4.0, np.diag([0.01, spread**2]))
    found = fitted_permeability(metal, minimum)
    assert found is not None
    assert found.is_determined is (spread < 0.5)
    assert said in " ".join(permeability_lines(found))


def test_the_sheet_says_that_the_survey_does_not_agree(result):
    row = next(row for row in sheet_rows(result) if row.of == "Survey “survey_of_feeder.csv”")
    assert row.verdict == "does not agree with the study"
    assert row.tone == "bad"


def test_a_survey_that_does_not_agree_fails_a_run_that_asks(result, tmp_path, capsys):
    asked = argparse.Namespace(quiet=False, fail_over_limit=True)
    assert command._said(asked, result, tmp_path) == command.LIMIT_EXCEEDED
    assert "The survey does not agree with the study." in capsys.readouterr().out
    agreeing = replace(result, survey=replace(result.survey, probability=0.06))
    assert command._said(asked, agreeing, tmp_path) == command.DONE
