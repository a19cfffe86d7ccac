"""Voltages and currents of the phases of a case, and how unequal they are."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from studies.compare.case_numbers import NOTHING, CaseNumber, Named
from studies.formulas.unbalance import sequence_components, x_spread
from studies.result import Result
from studies.study.phases import LINES


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

    `weights` are the lengths of the sections over that of the run. [-]
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
    common = sequence_drops(lines)[0]
    return spread({line: replace(lines[line], voltage_v_per_m=lines[line].voltage_v_per_m - common) for line in LINES})


def sequence_drops(lines: LinePhases) -> tuple[complex, complex, complex]:
    """Zero-, positive- and negative-sequence voltage drop per metre. [V/m]"""
    zero, positive, negative = sequence_components([lines[line].voltage_v_per_m for line in LINES])
    return complex(zero), complex(positive), complex(negative)


def _over_positive(lines: LinePhases, sequence: int) -> float | None:
    """A sequence component of the drops, 0 or 2, over the positive one; None without a positive one. [-]"""
    drops = sequence_drops(lines)
    return abs(drops[sequence]) / abs(drops[1]) if drops[1] != 0 else None


def _reactances(lines: LinePhases) -> list[float] | None:
    """Im(u/i) of each phase; None where a phase has no current. [ohm/m]"""
    states = [lines[line] for line in LINES]
    if any(state.current_a == 0 for state in states):
        return None
    return [(state.voltage_v_per_m / state.current_a).imag for state in states]


def _mean_error(lines: LinePhases) -> float:
    """Error of a sequence component of the drops: a mean of the three. [V/m]"""
    return sum(lines[line].voltage_error_v_per_m for line in LINES) / len(LINES)


def _ratio_error(lines: LinePhases, value: float) -> float:
    """Error of a ratio of two sequence components. [-]"""
    return (1 + value) * _mean_error(lines) / abs(sequence_drops(lines)[1])


def _spread_error(lines: LinePhases, value: float, times: float) -> float:
    """Error of (largest - smallest)/mean of reactances, each with some times the error of its phase. [-]

    d(D/M) <= (dD + (D/M) dM)/M with dD of two phases and dM the mean of the three. The drop common to all that is
    taken off each is no further off than they are: twice the error.
    """
    errors = sorted(times * lines[line].voltage_error_v_per_m / abs(lines[line].current_a) for line in LINES)
    reactances = _reactances(lines) or [math.inf]
    mean = sum(reactances) / len(reactances)
    return (errors[-1] + errors[-2] + value * sum(errors) / len(errors)) / mean


def number_of_phases(key: str, phases: Sequence[PhaseState]) -> Named:
    """One of `MEASURES` for each circuit with its error, beside that of the formula's drops."""
    of, error_of = MEASURES[key]
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


MEASURES: Mapping[str, tuple[Callable[[LinePhases], float | None], Callable[[LinePhases, float], float]]] = {
    "phase_inequality": (spread, partial(_spread_error, times=1.0)),
    "phase_inequality_between_lines": (spread_between_lines, partial(_spread_error, times=2.0)),
    "u2_v_per_m": (lambda lines: abs(sequence_drops(lines)[2]), lambda lines, _: _mean_error(lines)),
    "u2_over_u1": (partial(_over_positive, sequence=2), _ratio_error),
    "u0_over_u1": (partial(_over_positive, sequence=0), _ratio_error),
}
"""Quantities that follow from the voltages and currents of the phases alone, each with its error."""
