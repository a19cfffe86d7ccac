"""Static fields and losses of direct currents as plain data; the names are the keys of results.json."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DirectFieldResult:
    """Static flux density of the direct currents at a receptor, or the highest in a zone."""

    kind: str
    """receptor or zone."""
    name: str
    """Of the place."""
    x_m: float
    y_m: float
    b_t: float
    """Magnitude; the earth's own field is not in it."""
    b_error_t: float
    bx_t: float
    """To the right."""
    by_t: float
    """Upwards."""
    line_formula_b_t: float
    """Of line currents at the conductor axes, without steel."""
    limit_t: float | None
    limit_name: str | None
    within_limit: bool | None


@dataclass(frozen=True)
class DirectConductorResult:
    """Currents and losses of a conductor, or the losses of all parts."""

    part: str
    phase: str | None
    direct_current_a: float | None
    current_rms_a: float | None
    """Of all alternating components."""
    total_rms_a: float | None
    direct_loss_w_per_m: float
    direct_loss_error_w_per_m: float
    formula_direct_loss_w_per_m: float | None
    """Current squared times the resistance of the conductor to direct current."""
    loss_w_per_m: float
    """Of all alternating components."""
    total_loss_w_per_m: float
    total_loss_error_w_per_m: float


@dataclass(frozen=True)
class DirectCurrents:
    """Everything of direct currents."""

    fields: tuple[DirectFieldResult, ...]
    conductors: tuple[DirectConductorResult, ...]
    """Of conductors with a direct current, and of all parts together."""
    net_direct_current_a: float
    """Sum of the direct currents of all circuits, which returns far away."""
    doubt: str
    """Sentence on conductors whose total current is beyond their area; empty without any."""
