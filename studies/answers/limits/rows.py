"""Zones and limit distances as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

DIRECTIONS = ("right", "up", "left", "down")
"""The sides of the rectangle about all cables and metal, counter-clockwise, by the direction in which each looks."""
OVERALL = "overall"
"""The largest distance of all directions."""
MET, NOT_EXCEEDED, NOT_MET = "met", "not exceeded", "not met"
"""States of a limit: met beyond a distance, nowhere exceeded outside the rectangle, not met within a kilometre."""
LEAST_DISTANCE = 1e-4
"""Distances up to this are reported as 0. [m]"""


@dataclass(frozen=True)
class ZoneResult:
    """Highest field in a rectangle, in the air outside cables and metal, and apart from it in the metal."""

    name: str
    x0_m: float
    y0_m: float
    x1_m: float
    y1_m: float
    x_m: float
    """Where it is highest in air."""
    y_m: float
    where: str
    """The same in words: an edge of the zone, or beside which cable or metal."""
    b_max_rms_t: float
    b_max_rms_error_t: float
    """Estimate of its numerical error, from the change of the field between the last two meshes."""
    limit_t: float | None
    limit_name: str | None
    within_limit: bool | None
    """Whether the highest field in air (or the exposure index) and its error estimate stay at or under the limit."""
    exposure_index: float | None
    """The highest in air; of several frequencies its place may be another than that of the highest field."""
    exposure_error: float | None
    within_tolerance: bool
    """Whether the error estimate meets the asked tolerance."""
    solids: tuple[str, ...]
    """Cables and metal in the zone or at its edge."""
    clearance_m: float | None
    """Least distance from them of the air that is judged."""
    metal: str | None
    """The part of the zone's metal in which the flux density is highest; it is not judged."""
    metal_x_m: float | None
    metal_y_m: float | None
    metal_b_max_rms_t: float | None
    metal_b_max_rms_error_t: float | None
    """From the jump across the edges of triangles and the change between the last two meshes."""
    other_steel_b_max_rms_t: float | None = None
    """At the same place with the curve of another steel of the same use."""
    other_steel_within_limit: bool | None = None


@dataclass(frozen=True)
class LimitDistanceResult:
    """Where the field falls to a limit in one direction, counted from the rectangle about all cables and metal."""

    limit_t: float
    limit_name: str | None
    of: tuple[str, ...]
    """Receptors and zones that have this limit."""
    direction: str
    """right, up, left, down, from the middle of that side; overall: the largest of all directions."""
    state: str
    """met, not exceeded (nowhere outside the rectangle), or not met (within a kilometre)."""
    from_outline_m: float | None
    error_m: float | None
    from_centre_m: float | None
    far_form_from_centre_m: float | None
    """By the far form of line currents, without tray and screens."""

    @property
    def at_outline(self) -> bool:
        """Whether the limit is met at the outline, but for a distance and an error that nobody could measure."""
        return self.from_outline_m == 0 and self.error_m is not None and self.error_m <= LEAST_DISTANCE


@dataclass(frozen=True)
class LimitReach:
    """The distances of one limit."""

    rows: Mapping[str, LimitDistanceResult]
    """By direction."""

    @property
    def overall(self) -> LimitDistanceResult:
        """The largest distance of all directions."""
        return self.rows[OVERALL]

    @property
    def largest(self) -> float:
        """It or the distance of a side if that is larger, 0 if there is none. [m]"""
        return max((row.from_outline_m or 0.0 for row in self.rows.values()), default=0.0)

    @property
    def state_everywhere(self) -> str:
        """The state of all directions if none of them has a distance; else nothing."""
        states = {row.state for row in self.rows.values()}
        return next(iter(states)) if len(states) == 1 and MET not in states else ""


def limit_reaches(distances: Iterable[LimitDistanceResult]) -> tuple[LimitReach, ...]:
    """The distances limit by limit."""
    groups: dict[tuple[float, str | None, tuple[str, ...]], dict[str, LimitDistanceResult]] = {}
    for row in distances:
        groups.setdefault((row.limit_t, row.limit_name, row.of), {})[row.direction] = row
    return tuple(LimitReach(rows) for rows in groups.values())
