"""Currents beside permitted ones as plain data; the names of the fields are the keys of results.json, with units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PermittedCable:
    """One cable beside the permitted current that is stated for it."""

    cable: str
    phase: str
    current_rms_a: float
    """Of its conductor, over all frequencies."""
    current_error_a: float
    permitted_current_a: float
    """As the study states it for each cable of the circuit."""
    current_ratio: float
    """Current over permitted current. [-]"""
    current_ratio_error: float
    loss_w_per_m: float
    """Of conductor, screen, sheath and armour, as installed, over all frequencies."""
    loss_error_w_per_m: float
    alone_loss_w_per_m: float
    """What the cable would lose alone at its permitted current: in air, at the same temperatures, at the fundamental of
    its circuit, its screen, sheath and armour without net current."""
    alone_loss_error_w_per_m: float
    formula_alone_loss_w_per_m: float | None
    """Permitted current squared, times the ac resistance of the conductor by its closed form, without neighbours."""
    equal_heat_factor: float | None
    """Factor on all currents at which its loss is that alone, if losses go with the square of the current; None of a
    cable without loss. [-]"""
    equal_heat_factor_error: float | None


@dataclass(frozen=True)
class SurfaceLoss:
    """Loss of a tray, cover or piece of metalwork over its surface."""

    part: str
    loss_w_per_m: float
    loss_error_w_per_m: float
    surface_m2_per_m: float
    """Outline of the section: both faces and the edges, holes counted as sheet."""
    loss_w_per_m2: float
    loss_error_w_per_m2: float


@dataclass(frozen=True)
class PermittedResult:
    """All cables with a stated permitted current, and the factor on all currents that the hottest of them decides."""

    equal_heat_factor: float | None
    """Largest factor on all currents at which no cable loses more than alone at its permitted current; None without any
    loss. [-]"""
    equal_heat_factor_error: float | None
    decided_by: str | None
    """The cable that decides it."""
    solved_with_steel: bool
    """Whether saturating steel was solved again at that factor; otherwise all losses go with the square of the
    current."""
    within_permitted_current: bool
    """No current with its error is above what is permitted."""
    within_equal_heat: bool
    """The factor less its error is not below 1."""
    cables: tuple[PermittedCable, ...]
    surfaces: tuple[SurfaceLoss, ...]
