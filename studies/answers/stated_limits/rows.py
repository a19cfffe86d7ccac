"""Limits as stated, with the field in the same terms, as plain data; the names are the keys of results.json."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class StatedLimitResult:
    """A limit in the terms of its maker or code, and the field in the same terms."""

    name: str
    receptor: str
    value: str
    """rms, peak, peak to peak or weighted peak."""
    component: str
    """resultant, major axis, x or y."""
    low_hz: float | None
    """Ends of the band; None without one."""
    high_hz: float | None
    phases: str
    """worst, or as stated."""
    b_t: float | None
    """The field in these terms; None for a weighted peak."""
    b_error_t: float | None
    formula_b_t: float | None
    """Of line currents at the conductor axes."""
    limit_t: float | None
    index: float
    """Field over limit, or the weighted peak; 1 is allowed. [-]"""
    index_error: float
    formula_index: float
    limit_name: str | None
    """Name of the reference level of a weighted peak."""
    within_limit: bool
    """Whether field and error estimate together stay at or under the limit."""
