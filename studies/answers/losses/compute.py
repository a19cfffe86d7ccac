"""Losses, parts, phase impedances and sequence impedances beside their formulas."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.phases.rows import PhaseResult, SequenceResult
from studies.answers.steel.compute import rule_errors
from studies.closed_forms.lines import (
    NO_FORMULA,
    SHARED,
    formula_phase_impedances,
    formula_sequence_impedances,
    formula_sequence_inductance,
    formula_sequence_resistance,
    formula_shares,
    phase_index,
)
from studies.closed_forms.losses import closed_form_loss, rail_currents
from studies.section.cross_section import CrossSection, StudyPart, parallel_conductors
from studies.section.spectrum import fundamental
from studies.solve.accuracy import Estimate, Requested, loss_scale
from studies.solve.error_floors import level_floored
from studies.solve.solution import Solution, at_frequency, root_sum_square
from studies.study.file import Study
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.study.phases import LINES
from studies.text.failures import Failure, guarded, rescued

OF_LOSS, OF_IMPEDANCE = "closed form of the loss", "closed form of the impedance"
"""What may fail beside the numbers, in words."""
NEGLIGIBLE_CURRENT = 1e-6
"""Parts with less than this share of the largest current carry no net current."""


def loss_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[LossResult, ...]:
    """Loss of every part, summed over the frequencies."""
    total = np.sum([solution.solved.losses.total for solution in solutions], axis=0)
    magnetic = np.sum([solution.solved.losses.magnetic for solution in solutions], axis=0)
    errors = np.sum([solution.estimate.of_losses() for solution in solutions], axis=0)
    scale = np.sum([loss_scale(solution.estimate.now) for solution in solutions], axis=0)
    by_formula = [guarded(OF_LOSS, partial(_formula_losses, solution), None) for solution in solutions]
    formulas = [formula or {} for formula in by_formula]
    of_rule = rule_errors(solutions[0])
    results = []
    for k, part in enumerate(solutions[0].section.parts):
        entries = [formula[part.name] for formula in formulas if part.name in formula]
        outside: tuple[str, ...] = ()
        if part.kind != CONDUCTOR:
            entries, outside = rescued(OF_LOSS, partial(_metal_formula, solutions, part), _no_formula)
        results.append(
            LossResult(
                part=part.name,
                kind=part.kind,
                phase=part.cable.phase if part.cable else None,
                loss_w_per_m=float(total[k]),
                loss_error_w_per_m=float(errors[k] + of_rule[k]),
                magnetic_loss_w_per_m=float(magnetic[k]),
                formula_loss_w_per_m=sum(value for value, _ in entries) if entries else None,
                formula=entries[0][1] if entries else NO_FORMULA,
                within_tolerance=bool(errors[k] <= study.accuracy.tolerance * scale[k]),
                formula_outside_range="; ".join(outside),
                rule_error_w_per_m=float(of_rule[k]),
            )
        )
    return tuple(results)


def part_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[PartResult, ...]:
    """Electrical state of every part; that of a cable at its circuit's fundamental, if it is among the solutions."""
    rms = root_sum_square([np.abs(solution.solved.drive.currents) for solution in solutions])
    voltages = root_sum_square([np.abs(solution.solved.drive.voltages) for solution in solutions])
    shared = guarded("closed form of the sharing", lambda: _formula_currents(solutions), None) or {}
    own_frequency = {circuit.name: fundamental(study, circuit) for circuit in study.circuits}
    results = []
    for k, part in enumerate(solutions[0].section.parts):
        own = [s for s in solutions if part.cable and math.isclose(s.frequency, own_frequency[part.cable.circuit])]
        solution = own[0] if own else solutions[0]
        model, section, solved = solution.model, solution.section, solution.solved
        loss_errors = solution.estimate.of_losses()
        current_errors = solution.estimate.of(lambda r: r.currents)
        voltage_errors = solution.estimate.of(lambda r: r.voltages)
        formulas = {conductor.name: m for m, conductor in enumerate(model.conductors)}
        current = complex(solved.drive.currents[k])
        carries = abs(current) > NEGLIGIBLE_CURRENT * np.abs(solved.drive.currents).max(initial=0)
        m = formulas.get(part.name)
        share = complex(model.currents[m]) if m is not None else 0j
        results.append(
            PartResult(
                part=part.name,
                kind=part.kind,
                phase=part.cable.phase if part.cable else None,
                current_a=current if carries else 0j,
                current_rms_a=float(rms[k]) if rms[k] > NEGLIGIBLE_CURRENT * rms.max() else 0.0,
                current_error_a=float(current_errors[k]) if carries else 0.0,
                formula_current_rms_a=shared.get(part.name),
                voltage_v_per_m=complex(solved.drive.voltages[k]),
                voltage_error_v_per_m=float(voltage_errors[k]),
                standing_voltage_v_per_100m=_standing_voltage(section, part, float(voltages[k])),
                r_dc_ohm_per_m=part.dc_resistance,
                r_ac_ohm_per_m=float(solved.losses.total[k]) / abs(current) ** 2 if carries else None,
                r_ac_error_ohm_per_m=float(loss_errors[k]) / abs(current) ** 2 if carries else None,
                formula_r_ac_ohm_per_m=float(model.resistances[m]) if m is not None else None,
                share_of_phase=abs(current) / abs(share) if share != 0 else None,
                resistance_source=part.source,
            )
        )
    return tuple(results)


