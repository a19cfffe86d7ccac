"""Remedies as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RemedyResult:
    """What one change of the study does to the field at a place above its limit, and at what cost."""

    place: str
    """Receptor or zone that is above its limit as stated."""
    remedy: str
    """The change in words."""
    lines: tuple[str, ...]
    """What to write into the study file, each as the table, a colon and its lines; empty if it cannot be laid."""
    b_rms_t: float | None
    """Resultant with the remedy, the highest of a zone; None if it cannot be laid."""
    b_rms_error_t: float | None
    limit_t: float | None
    limit_name: str | None
    within_limit: bool | None
    """Whether the field (or the exposure index) with its error estimate stays at or under the limit."""
    loss_w_per_m: float | None
    """Loss of all parts with the remedy."""
    loss_error_w_per_m: float | None
    loss_change_w_per_m: float | None
    """Over that of the study as stated."""
    drawbacks: tuple[str, ...]
    """What it makes worse, and what to see to; why it cannot be laid."""
    distance_m: float | None = None
    """Of the remedy that moves the receptor: from its place as stated."""
