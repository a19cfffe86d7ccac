"""Impedances of the phases and of the sequences, beside their closed forms."""

from __future__ import annotations

from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.losses.compute import OF_IMPEDANCE
from studies.answers.phases.rows import PhaseResult, SequenceResult
from studies.closed_forms.lines import (
    formula_phase_impedances,
    formula_sequence_impedances,
    formula_sequence_inductance,
    formula_sequence_resistance,
    phase_index,
)
from studies.section.parts import PhaseTie
from studies.section.spectrum import fundamental
from studies.solve.accuracy import Estimate, Requested
from studies.solve.error_floors import level_floored
from studies.solve.solution import Solution, at_frequency
from studies.study.file import Study
from studies.study.phases import LINES
from studies.text.failures import guarded


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
            of_line = gmd if phase.phase in LINES else None
            tolerance = study.accuracy.tolerance
            results.append(
                _phase(phase, voltage, float(errors[first]), complex(formulas[k]), of_line, omega, tolerance)
            )
    return tuple(results)


def _phase(
    phase: PhaseTie,
    voltage: complex,
    voltage_error: float,
    formula: complex,
    gmd_inductance: float | None,
    omega: float,
    tolerance: float,
) -> PhaseResult:
    """u/i of one phase that carries a current, beside its closed forms."""
    impedance = voltage / phase.current
    error = voltage_error / abs(phase.current)
    return PhaseResult(
        circuit=phase.circuit,
        phase=phase.phase,
        current_a=phase.current,
        voltage_v_per_m=voltage,
        z_ohm_per_m=impedance,
        z_error_ohm_per_m=error,
        inductance_h_per_m=impedance.imag / omega,
        formula_z_ohm_per_m=formula,
        formula_inductance_h_per_m=formula.imag / omega,
        gmd_inductance_h_per_m=gmd_inductance,
        within_tolerance=error <= tolerance * abs(impedance),
    )


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