def _standing_voltage(section: CrossSection, part: StudyPart, voltage: float) -> float | None:
    """Rms voltage per 100 m at the open end of a metal layer bonded at one end only, None for other parts. [V]"""
    tie = next(tie for tie in section.ties if part.name in tie.parts)
    crossed = any(part.name in bond.parts for bond in section.cross_bonds)
    alone = len(tie.parts) == 1 and tie.impedance is None and not crossed
    return 100 * voltage if part.kind in METAL_LAYERS and alone else None


def phase_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[PhaseResult, ...]:
    """u/i of every phase with the study's currents, at the fundamental of its circuit."""
    results: list[PhaseResult] = []
    for circuit in study.circuits:
        solution = at_frequency(solutions, fundamental(study, circuit))
        section, drive = solution.section, solution.solved.drive
        omega = solution.solved.fields.omega
        reference_radius = solution.solved.fields.return_radius
        formulas = guarded(
            OF_IMPEDANCE,
            partial(formula_phase_impedances, section, solution.model, reference_radius),
            np.full(len(section.phases), np.nan + 0j),
        )
        gmd = guarded(OF_IMPEDANCE, partial(formula_sequence_inductance, section, solution.model, circuit.name), None)
        errors = solution.estimate.of(lambda r: r.voltages)
        names = solution.solved.fields.part_names
        for k, phase in enumerate(section.phases):
            if phase.circuit != circuit.name:
                continue
            first = names.index(section.ties[phase.tie].parts[0])
            voltage = complex(drive.voltages[first])
            if phase.current == 0:
                nothing = (None, None, None, None, None, None)
                results.append(PhaseResult(phase.circuit, phase.phase, 0j, voltage, *nothing, within_tolerance=True))
                continue
            impedance = voltage / phase.current
            error = float(errors[first]) / abs(phase.current)
            results.append(
                PhaseResult(
                    circuit=phase.circuit,
                    phase=phase.phase,
                    current_a=phase.current,
                    voltage_v_per_m=voltage,
                    z_ohm_per_m=impedance,
                    z_error_ohm_per_m=error,
                    inductance_h_per_m=impedance.imag / omega,
                    formula_z_ohm_per_m=complex(formulas[k]),
                    formula_inductance_h_per_m=float(formulas[k].imag / omega),
                    gmd_inductance_h_per_m=gmd if phase.phase in LINES else None,
                    within_tolerance=error <= study.accuracy.tolerance * abs(impedance),
                )
            )
    return tuple(results)


def sequence_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[SequenceResult, ...]:
    """Sequence impedances of every circuit with L1, L2 and L3, at its fundamental."""
    results = []
    for circuit in study.circuits:
        solution = at_frequency(solutions, fundamental(study, circuit))
        section = solution.section
        ports = [k for line in LINES if (k := phase_index(section, circuit.name, line)) is not None]
        own = section, solution.model, circuit.name
        inductance = guarded(OF_IMPEDANCE, partial(formula_sequence_inductance, *own), np.nan)
        if len(ports) < len(LINES) or inductance is None:
            continue
        matrix, error = _sequence_and_error(solution.estimate, ports)
        resistance = guarded(OF_IMPEDANCE, partial(formula_sequence_resistance, *own), np.nan)
        closed = guarded(OF_IMPEDANCE, partial(formula_sequence_impedances, *own), (np.nan + 0j,) * 3)
        z0, z1, z2 = (complex(matrix[row, 1]) for row in range(3))
        results.append(
            SequenceResult(
                circuit=circuit.name,
                z1_ohm_per_m=z1,
                z1_error_ohm_per_m=float(error[1, 1]),
                formula_z1_ohm_per_m=complex(resistance, solution.solved.fields.omega * inductance),
                coupling_error_ohm_per_m=float(max(error[2, 1], error[0, 1])),
                z2_ohm_per_m=complex(matrix[2, 2]),
                z2_error_ohm_per_m=float(error[2, 2]),
                z21_ohm_per_m=z2,
                z01_ohm_per_m=z0,
                z21_over_z11=abs(z2) / abs(z1),
                z21_over_z11_error=_of_ratio(z2, error[2, 1], z1, error[1, 1]),
                z01_over_z11=abs(z0) / abs(z1),
                z01_over_z11_error=_of_ratio(z0, error[0, 1], z1, error[1, 1]),
                formula_z21_ohm_per_m=closed[2],
                formula_z01_ohm_per_m=closed[0],
                formula_z21_over_z11=abs(closed[2]) / abs(closed[1]),
                formula_z01_over_z11=abs(closed[0]) / abs(closed[1]),
                z21_error_ohm_per_m=float(error[2, 1]),
                z01_error_ohm_per_m=float(error[0, 1]),
            )
        )
    return tuple(results)


