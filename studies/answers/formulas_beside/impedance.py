"""Formulas of conductor resistance and phase inductance."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from studies.answers.formulas_beside.rows import FormulaBeside, rows_beside
from studies.answers.losses.compute import ac_resistances
from studies.answers.phases.rows import PhaseResult
from studies.closed_forms.lines import (
    SKIN_AND_PROXIMITY,
    LineModel,
    formula_phase_impedances,
    formula_spacing,
    line_matrix,
)
from studies.closed_forms.series import NAME, SOURCE, SeriesResult
from studies.closed_forms.validity import ClosedForm, neglected_metal, outside_of, reasons, source, tried
from studies.formulas.formula import Limit
from studies.formulas.inductance import positive_sequence_inductance
from studies.formulas.line_impedance import line_impedances
from studies.formulas.resistance import ac_resistance, proximity_factor_three, skin_factor
from studies.formulas.round_conductor import round_conductor_internal_impedance, round_conductor_internal_inductance
from studies.formulas.unbalance import x_spread
from studies.section.parts import CrossSection
from studies.solve.solution import Solution

SKIN, PROXIMITY, BESSEL = "skin factor", "skin and proximity factors", "Bessel, alone"
"""Formulas of the resistance."""
MEAN, OWN = "GMD/GMR, mean of the phases", "line currents, the phase's own distances"
OWN_BESSEL = "the same with Bessel's internal inductance"
"""Formulas of the inductance."""
EQUAL = Limit("spread of the reactances", lambda spread: 100 * spread, "the run is not transposed", most=1, unit=" %")


def resistance_formulas(solution: Solution, series: SeriesResult | None) -> list[FormulaBeside]:
    """Dc, IEC 60287-1-1 skin, skin and proximity, Bessel, exact series: each beside loss over current squared."""
    rows = []
    elements = ac_resistances(solution)
    for m, conductor in enumerate(solution.model.conductors):
        k = next(k for k, part in enumerate(solution.section.parts) if part is conductor)
        if np.isnan(elements[k]) or conductor.cable is None:
            continue
        of = solution.section, solution.model, m
        origin = f"R20 and temperature: {conductor.source}"
        forms = [ClosedForm("dc resistance", origin, conductor.dc_resistance, ("alternating current",))]
        forms += tried(SKIN, partial(_skin, *of))
        forms += tried(PROXIMITY, partial(_proximity, *of))
        forms += tried(BESSEL, partial(_bessel, *of))
        if series is not None:
            forms += tried(NAME, partial(_series_resistance, series, k))
        rows += rows_beside("resistance", conductor.name, "ohm/m", float(elements[k]), forms)
    return rows


def _skin(section: CrossSection, model: LineModel, m: int) -> ClosedForm:
    conductor = model.conductors[m]
    r_dc, ks = conductor.dc_resistance, conductor.skin_coefficient
    value = float(ac_resistance(r_dc, float(skin_factor(r_dc, section.frequency, ks)), 0.0))
    outside = reasons(skin_factor, resistance=r_dc, frequency=section.frequency, coefficient=ks)
    return ClosedForm(SKIN, source(skin_factor), value, outside + neglected_metal(section))


def _proximity(section: CrossSection, model: LineModel, m: int) -> ClosedForm | None:
    """The value of the line model, where it has the proximity factor."""
    if model.methods[m] != SKIN_AND_PROXIMITY:
        return None
    conductor = model.conductors[m]
    assert conductor.cable is not None
    outside = reasons(
        proximity_factor_three,
        resistance=conductor.dc_resistance,
        frequency=section.frequency,
        diameter=2 * conductor.cable.layers.conductor_radius,
        spacing=formula_spacing(section, conductor),
        coefficient=conductor.proximity_coefficient,
    )
    value = float(model.resistances[m])
    return ClosedForm(PROXIMITY, source(proximity_factor_three), value, outside + neglected_metal(section))


def _bessel(section: CrossSection, model: LineModel, m: int) -> ClosedForm:
    conductor = model.conductors[m]
    assert conductor.cable is not None
    radius, material = conductor.cable.layers.conductor_radius, conductor.material
    mu = complex(material.relative_permeability).real
    value = complex(round_conductor_internal_impedance(radius, material.conductivity, section.frequency, mu)).real
    outside = ("proximity is left out", *neglected_metal(section))
    return ClosedForm(BESSEL, source(round_conductor_internal_impedance), value, outside)


def _series_resistance(series: SeriesResult, k: int) -> ClosedForm:
    return ClosedForm(NAME, SOURCE, float(series.losses[k]) / abs(complex(series.drive.currents[k])) ** 2, ())


def inductance_formulas(
    solution: Solution, phases: Sequence[PhaseResult], series: SeriesResult | None
) -> list[FormulaBeside]:
    """GMD over GMR, each phase with its own distances, the same with Bessel inside, exact series: beside Im(u/i)/w."""
    rows = []
    section, model, reference_radius = solution.section, solution.model, solution.solved.fields.return_radius
    for k, phase in enumerate(phases):
        if phase.inductance_h_per_m is None or phase.formula_inductance_h_per_m is None:
            continue
        if section.phases[k].current == 0:  # a circuit of another frequency
            continue
        forms = tried(MEAN, partial(_mean, section, model, phase))
        forms += tried(OWN, partial(_own, section, model, phase.formula_inductance_h_per_m))
        forms += tried(OWN_BESSEL, partial(_own_bessel, section, model, reference_radius, k))
        if series is not None:
            forms += tried(NAME, partial(_series_inductance, section, series, k))
        rows += rows_beside("inductance", f"{phase.circuit} {phase.phase}", "H/m", phase.inductance_h_per_m, forms)
    return rows


def _mean(section: CrossSection, model: LineModel, phase: PhaseResult) -> ClosedForm | None:
    if phase.gmd_inductance_h_per_m is None:
        return None
    outside = _unequal(section, model, phase.circuit) + neglected_metal(section)
    return ClosedForm(MEAN, source(positive_sequence_inductance), phase.gmd_inductance_h_per_m, outside)


def _own(section: CrossSection, model: LineModel, value: float) -> ClosedForm:
    skin = reasons(
        line_impedances,
        axes=model.axes,
        currents=model.currents,
        mean_radii=model.mean_radii,
        resistances=model.resistances,
        frequency=section.frequency,
    )
    return ClosedForm(OWN, source(line_impedances), value, skin + neglected_metal(section))


def _own_bessel(section: CrossSection, model: LineModel, reference_radius: complex, k: int) -> ClosedForm:
    value = float(_bessel_phase_inductances(section, model, reference_radius)[k])
    origin = f"{source(line_impedances)}; {source(round_conductor_internal_inductance)}"
    return ClosedForm(OWN_BESSEL, origin, value, neglected_metal(section))


def _series_inductance(section: CrossSection, series: SeriesResult, k: int) -> ClosedForm:
    phase = section.phases[k]
    part = section.ties[phase.tie].parts[0]
    index = next(n for n, candidate in enumerate(section.parts) if candidate.name == part)
    value = (complex(series.drive.voltages[index]) / phase.current).imag / (2 * np.pi * section.frequency)
    return ClosedForm(NAME, SOURCE, value, ())


def _bessel_phase_inductances(section: CrossSection, model: LineModel, reference_radius: complex) -> np.ndarray:
    """Im(u/i)/w of the phases with line currents outside and Bessel's internal inductance inside. [H/m]"""
    omega = 2 * np.pi * section.frequency
    radii = np.array([part.cable.layers.conductor_radius for part in model.conductors if part.cable])
    sigma = np.array([part.material.conductivity for part in model.conductors])
    internal = round_conductor_internal_inductance(radii, sigma, section.frequency)
    # r' of the line formula stands for the internal inductance mu0/8 pi: the radius that stands for another one
    mean_radii = radii * np.exp(-np.asarray(internal) / 2e-7)
    matrix = line_matrix(section, model, mean_radii, np.zeros(len(mean_radii)), reference_radius)
    voltages = matrix @ model.currents
    result = np.full(len(section.phases), np.nan)
    for k, phase in enumerate(section.phases):
        if phase.current != 0:
            result[k] = (voltages[model.phase_of == k].mean() / phase.current).imag / omega
    return result


def _unequal(section: CrossSection, model: LineModel, circuit: str) -> tuple[str, ...]:
    impedances = formula_phase_impedances(section, model, 1.0)
    own = np.array([k for k, phase in enumerate(section.phases) if phase.circuit == circuit and phase.current != 0])
    reactances = impedances[own].imag
    return outside_of(EQUAL.failure(spread=x_spread(reactances) if len(own) else 0.0))
