"""Results along lines and over rectangles: the field of traverses and of the map, as plain data."""

from __future__ import annotations

from dataclasses import dataclass

from fem.arrays import Floats


@dataclass(frozen=True)
class TraverseResult:
    """Field along a line of points; the arrays have shape (n,), points (n, 2)."""

    name: str
    points_m: Floats
    distance_m: Floats
    """From the first point."""
    b_rms_t: Floats
    b_rms_error_t: Floats
    b_major_axis_rms_t: Floats
    b_major_axis_rms_error_t: Floats
    line_formula_b_rms_t: Floats
    line_formula_shared_b_rms_t: Floats
    """With parallel cables sharing as the impedance matrix of line currents has them."""


@dataclass(frozen=True)
class MapResult:
    """Field over a rectangle; x (nx,), y (ny,), the others (ny, nx)."""

    x_m: Floats
    y_m: Floats
    b_rms_t: Floats
    line_formula_b_rms_t: Floats
