"""Sequence impedances of a circuit as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

LIGHT = 0.2
"""Share of another circuit's current below which that one induces about as much voltage as the circuit's own."""


@dataclass(frozen=True)
class SequenceResult:
    """Sequence impedances of a three-phase circuit, the other circuits without current."""

    circuit: str
    z1_ohm_per_m: complex
    z1_error_ohm_per_m: float
    formula_z1_ohm_per_m: complex
    """R_ac by IEC 60287-1-1 and the GMD/GMR reactance."""
    coupling_error_ohm_per_m: float
    """Estimate of the numerical error of z21 and z01, the larger."""
    z2_ohm_per_m: complex
    z2_error_ohm_per_m: float
    z21_ohm_per_m: complex
    """Negative-sequence voltage of a positive-sequence current: it unbalances what a load sees from line to line."""
    z01_ohm_per_m: complex
    """Zero-sequence voltage of a positive-sequence current: common to the phases, in no voltage from line to line."""
    z21_over_z11: float
    """Magnitudes: negative- over positive-sequence drop V2/V1 of balanced currents. [-]"""
    z21_over_z11_error: float
    """Estimate of the numerical error. [-]"""
    z01_over_z11: float
    """Magnitudes: zero- over positive-sequence drop V0/V1 of balanced currents. [-]"""
    z01_over_z11_error: float
    """Estimate of the numerical error. [-]"""
    formula_z21_ohm_per_m: complex
    """By line currents at the axes, each phase with its own distances."""
    formula_z01_ohm_per_m: complex
    """By line currents at the axes, each phase with its own distances."""
    formula_z21_over_z11: float
    """[-]"""
    formula_z01_over_z11: float
    """[-]"""
    z21_error_ohm_per_m: float
    z01_error_ohm_per_m: float


@dataclass(frozen=True)
class PhaseResult:
    """Impedance of a phase of a circuit, u/i with the study's currents."""

    circuit: str
    phase: str
    current_a: complex
    voltage_v_per_m: complex
    z_ohm_per_m: complex | None
    """None where the phase carries no current."""
    z_error_ohm_per_m: float | None
    inductance_h_per_m: float | None
    formula_z_ohm_per_m: complex | None
    """Line currents at the axes, each phase with its own distances."""
    formula_inductance_h_per_m: float | None
    """Imaginary part of the same over w."""
    gmd_inductance_h_per_m: float | None
    """Averaged over the phases: (mu0/2 pi) ln(GMD/GMR)."""
    within_tolerance: bool


def compared_inductances(phases: Sequence[PhaseResult]) -> dict[int, float | None]:
    """Inductance of each phase whose circuit is not light beside another, by the identity of its row. [H/m]"""
    currents: dict[str, float] = {}
    for row in phases:
        currents[row.circuit] = max(currents.get(row.circuit, 0.0), abs(row.current_a))
    least = LIGHT * max(currents.values(), default=0.0)
    return {id(row): row.inductance_h_per_m for row in phases if currents[row.circuit] >= least}
