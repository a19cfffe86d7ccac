"""Saturating steel, other currents as plain data; the names of the fields are the keys of results.json, with units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SaturationResult:
    """How a part of saturating steel was magnetised."""

    part: str
    peak_b_t: float
    """Largest of all triangles; grows at sharp corners as the mesh is refined."""
    mean_peak_b_t: float
    """Mean over the part's area of the peak over the cycle."""
    relative_permeability: float
    """Of the linear answer."""
    loss_w_per_m: float
    linear_loss_w_per_m: float
    """With that permeability, constant."""
    solves: int
    rule_error: float = 0.0
    """Largest relative error of the loss by the rule of effective permeability at this saturation. [-]"""
    curve: str = ""
    """Magnetisation curve, in words."""
    other_curve: str = ""
    """Of another steel of the same use, with which the study is solved once more; empty where none is known."""


@dataclass(frozen=True)
class SweepPoint:
    """The study at other currents."""

    factor: float
    """Of all currents."""
    tray_loss_w_per_m: float
    conductor_loss_w_per_m: float
    quadratic_tray_loss_w_per_m: float
    """The tray loss of factor 1, times the square of the factor."""
    receptor_b_rms_t: tuple[float, ...]
