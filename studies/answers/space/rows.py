"""Results of the run in space, as plain data."""

from __future__ import annotations

from dataclasses import dataclass

from fem.arrays import Floats


@dataclass(frozen=True)
class SectionShare:
    """What a straight piece or a bend adds to the field at a place."""

    section: str
    """Such as "straight 1" or "bend 1"."""
    share: float
    """Its field along that of the whole run, over the field of the whole run; all sum to 1. [-]"""


@dataclass(frozen=True)
class SpaceFieldResult:
    """Field of the run in space at a receptor."""

    name: str
    x_m: float
    y_m: float
    z_m: float
    b_rms_t: float
    """Resultant of cables as lines and metal as filaments."""
    b_rms_error_t: float
    """Numerical error, and the larger of the difference to the second combination and the doubt of the metal."""
    numerical_error_t: float
    """Of it the change between two meshes."""
    second_b_rms_t: float | None
    """Second combination: cables alone, times the two-dimensional factor of the metal beside the nearest piece."""
    cables_b_rms_t: float
    """Of the cables alone, as lines with the computed currents."""
    metal_b_rms_t: float
    """Of what metal and currents off the cables' axes add, alone."""
    nearest: str
    """The nearest straight piece or bend."""
    distance_m: float
    """From its path."""
    joint_distance_m: float | None
    """From the nearest corner, bend or end; None for a run that is straight."""
    nearest_b_rms_t: float
    """Of the cross-section alone, as if the nearest piece were straight without end."""
    limit_t: float | None
    limit_name: str | None
    exposure_index: float | None
    exposure_error: float | None
    within_limit: bool | None
    shares: tuple[SectionShare, ...]

    @property
    def ratio(self) -> float | None:
        """Field over that of the nearest piece alone; None without a field there. [-]"""
        return self.b_rms_t / self.nearest_b_rms_t if self.nearest_b_rms_t > 0 else None

    @property
    def is_too_low(self) -> bool:
        """Whether the cross-section alone gives less than the run in space, beyond the error of that."""
        return self.nearest_b_rms_t < self.b_rms_t - self.b_rms_error_t


@dataclass(frozen=True)
class AlongCourseResult:
    """The place of a receptor of the cross-section where the run in space has its highest field there."""

    name: str
    section: str
    """The straight piece or bend beside which it is highest."""
    x_m: float
    y_m: float
    z_m: float
    b_rms_t: float
    b_rms_error_t: float
    straight_b_rms_t: float
    """Of the cross-section, beside a straight run."""
    limit_t: float | None
    limit_name: str | None
    exposure_index: float | None
    exposure_error: float | None
    within_limit: bool | None

    @property
    def ratio(self) -> float | None:
        """Field over that of the straight run; None without a field there. [-]"""
        return self.b_rms_t / self.straight_b_rms_t if self.straight_b_rms_t > 0 else None

    @property
    def is_higher(self) -> bool:
        """Whether the field is higher than that of the straight run, beyond its error."""
        return self.b_rms_t - self.b_rms_error_t > self.straight_b_rms_t > 0


@dataclass(frozen=True)
class SpaceLineResult:
    """Field of the run in space along a line; arrays have shape (n,), points (n, 3)."""

    name: str
    points_m: Floats
    distance_m: Floats
    b_rms_t: Floats
    b_rms_error_t: Floats
    second_b_rms_t: Floats
    nearest_b_rms_t: Floats


@dataclass(frozen=True)
class SpacePlanResult:
    """Field of the run in space over a level plane; x (nx,), y (ny,), fields (ny, nx)."""

    height_m: float
    x_m: Floats
    y_m: Floats
    b_rms_t: Floats


@dataclass(frozen=True)
class SpaceResult:
    """The run in space."""

    receptors: tuple[SpaceFieldResult, ...]
    along: tuple[AlongCourseResult, ...]
    """Of each receptor of the cross-section whose place is open somewhere along the course."""
    lines: tuple[SpaceLineResult, ...]
    plan: SpacePlanResult | None
    half_width_m: float
    """Half the larger side of the rectangle about cables and metal."""
