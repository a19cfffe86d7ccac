"""Voltages and currents of the phases of a case, and how unequal they are."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from studies.compare.case_numbers import NOTHING, CaseNumber, Named
from studies.formulas.unbalance import x_spread
from studies.result import Result
from studies.study.phases import LINES

TURN = cmath.exp(2j * math.pi / 3)
"""a = e^{+j 2 pi/3}. [-]"""


@dataclass(frozen=True)
class PhaseState:
    """One phase of a circuit with the study's currents."""

    circuit: str
    phase: str
    current_a: complex
    voltage_v_per_m: complex
    """Drop along the phase, per metre."""
    voltage_error_v_per_m: float = 0.0
    """Estimate of the numerical error of the drop."""
    formula_voltage_v_per_m: complex | None = None
    """The drop by line currents at the axes, each phase with its own distances; None where it has no current."""


LinePhases = Mapping[str, PhaseState]
"""The states of L1, L2 and L3."""


def phase_states(result: Result) -> tuple[PhaseState, ...]:
    """The phases of a result."""
    return tuple(
        PhaseState(
            phase.circuit,
            phase.phase,
            phase.current_a,
            phase.voltage_v_per_m,
            (phase.z_error_ohm_per_m or 0.0) * abs(phase.current_a),
            None if phase.formula_z_ohm_per_m is None else phase.formula_z_ohm_per_m * phase.current_a,
        )
        for phase in result.phases
    )


def mean_state(sections: Sequence[PhaseState], weights: Sequence[float]) -> PhaseState:
    """One phase over a run: the mean of its drops by the lengths of the sections; its current is the same in all.

    Parameters
    ----------
    sections : sequence of PhaseState
        The phase in each section.
    weights : sequence of float
        Lengths of the sections over that of the run. [-]
    """
    pairs = list(zip(sections, weights, strict=True))
    known = [
        state.formula_voltage_v_per_m * weight for state, weight in pairs if state.formula_voltage_v_per_m is not None
    ]
    return replace(
        sections[0],
        voltage_v_per_m=sum(state.voltage_v_per_m * weight for state, weight in pairs),
        voltage_error_v_per_m=sum(state.voltage_error_v_per_m * weight for state, weight in pairs),
        formula_voltage_v_per_m=sum(known) if len(known) == len(sections) else None,
    )


def by_circuit(phases: Iterable[PhaseState]) -> dict[str, dict[str, PhaseState]]:
    """The three line phases of each circuit that has all of them."""
    found: dict[str, dict[str, PhaseState]] = {}
    for phase in phases:
        found.setdefault(phase.circuit, {})[phase.phase] = phase
    return {name: lines for name, lines in found.items() if set(LINES) <= set(lines)}


def spread(lines: LinePhases) -> float | None:
    """`x_spread` of the three phases with the study's currents; None if a phase has no current. [-]"""
    reactances = _reactances(lines)
    return None if reactances is None or not np.all(np.isfinite(reactances)) else float(x_spread(reactances))


def spread_between_lines(lines: LinePhases) -> float | None:
    """The same with the drop that is common to the three phases, the mean of the three, taken off each. [-]"""
    common = common_drop(lines)
    return spread({line: replace(lines[line], voltage_v_per_m=lines[line].voltage_v_per_m - common) for line in LINES})


def sequence_drops(lines: LinePhases) -> tuple[complex, complex]:
    """Positive- and negative-sequence voltage drop per metre. [V/m]

    Notes
    -----
    U1 = (U_L1 + a U_L2 + a^2 U_L3)/3, U2 = (U_L1 + a^2 U_L2 + a U_L3)/3 (symmetrical components).
    """
    first, second, third = (lines[line].voltage_v_per_m for line in LINES)
    return (first + TURN * second + TURN**2 * third) / 3, (first + TURN**2 * second + TURN * third) / 3


def common_drop(lines: LinePhases) -> complex:
    """Zero-sequence voltage drop per metre: the mean of the three, common to them. [V/m]"""
    return sum(lines[line].voltage_v_per_m for line in LINES) / len(LINES)


