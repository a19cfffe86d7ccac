"""Voltages and currents of the phases of a case, and how unequal they are."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from studies.phases import LINES

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


def by_circuit(phases: Iterable[PhaseState]) -> dict[str, dict[str, PhaseState]]:
    """The three line phases of each circuit that has all of them."""
    found: dict[str, dict[str, PhaseState]] = {}
    for phase in phases:
        found.setdefault(phase.circuit, {})[phase.phase] = phase
    return {name: lines for name, lines in found.items() if set(LINES) <= set(lines)}


def inequality(lines: Mapping[str, PhaseState]) -> float | None:
    """Largest less smallest inductance of the three phases over their mean; None where a phase has no current. [-]

    Notes
    -----
    The inductance of a phase is Im(u/i)/w with the study's currents; w cancels.
    """
    states = [lines[line] for line in LINES]
    if any(state.current_a == 0 for state in states):
        return None
    reactances = [(state.voltage_v_per_m / state.current_a).imag for state in states]
    mean = sum(reactances) / len(reactances)
    return (max(reactances) - min(reactances)) / mean if mean > 0 else None


def sequence_drops(lines: Mapping[str, PhaseState]) -> tuple[complex, complex]:
    """Positive- and negative-sequence voltage drop per metre. [V/m]

    Notes
    -----
    U1 = (U_L1 + a U_L2 + a^2 U_L3)/3, U2 = (U_L1 + a^2 U_L2 + a U_L3)/3 (symmetrical components).
    """
    first, second, third = (lines[line].voltage_v_per_m for line in LINES)
    return (first + TURN * second + TURN**2 * third) / 3, (first + TURN**2 * second + TURN * third) / 3
