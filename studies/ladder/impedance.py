"""Formulas of conductor resistance and phase inductance."""

from __future__ import annotations

import numpy as np

from studies.cross_section import CrossSection
from studies.formulas.inductance import positive_sequence_inductance
from studies.formulas.line_impedance import line_impedances
from studies.formulas.resistance import ac_resistance, proximity_factor_three, skin_factor
from studies.formulas.round_conductor import round_conductor_internal_impedance, round_conductor_internal_inductance
from studies.ladder.rung import Rung, reasons, source, surroundings
from studies.ladder.series import NAME, SOURCE, SeriesResult
from studies.line_formulas import SKIN_AND_PROXIMITY, LineModel, formula_phase_impedances, formula_spacing, line_matrix
from studies.results import PartResult, PhaseResult


def resistance_rungs(
    section: CrossSection, model: LineModel, parts: tuple[PartResult, ...], series: SeriesResult | None
) -> list[Rung]:
    """Dc, IEC 60287-1-1 skin, skin and proximity, Bessel, exact series: each beside loss over current squared."""
    frequency = section.frequency
    near = surroundings(section)
    rungs = []
    for m, conductor in enumerate(model.conductors):
        k = next(k for k, part in enumerate(section.parts) if part is conductor)
        element = parts[k].r_ac_ohm_per_m
        if element is None or conductor.cable is None:
            continue
        r_dc, radius = conductor.dc_resistance, conductor.cable.layers.conductor_radius
        ks, kp = conductor.skin_coefficient, conductor.proximity_coefficient
        skin = float(skin_factor(r_dc, frequency, ks))
        sigma, mu = conductor.material.conductivity, complex(conductor.material.relative_permeability).real
        bessel = complex(round_conductor_internal_impedance(radius, sigma, frequency, mu)).real
        entries: list[tuple[str, str, float, tuple[str, ...]]] = [
            ("dc resistance", f"R20 and temperature: {conductor.source}", r_dc, ("alternating current",)),
            (
                "skin factor",
                source(skin_factor),
                float(ac_resistance(r_dc, skin, 0.0)),
                reasons(skin_factor, resistance=r_dc, frequency=frequency, coefficient=ks) + near,
            ),
        ]
        if model.methods[m] == SKIN_AND_PROXIMITY:
            spacing = formula_spacing(section, conductor)
            outside = reasons(
                proximity_factor_three,
                resistance=r_dc,
                frequency=frequency,
                diameter=2 * radius,
                spacing=spacing,
                coefficient=kp,
            )
            value = float(model.resistances[m])
            entries.append(("skin and proximity factors", source(proximity_factor_three), value, outside + near))
        entries.append(
            ("Bessel, alone", source(round_conductor_internal_impedance), bessel, ("proximity is left out", *near))
        )
        if series is not None:
            value = float(series.losses[k]) / abs(complex(series.drive.currents[k])) ** 2
            entries.append((NAME, SOURCE, value, ()))
        rungs += [
            Rung("resistance", conductor.name, formula, origin, "ohm/m", value, element, outside)
            for formula, origin, value, outside in entries
        ]
    return rungs


def inductance_rungs(
    section: CrossSection,
    model: LineModel,
    phases: tuple[PhaseResult, ...],
    reference_radius: complex,
    series: SeriesResult | None,
) -> list[Rung]:
    """GMD over GMR, each phase with its own distances, the same with Bessel inside, exact series: beside Im(u/i)/w."""
    omega = 2 * np.pi * section.frequency
    near = surroundings(section)
    bessel = _bessel_phase_inductances(section, model, reference_radius)
    rungs = []
    for k, phase in enumerate(phases):
        if phase.inductance_h_per_m is None or phase.formula_inductance_h_per_m is None:
            continue
        if section.phases[k].current == 0:  # a circuit of another frequency
            continue
        entries: list[tuple[str, str, float, tuple[str, ...]]] = []
        if phase.gmd_inductance_h_per_m is not None:
            value = phase.gmd_inductance_h_per_m
            outside = _unequal(section, model, phase.circuit)
            entries.append(("GMD/GMR, mean of the phases", source(positive_sequence_inductance), value, outside + near))
        skin = reasons(
            line_impedances,
            axes=model.axes,
            currents=model.currents,
            mean_radii=model.mean_radii,
            resistances=model.resistances,
            frequency=section.frequency,
        )
        origin = source(line_impedances)
        entries += [
            ("line currents, the phase's own distances", origin, phase.formula_inductance_h_per_m, skin + near),
            (
                "the same with Bessel's internal inductance",
                f"{origin}; {source(round_conductor_internal_inductance)}",
                float(bessel[k]),
                near,
            ),
        ]
        if series is not None:
            part = section.ties[section.phases[k].tie].parts[0]
            index = next(n for n, candidate in enumerate(section.parts) if candidate.name == part)
            value = (complex(series.drive.voltages[index]) / phase.current_a).imag / omega
            entries.append((NAME, SOURCE, value, ()))
        subject, element = f"{phase.circuit} {phase.phase}", phase.inductance_h_per_m
        rungs += [Rung("inductance", subject, *entry[:2], "H/m", entry[2], element, entry[3]) for entry in entries]
    return rungs


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
    spread = float(np.ptp(reactances) / np.abs(reactances).mean()) if len(own) else 0.0
    return ("the phases are unequal and the run is not transposed",) if spread > 0.01 else ()
