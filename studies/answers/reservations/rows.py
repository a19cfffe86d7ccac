"""Reservations as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass

BEND = 1.71
"""Field inside a flat right-angled bend over that of the straight run: 1 + sin 45 deg of line currents [D]."""


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
    """bend, end, course, laying, steel, net current, stated net current or circuits off; without a number accuracy,
    cancelling, in metal or current."""
    b_rms_t: float | None
    """The field in this case, by line currents, of a course that of the run in space; None where there is none."""
    within_limit: bool | None
    """Whether it, with the error estimate, stays at or under the limit."""
    changes_verdict: bool
    """Whether the verdict is another in this case, or is in doubt."""
    words: str
    """What the case is, where `concern` does not say it all."""
