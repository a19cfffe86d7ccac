"""Results along lines and over rectangles: the field of traverses and of the map, as plain data."""

from __future__ import annotations

from dataclasses import dataclass

from fem.arrays import Floats


@dataclass(frozen=True)
class TraversePeak:
    """The highest resultant along a traverse, also between its points."""

    distance_m: float
    """From the first point."""
    x_m: float
    y_m: float
    b_rms_t: float
    b_rms_error_t: float


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
    peak: TraversePeak | None
    """None if the search between the points failed."""

    def highest(self) -> tuple[float, float, float]:
        """Highest field [T] with its error [T] and distance [m]: of the line, or of the points if the search failed."""
        if self.peak is not None:
            return self.peak.b_rms_t, self.peak.b_rms_error_t, self.peak.distance_m
        k = int(self.b_rms_t.argmax())
        return float(self.b_rms_t[k]), float(self.b_rms_error_t[k]), float(self.distance_m[k])


@dataclass(frozen=True)
class MapResult:
    """Field over a rectangle; x (nx,), y (ny,), the others (ny, nx)."""

    x_m: Floats
    y_m: Floats
    b_rms_t: Floats
    line_formula_b_rms_t: Floats


@dataclass(frozen=True)
class FieldComponent:
    """Field at a receptor at one frequency."""

    frequency_hz: float
    b_rms_t: float
    b_rms_error_t: float


@dataclass(frozen=True)
class ReceptorResult:
    """Field at a receptor beside the field of line currents."""

    name: str
    x_m: float
    y_m: float
    b_rms_t: float
    """Resultant, sqrt(|Bx|^2 + |By|^2)."""
    b_rms_error_t: float
    """Estimate of its numerical error."""
    b_major_axis_rms_t: float
    b_major_axis_rms_error_t: float
    """As large as that of the resultant: the change of a vector bounds that of its largest part."""
    b_minor_axis_rms_t: float
    bx_t: complex
    by_t: complex
    line_formula_b_rms_t: float
    """Resultant of line currents at the conductor axes, parallel cables sharing equally, no tray and no screens."""
    line_formula_shared_b_rms_t: float
    """The same with parallel cables sharing as the impedance matrix of line currents has them; equal without any."""
    limit_t: float | None
    """The limit as stated, or the reference level at the study's own frequency."""
    limit_name: str | None
    """Name of the reference level, if the limit is one."""
    exposure_index: float | None
    """Sum of B over its level, over the frequencies, of a reference level; 1 is allowed."""
    exposure_error: float | None
    within_limit: bool | None
    """Whether the resultant (or the exposure index) and its error estimate together stay at or under the limit."""
    within_tolerance: bool
    """Whether the error estimate meets the asked tolerance."""
    inside: str | None
    """The cable or metal that the place lies in, where the verdict is of the field in the material; None in air."""
    spectrum: tuple[FieldComponent, ...]
    """The field at each frequency; b_rms_t is the root of the sum of their squares, bx_t and by_t are of the first."""
    third_harmonic_b_rms_t: float | None = None
    """At most this field at three times the frequency comes out of saturating steel; it is in no other number."""
    other_steel_b_rms_t: float | None = None
    """Resultant with the curve of another steel of the same use."""
    other_steel_within_limit: bool | None = None
    """The verdict with that steel."""
