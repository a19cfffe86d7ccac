"""Losses and the state of parts as plain data; the names of the fields are the keys of results.json, with units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LossResult:
    """Loss of a part beside its formula."""

    part: str
    kind: str
    phase: str | None
    loss_w_per_m: float
    loss_error_w_per_m: float
    magnetic_loss_w_per_m: float
    """The part of it that is hysteresis."""
    formula_loss_w_per_m: float | None
    """By the closed form of its kind: I^2 R of a conductor, IEC 60287-1-1 of a screen or sheath, an infinite plate like
    the floor of an open tray; None where there is none."""
    formula: str
    within_tolerance: bool
    formula_outside_range: str
    """Why the formula is not as good here as it claims; empty inside its range."""
    rule_error_w_per_m: float = 0.0
    """Part of the error estimate that the rule of effective permeability of saturating steel adds."""
    other_steel_loss_w_per_m: float | None = None
    """With the curve of another steel of the same use."""


@dataclass(frozen=True)
class PartResult:
    """Electrical state of a part."""

    part: str
    kind: str
    phase: str | None
    current_a: complex
    """At the fundamental of the cable's circuit, of trays and metalwork at the study's own frequency; so are voltage,
    resistance and share."""
    current_rms_a: float
    """Over all frequencies."""
    current_error_a: float
    """Estimate of the numerical error of current_a; rounding where the current is given."""
    formula_current_rms_a: float | None
    """Of a conductor with parallel ones, over all frequencies: as the matrix of line impedances shares the phase's
    current, with ac resistance, geometric mean radius and axis distances, no tray and no screens. Of a rail that rungs
    join to another: by the loop of the two rails as thin strips under the line currents."""
    voltage_v_per_m: complex
    voltage_error_v_per_m: float
    standing_voltage_v_per_100m: float | None
    """Of a part without net current and in no bond, over all frequencies: between its open end and the other, per
    100 m of run."""
    r_dc_ohm_per_m: float
    r_ac_ohm_per_m: float | None
    """Loss over current squared; none where the part carries no net current."""
    r_ac_error_ohm_per_m: float | None
    formula_r_ac_ohm_per_m: float | None
    share_of_phase: float | None
    """|current| over an equal share of the phase current; 1 where a conductor has no parallel one."""
    resistance_source: str
