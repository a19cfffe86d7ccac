"""Charging currents as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ChargingResult:
    """Capacitance and charging current of a phase, for the stated supply."""

    circuit: str
    phase: str
    capacitance_f_per_m: float
    """Charge over phase voltage with balanced voltages."""
    capacitance_error_f_per_m: float
    charging_current_a_per_m: float
    charging_current_error_a_per_m: float
    formulas_f_per_m: dict[str, float]
    method: str
    """How the capacitance of its cables was found."""
    circuit_inequality: float
    """Largest deviation of a phase's charging current from the mean of its circuit's phases, over the mean. [-]"""
    circuit_inequality_error: float
    run_charging_current_a: float | None
    """Of the whole route, each phase where its sections place it."""
    run_charging_current_error_a: float | None
    run_inequality: float | None
    """As circuit_inequality, of the whole route. [-]"""
    run_inequality_error: float | None
    neutral_displacement_v: float | None
    """Voltage against earth of a neutral that is insulated from it: of the whole route, where there is one."""
    neutral_displacement_error_v: float | None
    touching: bool
    """Whether a cable of the phase touches metal or another cable: the capacitance is the limit of no gap."""
    gap_m: float | None
    """A gap about each cable that touches something, in place of the touch."""
    gap_capacitance_f_per_m: float | None
    """Capacitance with this gap."""
    gap_capacitance_error_f_per_m: float | None
