"""Energy of losses as plain data; the names of the fields are the keys of results.json, with units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LossEnergy:
    """Energy of the losses of a year of one kind of parts, or of all."""

    kind: str
    """A kind of parts, or "all"."""
    loss_w_per_m: float
    """At the study's currents."""
    energy_j_per_m: float
    """Over the year of 8760 hours."""
    energy_error_j_per_m: float
    """Numerical error alone."""
    least_energy_j_per_m: float | None
    """What the stated load leaves open, downwards; None where it leaves nothing open."""
    most_energy_j_per_m: float | None
    energy_j: float | None
    """Of the whole run; None without a length, and for a kind alone where sections of the run lose otherwise."""
    cost_per_m: float | None
    """In the stated currency; None without a price."""
    cost: float | None
    """Of the whole run."""


@dataclass(frozen=True)
class EnergyResult:
    """Energy that losses take over a year."""

    stated: str
    """How the load is stated: load_factor, loss_factor or hours."""
    load_factor: float | None
    """Mean load over the study's currents; None where only the loss factor is stated. [-]"""
    loss_factor: float
    """Mean square of the load over the square of the study's currents. [-]"""
    least_loss_factor: float | None
    """Of a stated load factor m: m^2, of a constant load. [-]"""
    most_loss_factor: float | None
    """Of a stated load factor m: m, of full load or none. [-]"""
    solved_with_steel: bool
    """Whether saturating steel was solved again at the loads."""
    length_m: float | None
    run_loss_w_per_m: float | None
    """Mean along a run whose sections lose otherwise than the study's own, which the other numbers are of."""
    currency: str | None
    rows: tuple[LossEnergy, ...]
