"""Shields that were solved, as plain data; the names of the fields are the keys of results.json."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ShieldResult:
    """A flat plate added to the study, and what it does at the place that is nearest to its limit with it."""

    metal: str
    width_m: float
    thickness_m: float
    x_m: float
    """Middle of the plate."""
    y_m: float
    mass_kg_per_m: float
    receptor: str
    """Receptor or zone where the field is largest over its limit; of a zone the highest field counts."""
    b_rms_t: float
    b_rms_error_t: float
    field_over_limit: float
    shielding_factor: float
    """Field there without the shield over field with it."""
    infinite_plate_factor: float | None
    """The same for line currents alone and a plate without edges; None at a zone, and with cables on both sides."""
    infinite_plate_outside: tuple[str, ...]
    """Why that factor is outside its range here."""
    within_limits: bool
    """Whether all receptors and zones stay within their limits, errors counted."""
    loss_w_per_m: float
    """Of all parts, the shield included."""
    loss_error_w_per_m: float
    loss_change_w_per_m: float
    """Over that without the shield."""
    shield_loss_w_per_m: float
    beaten: bool
    """Whether another has no more mass, loss and field over limit, and less of one."""
    chosen: bool
    """The best that meets all limits; its numbers alone are solved to the asked accuracy."""
    line: str
    """The shield as a table for the study file."""
