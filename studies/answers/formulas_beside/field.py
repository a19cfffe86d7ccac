"""Formulas of the field at a receptor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.answers.fields.rows import ReceptorResult
from studies.answers.formulas_beside.rows import FormulaBeside, rows_beside
from studies.closed_forms.floor import only_open_floor
from studies.closed_forms.lines import LineModel, formula_field
from studies.closed_forms.series import NAME, SOURCE, SeriesResult
from studies.closed_forms.validity import ClosedForm, neglected_metal, outside_of, reasons, source, tried
from studies.formulas.far_field import field_decay_exponent, multipole_field_magnitude, multipole_moments
from studies.formulas.formula import Limit
from studies.formulas.infinite_plate import plate_field
from studies.formulas.line_field import line_field
from studies.formulas.line_impedance import parallel_currents
from studies.section.parts import CrossSection, parallel_conductors
from studies.solve.solution import Solution

FAR = Limit(
    "distance / size of the arrangement",
    lambda distance, size: distance / size if size else np.inf,
    "the far form holds further out",
    least=5,
)
SHARED_LINES = "line currents, closed-form shares"
OVER_PLATE = "line currents over an infinite plate like the tray's floor"
ABOVE_FLOOR = Limit(
    *("place from the middle / width of the floor", lambda aside, width: aside / width),
    "the place is not above or below the floor",
    most=0.5,
)
WIDE = Limit(
    "distance / width of the floor",
    lambda distance, width: distance / width,
    "so far away the tray's floor is no infinite plate (common practice, no source)",
    most=1 / 3,
)


def field_formulas(
    solution: Solution, receptors: Sequence[ReceptorResult], series: SeriesResult | None
) -> list[FormulaBeside]:
    """Far form, line currents, those over a plate where there is one, the exact series where there is.

    Parallel cables share equally; line currents with closed-form shares have a row of their own if there are any.
    """
    rows = []
    section, model, shared = solution.section, solution.model, solution.shared_model()
    for receptor in receptors:
        point = np.array([[receptor.x_m, receptor.y_m]])
        forms = tried("far form", partial(_far, section, model, point))
        forms += tried("line currents at the axes", partial(_lines, section, model, point))
        if parallel_conductors(section):
            forms += tried(SHARED_LINES, partial(_shared_lines, section, shared, point))
        forms += tried(OVER_PLATE, partial(_plate, section, model, point))
        if series is not None:
            forms += tried(NAME, partial(_series, series, point))
        finite = (form for form in forms if not np.isinf(form.value))
        rows += rows_beside("field", receptor.name, "T", receptor.spectrum[0].b_rms_t, finite)
    return rows


def _series(series: SeriesResult, point: Floats) -> ClosedForm:
    return ClosedForm(NAME, SOURCE, float(resultant(series.field(point))[0]), ())


def _far(section: CrossSection, model: LineModel, point: Floats) -> ClosedForm | None:
    """Leading multipole of the line currents about the middle of the conductors; None where every one is lost."""
    centre = model.axes.mean(axis=0)
    order = field_decay_exponent(model.axes, model.currents) - 1
    if order < 0:
        return None
    distance = float(np.linalg.norm(point[0] - centre))
    moments = multipole_moments(model.axes, model.currents, order, centre)
    value = float(multipole_field_magnitude(distance, moments[order], order)) if distance > 0 else np.inf
    size = float(np.linalg.norm(model.axes - centre, axis=1).max())
    outside = outside_of(FAR.failure(distance=distance, size=size))
    name = f"far form, falls with {_power(order + 1)}"
    return ClosedForm(name, source(multipole_field_magnitude), value, outside + neglected_metal(section))


def _power(exponent: int) -> str:
    """1/r to a power, in words."""
    raised = str(exponent).translate(str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")) if exponent != 1 else ""
    return f"1/r{raised}"


def _lines(section: CrossSection, model: LineModel, point: Floats) -> ClosedForm:
    outside = reasons(line_field, points=point, axes=model.axes, currents=model.currents) + neglected_metal(section)
    value = float(resultant(formula_field(model, point))[0])
    return ClosedForm("line currents at the axes", source(line_field), value, outside)


def _shared_lines(section: CrossSection, shared: LineModel, point: Floats) -> ClosedForm:
    lines = _lines(section, shared, point)
    return replace(lines, name=SHARED_LINES, source=f"{lines.source}; shares: {source(parallel_currents)}")


def _plate(section: CrossSection, model: LineModel, point: Floats) -> ClosedForm | None:
    floor = only_open_floor(section)
    if floor is None:
        return None
    part, (middle, top), width, thickness = floor
    shift = np.array([middle, top])
    axes, at = model.axes - shift, point - shift
    if axes[:, 1].min() <= 0 or -thickness < at[0, 1] < 0:
        return None
    mu, sigma = abs(complex(part.material.relative_permeability)), part.material.conductivity
    field = plate_field(at, axes, model.currents, thickness, sigma, section.frequency, mu)
    outside = outside_of(
        ABOVE_FLOOR.failure(aside=abs(at[0, 0]), width=width),
        WIDE.failure(distance=np.linalg.norm(at[0]), width=width),
    )
    return ClosedForm(OVER_PLATE, source(plate_field), float(resultant(field.field)[0]), outside)