def _of_ratio(part: complex, part_error: float, whole: complex, whole_error: float) -> float:
    """Error of the ratio of two magnitudes from those of both. [-]"""
    return float((part_error + abs(part) / abs(whole) * whole_error) / abs(whole))


def sequence_matrix(phase_matrix: Complexes) -> Complexes:
    """Sequence impedance matrix (0, 1, 2) of a phase impedance matrix in the order L1, L2, L3, shape (3, 3). [ohm/m]

    Notes
    -----
    F^-1 Z F with F = [[1, 1, 1], [1, a^2, a], [1, a, a^2]], a = e^{+j 2 pi/3} (Fortescue).
    """
    a = np.exp(2j * np.pi / 3)
    fortescue = np.array([[1, 1, 1], [1, a**2, a], [1, a, a**2]])
    result: Complexes = np.linalg.solve(fortescue, phase_matrix @ fortescue)
    return result


def _sequence_and_error(estimate: Estimate, ports: list[int]) -> tuple[Complexes, Floats]:
    def sequence(requested: Requested) -> Complexes:
        return sequence_matrix(requested.impedances[np.ix_(ports, ports)])

    return sequence(estimate.now), level_floored(estimate.of(sequence))


def _no_formula(failure: Failure) -> tuple[list[tuple[float, str]], tuple[str, ...]]:
    """No value, and the failure as the reason."""
    return [], (f"could not be computed: {failure.why}",)


def _metal_formula(solutions: tuple[Solution, ...], part: StudyPart) -> tuple[list[tuple[float, str]], tuple[str, ...]]:
    """Loss [W/m] of a part that is no conductor by its closed form at each frequency, with its name, and the reasons
    why it is not in its range; nothing unless there is one at every frequency."""
    found = []
    for solution in solutions:
        own = solution.section.part(part.name)
        closed = closed_form_loss(solution.section, solution.model, own)
        if closed is None:
            return [], ()
        found.append(closed)
    outside = tuple(dict.fromkeys(reason for closed in found for reason in closed.outside_range))
    return [(closed.value, closed.name) for closed in found], outside


def _formula_losses(solution: Solution) -> dict[str, tuple[float, str]]:
    """Loss and formula of each conductor: ac resistance and current, that of parallel ones as they share it."""
    model, parallel = solution.model, parallel_conductors(solution.section)
    shares = _shares(solution)
    return {
        part.name: (
            float(abs(current) ** 2 * resistance),
            f"{method}; {SHARED}" if part.name in parallel else method,
        )
        for part, current, resistance, method in zip(
            model.conductors, shares, model.resistances, model.methods, strict=True
        )
    }


def _formula_currents(solutions: tuple[Solution, ...]) -> dict[str, float]:
    """Closed-form rms current of parallel conductors and of rails that rungs join, over all frequencies. [A]"""
    section, model = solutions[0].section, solutions[0].model
    parallel = parallel_conductors(section)
    currents = root_sum_square([np.abs(_shares(solution)) for solution in solutions])
    found = {
        part.name: float(current)
        for part, current in zip(model.conductors, currents, strict=True)
        if part.name in parallel
    }
    for rail in (section.part(name) for rails in section.rungs for name in rails):
        own = [rail_currents(solution.section, solution.model, rail) for solution in solutions]
        if all(own):
            found[rail.name] = float(np.sqrt(sum(abs(each[rail.name]) ** 2 for each in own if each)))
    return found


def _shares(solution: Solution) -> Complexes:
    return formula_shares(solution.section, solution.model, solution.solved.fields.return_radius)
