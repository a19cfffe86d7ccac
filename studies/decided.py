"""Results of what a study asks beyond its own numbers, as plain data: orders, charging, faults."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class OrderResult:
    """A phase order and what one solution, that of the study's own order, says of it."""

    phases: dict[str, tuple[str, ...]]
    """Labels of each circuit's cables, in the order of their positions."""
    value: float
    """Of the objective; smaller is better."""
    receptor_b_rms_t: tuple[float, ...]
    zone_b_max_rms_t: tuple[float, ...]
    """Highest of the samples of each zone."""
    worst_over_limit: float | None
    """Largest field that counts over its limit (over its value today where there is no limit)."""
    worst_at: str | None
    """Receptor or zone where that is."""
    largest_share: float
    """Largest current of a conductor over an equal share of its phase's."""
    inequality: float
    """Largest spread of reactance among the phases of a circuit, over their mean."""


@dataclass(frozen=True)
class SolvedOrder:
    """A phase order solved in full: with its own saturation, its own zone search, and estimates of the errors."""

    value: float
    value_error: float
    receptor_b_rms_t: tuple[float, ...]
    receptor_b_rms_error_t: tuple[float, ...]
    zone_b_max_rms_t: tuple[float, ...]
    zone_b_max_rms_error_t: tuple[float, ...]
    worst_over_limit: float | None
    worst_over_limit_error: float | None
    worst_at: str | None
    within_limits: bool | None
    """Whether the fields that count stay with their errors at or under their limits; None where none has a limit."""
    largest_share: float
    largest_share_error: float
    inequality: float
    inequality_error: float
    unknowns: int
    within_tolerance: bool
    """Whether its numbers were refined to the asked accuracy."""


@dataclass(frozen=True)
class OrderSearchResult:
    """The best phase orders, at the study's own frequency."""

    objective: str
    receptors: tuple[str, ...]
    """Names of all receptors, in the order of the fields."""
    zones: tuple[str, ...]
    counted: tuple[str, ...]
    """Receptors and zones that count in the objective and in the worst field."""
    samples: int
    """Points at which the field of an order is judged."""
    fixed: tuple[str, ...]
    """Circuits whose order was left as it is."""
    tried: int
    possible: int
    """Orders there are; those that are the same by symmetry count once."""
    symmetric: int
    """Orders that count as one."""
    proved: bool
    """Whether all were tried, so that none is better."""
    exchanges: int
    """Exchanges of two labels, one after the other, that do not improve the best order where not all were tried."""
    least_value: float
    """A value of the objective that no order is below: the best one's where all were tried."""
    saturating: bool
    """Whether steel saturates: an order is judged with the permeability that the study's own order leaves."""
    today: OrderResult
    best: tuple[OrderResult, ...]
    today_solved: SolvedOrder
    best_solved: SolvedOrder
    """Of the best order alone."""
    largest_difference: float
    """Largest relative difference of the judged fields of the best order from its full solve's."""


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


@dataclass(frozen=True)
class FaultForceResult:
    """Greatest force on a cable in a fault; of the two-phase faults in the worst one."""

    fault: str
    peak_current_a: float
    """Peak of the fault, that of each phase in it; of a two-phase one sqrt(3)/2 of the three-phase one's."""
    cable: str
    phase: str
    peak_force_n_per_m: float
    """With the dc offset of the worst inception."""
    peak_force_error_n_per_m: float
    fx_n_per_m: float
    fy_n_per_m: float
    alternating_peak_force_n_per_m: float
    """Of sinusoids without offset whose crest is the peak current in every phase: what IEC 61914 is for."""
    mean_fx_n_per_m: float
    mean_fy_n_per_m: float
    line_force_n_per_m: float
    """Of the same sinusoids as line currents that parallel cables share equally, no tray."""
    standard_force_n_per_m: float | None
    """By IEC 61914."""
    standard: str
    circuit: str
    faulted_phases: str
    """Such as L1-L2."""
    cable_peak_current_a: float
    """Crest of the current of this cable: the peak of the fault, or its share of it among parallel cables."""
    direction_deg: float
    """Of the peak force, from x to y."""
    alternating_peak_force_error_n_per_m: float
    standard_difference: float | None
    """IEC 61914 over alternating_peak_force_n_per_m less one. [-]"""
    standard_difference_reason: str
    """What accounts for it where it is large, else empty."""
    cleat_spacing_m: float | None
    force_per_cleat_n: float | None
    """Peak force times the spacing."""
    force_without_steel_n_per_m: float | None
    """The peak force as if no metal were magnetic; None where none is."""
    force_without_steel_error_n_per_m: float | None
    steel_mean_b_t: float | None
    """Mean over the area of the steel at the crest of the peak force."""
    steel_exceeded: bool
    """Whether steel of constant permeability would carry more at that crest than steel can: the force then lies between
    the peak force and that without steel."""


@dataclass(frozen=True)
class FaultDesignResult:
    """The force that the cleats of a circuit must hold: the greatest of the three-phase and all two-phase faults."""

    circuit: str
    fault: str
    faulted_phases: str
    peak_current_a: float
    cable: str
    phase: str
    force_n_per_m: float
    """The larger bound where the force lies between two."""
    force_error_n_per_m: float
    standard_force_n_per_m: float | None
    """By IEC 61914 for this cable and fault."""
    cleat_spacing_m: float | None
    force_per_cleat_n: float | None
    force_per_cleat_error_n: float | None
    why: str


@dataclass(frozen=True)
class FaultPairResult:
    """A two-phase fault and the greatest force in it."""

    circuit: str
    peak_current_a: float
    faulted_phases: str
    greatest_force_n_per_m: float
    """With the dc offset of the worst inception, of all cables."""
    greatest_force_error_n_per_m: float
    cable: str
    """Where it acts."""
    worst: bool
    """Whether it is the worst two-phase fault, the one that `faults` holds."""


@dataclass(frozen=True)
class ReservationResult:
    """A case that neither a field nor its error estimate covers, beside the verdict of a place."""

    kind: str
    """receptor, zone or route."""
    place: str
    """Name of the receptor or zone."""
    section: str
    """Of the route; empty for the study's own cross-section."""
    concern: str
    """bend, end, laying, steel or net current; accuracy, cancelling, in metal or current where there is no number."""
    b_rms_t: float | None
    """The field in this case, by line currents; None where there is no number."""
    within_limit: bool | None
    """Whether it, with the error estimate, stays at or under the limit."""
    changes_verdict: bool
    """Whether the verdict is another in this case, or is in doubt."""
    words: str
    """What the case is, where `concern` does not say it all."""
