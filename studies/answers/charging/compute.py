"""Capacitance and charging current of a study's circuits at its supply's voltage, per metre and of the whole run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from studies.answers.charging.capacitance import (
    Capacitances,
    Charging,
    capacitances,
    charging,
    current_deviation,
    current_deviation_error,
    neutral_displacement,
    neutral_displacement_error,
    phase_sums,
    with_labels,
)
from studies.answers.charging.rows import ChargingResult
from studies.data.permittivities import Dielectric, Dielectrics
from studies.section.parts import CrossSection
from studies.section.route_sections import route_sections
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.progress import Progress

PAIRS = ((1.0, 1.5), (1.5, 2.25), (2.25, 3.4))
"""Fineness of the pairs of meshes that are tried in turn."""
Sums = Mapping[tuple[str, str], tuple[complex, float]]
"""Phasor and error of each phase's current, by circuit and phase. [A]"""


def _refined(section: CrossSection, dielectrics: Mapping[str, Dielectrics], tolerance: float) -> Capacitances:
    """Capacitances on finer and finer meshes, until what the mesh is off falls below a tolerance or the gaps' error.

    The error of a cable is compared with its own capacitance; `tolerance` is relative. [-]
    """
    for fineness in PAIRS:
        found = capacitances(section, dielectrics, fineness=fineness)
        own = np.diag(found.matrix)
        mesh_error, gap_error = (
            float((error.sum(axis=1) / own).max()) for error in (found.mesh_error, found.gap_error)
        )
        if mesh_error <= max(tolerance - gap_error, gap_error / 2):
            break
    return found


def charging_results(study: Study, solution: Solution, report_progress: Progress) -> tuple[ChargingResult, ...]:
    """Of every circuit, where the study states a supply and the permittivities of its cables; else none."""
    if study.supply is None:
        return ()
    dielectrics = _dielectrics(study)
    if not dielectrics:
        return ()
    report_progress("computing the charging currents")
    section = solution.section
    tolerance = study.accuracy.tolerance
    found = _refined(section, dielectrics, tolerance)
    voltages = dict.fromkeys(dielectrics, study.supply.voltage)
    run = _sections(study, section, found)
    neutral = neutral_displacement(run or [(found, 1.0)], voltages) if study.supply.insulated_neutral else None
    shift = neutral or 0j
    entries = charging(section, found, dielectrics, voltages, shift)
    sums = _over(run, voltages, section.frequency, shift)
    gaps = _with_gap(found, voltages, section.frequency, shift)
    rows = (_row(entry, entries, found, sums, gaps) for entry in entries)
    if neutral is None:
        return tuple(rows)
    off = neutral_displacement_error(run or [(found, 1.0)], voltages, neutral)
    return tuple(replace(row, neutral_displacement_v=abs(neutral), neutral_displacement_error_v=off) for row in rows)


def _dielectrics(study: Study) -> dict[str, Dielectrics]:
    """Of each circuit whose cable states a permittivity."""
    found = {}
    for circuit in study.circuits:
        permittivity = study.cables[circuit.cable].permittivity
        if permittivity is not None:
            own = Dielectric("stated", permittivity, "study file")
            found[circuit.name] = Dielectrics(own, own)
    return found


def _sections(study: Study, own: CrossSection, found: Capacitances) -> list[tuple[Capacitances, float]]:
    """Capacitances of each section of the route, each phase where it lies there, with the section's length [m]."""
    solved = {id(own): found}
    run = []
    for entry, (each, section) in zip(study.route, route_sections(study, own), strict=True):
        if id(section) not in solved:
            solved[id(section)] = _refined(section, _dielectrics(each), study.accuracy.tolerance)
        run.append((with_labels(solved[id(section)], dict(entry.phases)), entry.length))
    return run


def _over(
    run: Sequence[tuple[Capacitances, float]], voltages: Mapping[str, float], frequency: float, shift: complex
) -> Sums:
    """Charging currents of the whole route; nothing without a route. [A]"""
    total: dict[tuple[str, str], tuple[complex, float]] = {}
    for found, length in run:
        for key, (current, error) in phase_sums(found, voltages, frequency, shift).items():
            before, left = total.get(key, (0j, 0.0))
            total[key] = before + current * length, left + error * length
    return total


def _with_gap(found: Capacitances, voltages: Mapping[str, float], frequency: float, shift: complex) -> Sums:
    """Charging currents with the gaps of the solve in place of touching cables; nothing where none touch. [A/m]"""
    if found.with_gap is None:
        return {}
    return phase_sums(replace(found, matrix=found.with_gap), voltages, frequency, shift)


def _row(entry: Charging, entries: tuple[Charging, ...], found: Capacitances, run: Sums, gaps: Sums) -> ChargingResult:
    key = (entry.circuit, entry.phase)
    own = [k for k, cable in enumerate(found.cables) if (cable.circuit, cable.phase) == key]
    touching = any(found.cables[k].label in found.shrunk for k in own)
    whole = [one for (circuit, _), one in run.items() if circuit == entry.circuit]
    beside = [other for other in entries if other.circuit == entry.circuit]
    currents, errors = [other.current for other in beside], [other.error for other in beside]
    off = float(entry.capacitance) * entry.error / abs(entry.current)
    gap = max(float(found.gap[k]) for k in own) if touching and found.gap is not None else None
    ratio = abs(gaps[key][0] / entry.current) if touching and key in gaps else None
    return ChargingResult(
        circuit=entry.circuit,
        phase=entry.phase,
        capacitance_f_per_m=float(entry.capacitance),
        capacitance_error_f_per_m=off,
        charging_current_a_per_m=float(abs(entry.current)),
        charging_current_error_a_per_m=float(entry.error),
        formulas_f_per_m={name: float(value) for name, value in entry.formulas.items()},
        method=found.methods[own[0]],
        circuit_inequality=current_deviation(currents),
        circuit_inequality_error=current_deviation_error(currents, errors),
        run_charging_current_a=abs(run[key][0]) if key in run else None,
        run_charging_current_error_a=run[key][1] if key in run else None,
        run_inequality=current_deviation([current for current, _ in whole]) if whole else None,
        run_inequality_error=current_deviation_error(*zip(*whole, strict=True)) if whole else None,
        neutral_displacement_v=None,
        neutral_displacement_error_v=None,
        touching=touching,
        gap_m=gap,
        gap_capacitance_f_per_m=None if ratio is None else float(entry.capacitance) * ratio,
        gap_capacitance_error_f_per_m=None if ratio is None else off,
    )
