"""Forces of faults as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass


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
    """IEC 61914 / alternating_peak_force_n_per_m - 1. [-]"""
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
