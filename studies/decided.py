"""Results of what a study asks beyond its own numbers, as plain data: orders, charging, faults."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class OrderResult:
    """A phase order and what it does."""

    phases: dict[str, tuple[str, ...]]
    """Labels of each circuit's cables, in the order of their positions."""
    value: float
    """Of the objective; smaller is better."""
    receptor_b_rms_t: tuple[float, ...]
    worst_over_limit: float | None
    """Largest field over its limit (over its value today where there is no limit)."""
    largest_share: float
    """Largest current of a conductor over an equal share of its phase's."""
    inequality: float
    """Largest spread of reactance among the phases of a circuit, over their mean."""


@dataclass(frozen=True)
class OrderSearchResult:
    """The best phase orders, at the study's own frequency."""

    objective: str
    tried: int
    possible: int
    """Orders there are; those that differ by turning all phases count once."""
    proved: bool
    """Whether all were tried, so that none is better."""
    today: OrderResult
    best: tuple[OrderResult, ...]
    confirmed_b_rms_t: tuple[float, ...]
    """Field at the receptors by a full solve of the best order."""
    confirmed_difference: float
    """Largest relative difference of the field judged from one solve."""


@dataclass(frozen=True)
class ChargingResult:
    """Capacitance and charging current of a phase, for the stated supply."""

    circuit: str
    phase: str
    capacitance_f_per_m: float
    """Charge over phase voltage with balanced voltages."""
    charging_current_a_per_m: float
    charging_current_error_a_per_m: float
    formulas_f_per_m: dict[str, float]


@dataclass(frozen=True)
class FaultForceResult:
    """Greatest force on a cable in a fault."""

    fault: str
    peak_current_a: float
    cable: str
    phase: str
    peak_force_n_per_m: float
    """With the dc offset of the worst inception."""
    peak_force_error_n_per_m: float
    fx_n_per_m: float
    fy_n_per_m: float
    alternating_peak_force_n_per_m: float
    """Of the steady fault current without offset."""
    mean_fx_n_per_m: float
    mean_fy_n_per_m: float
    line_force_n_per_m: float
    """Between line currents, no tray."""
    standard_force_n_per_m: float | None
    """By IEC 61914."""
    standard: str
