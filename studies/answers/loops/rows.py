"""Induced voltages as plain data; the names are the keys of results.json."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LoopComponent:
    """The voltage at one frequency."""

    frequency_hz: float
    u_v_per_m: float
    """Along the run, not twisted."""
    u_error_v_per_m: float
    formula_u_v_per_m: float
    voltage_v: float | None
    voltage_error_v: float | None


@dataclass(frozen=True)
class LoopResult:
    """Open-circuit rms voltage of a loop beside that of line currents."""

    name: str
    x1_m: float
    y1_m: float
    x2_m: float
    y2_m: float
    length_m: float | None
    lay_length_m: float | None
    u_v_per_m: float
    """Root of the sum of squares over the frequencies, of wires that are not twisted."""
    u_error_v_per_m: float
    formula_u_v_per_m: float
    """Logarithms of the distances of line currents at the conductor axes, no tray and no screens."""
    voltage_v: float | None
    """In all: of the whole length; of twisted wires the most that the turns leave. None without length and twist."""
    voltage_error_v: float | None
    untwisted_voltage_v: float | None
    """The same wires without twist over the whole length; None without a twist or a length."""
    limit_v: float | None
    within_limit: bool | None
    """Whether the voltage in all and its error estimate together stay at or under the limit."""
    within_tolerance: bool
    """Whether the error estimate meets the asked tolerance."""
    spectrum: tuple[LoopComponent, ...]
    """At each frequency of the study."""