def phase_spread(phases: tuple[PhaseState, ...]) -> Named:
    """`x_spread` of each circuit. [-]"""
    return _each(phases, spread, lambda lines, value: _spread_error(lines, value, 1.0))


def phase_spread_between_lines(phases: tuple[PhaseState, ...]) -> Named:
    """`x_spread` of each circuit without the drop common to its phases. [-]"""
    return _each(phases, spread_between_lines, lambda lines, value: _spread_error(lines, value, 2.0))


def negative_drop(phases: tuple[PhaseState, ...]) -> Named:
    """Negative-sequence voltage drop of each circuit. [V/m]"""
    return _each(phases, lambda lines: abs(sequence_drops(lines)[1]), lambda lines, _: _mean_error(lines))


def drop_unbalance(phases: tuple[PhaseState, ...]) -> Named:
    """Negative- over positive-sequence voltage drop of each circuit. [-]"""
    return _each(phases, _ratio, lambda lines, value: (1 + value) * _mean_error(lines) / abs(sequence_drops(lines)[0]))


def common_ratio(phases: tuple[PhaseState, ...]) -> Named:
    """Zero- over positive-sequence voltage drop of each circuit. [-]"""
    return _each(phases, _common, lambda lines, value: (1 + value) * _mean_error(lines) / abs(sequence_drops(lines)[0]))


def _common(lines: LinePhases) -> float | None:
    positive = sequence_drops(lines)[0]
    return abs(common_drop(lines)) / abs(positive) if positive != 0 else None


def _ratio(lines: LinePhases) -> float | None:
    positive, negative = sequence_drops(lines)
    return abs(negative) / abs(positive) if positive != 0 else None


def _reactances(lines: LinePhases) -> list[float] | None:
    """Im(u/i) of each phase; None where a phase has no current. [ohm/m]"""
    states = [lines[line] for line in LINES]
    if any(state.current_a == 0 for state in states):
        return None
    return [(state.voltage_v_per_m / state.current_a).imag for state in states]


def _mean_error(lines: LinePhases) -> float:
    """Error of a sequence component of the drops: a mean of the three. [V/m]"""
    return sum(lines[line].voltage_error_v_per_m for line in LINES) / len(LINES)


def _spread_error(lines: LinePhases, value: float, times: float) -> float:
    """Error of (largest - smallest)/mean of reactances, each with some times the error of its phase. [-]

    Notes
    -----
    d(D/M) <= (dD + (D/M) dM)/M with dD of two phases and dM the mean of the three. The drop common to all that is
    taken off each is no further off than they are: twice the error.
    """
    errors = sorted(times * lines[line].voltage_error_v_per_m / abs(lines[line].current_a) for line in LINES)
    reactances = _reactances(lines) or [math.inf]
    mean = sum(reactances) / len(reactances)
    return (errors[-1] + errors[-2] + value * sum(errors) / len(errors)) / mean


def _each(
    phases: tuple[PhaseState, ...],
    of: Callable[[LinePhases], float | None],
    error_of: Callable[[LinePhases, float], float],
) -> Named:
    """A number of each circuit with its error, beside that of the formula's drops."""
    found: dict[str, CaseNumber] = {}
    for circuit, lines in by_circuit(phases).items():
        value = of(lines)
        if value is None:
            found[circuit] = NOTHING
            continue
        drops = {line: lines[line].formula_voltage_v_per_m for line in LINES}
        by_formula = {
            line: replace(lines[line], voltage_v_per_m=drop) for line, drop in drops.items() if drop is not None
        }
        formula = of(by_formula) if len(by_formula) == len(LINES) else None
        found[circuit] = CaseNumber(value, error_of(lines, value), formula)
    return found


FROM_PHASES: Mapping[str, Callable[[tuple[PhaseState, ...]], Named]] = {
    "phase_inequality": phase_spread,
    "phase_inequality_between_lines": phase_spread_between_lines,
    "u2_v_per_m": negative_drop,
    "u2_over_u1": drop_unbalance,
    "u0_over_u1": common_ratio,
}
"""Quantities that follow from the voltages and currents of the phases alone."""
