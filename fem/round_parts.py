"""Round parts of a cross-section, solid or tubes, and the tube in whose bore each of them lies."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import hypot, isfinite

OUTSIDE = -1  # the region outside every part; the region inside tube number t is called t


@dataclass(frozen=True)
class RoundPart:
    """One homogeneous round cross-section, solid or with a concentric round bore.

    name: Name of the part, different from all others.
    centre: Axis (x, y). [m]
    outer_radius: Outer radius of the metal, above 0. [m]
    inner_radius: Radius of the bore, 0 for a solid part. [m]
    conductivity: Conductivity sigma, 0 or above. [S/m]
    relative_permeability: mu' - j mu'' over mu_0 with mu' above 0 and mu'' 0 or above (time factor e^{+jwt}). [-]
    """

    name: str
    centre: tuple[float, float]
    outer_radius: float
    inner_radius: float = 0.0
    conductivity: float = 0.0
    relative_permeability: complex = 1.0

    def __post_init__(self) -> None:
        """Refuse values that no round part can have."""
        where = f"round part {self.name!r}"
        if not self.name:
            raise ValueError("a round part has an empty name; each part needs a name that no other has")
        if len(self.centre) != 2 or not all(isfinite(value) for value in self.centre):
            raise ValueError(f"{where}: centre [m] is {self.centre}; it must be two finite numbers")
        if not (isfinite(self.outer_radius) and self.outer_radius > 0):
            raise ValueError(f"{where}: outer_radius [m] is {self.outer_radius}; it must be finite and above 0")
        if not 0 <= self.inner_radius < self.outer_radius:
            raise ValueError(
                f"{where}: inner_radius [m] is {self.inner_radius}; "
                f"it must be 0 or above and below outer_radius {self.outer_radius}"
            )
        if not (isfinite(self.conductivity) and self.conductivity >= 0):
            raise ValueError(f"{where}: conductivity [S/m] is {self.conductivity}; it must be finite and 0 or above")
        mu = complex(self.relative_permeability)
        if not (isfinite(mu.real) and isfinite(mu.imag) and mu.real > 0 and mu.imag <= 0):
            raise ValueError(
                f"{where}: relative_permeability [-] is {self.relative_permeability}; "
                "it must be finite with a real part above 0 and an imaginary part of 0 or below"
            )


@dataclass(frozen=True)
class RoundLayout:
    """Round parts that do not touch or cross, and the region in which each of them lies.

    regions: For each part the number of the tube whose bore holds it, or OUTSIDE. [-]
    """

    parts: tuple[RoundPart, ...]
    regions: tuple[int, ...]

    def members(self, region: int) -> list[int]:
        """Numbers of the parts that lie directly in a region. [-]"""
        return [part for part, home in enumerate(self.regions) if home == region]

    def outermost_first(self) -> list[int]:
        """Numbers of all parts, each tube before the parts in its bore. [-]"""
        return sorted(range(len(self.parts)), key=lambda part: -self.parts[part].outer_radius)


def distance(first: RoundPart, second: RoundPart) -> float:
    """Distance between the axes of two parts. [m]"""
    return hypot(first.centre[0] - second.centre[0], first.centre[1] - second.centre[1])


def bore_clearance(tube: RoundPart, part: RoundPart) -> float:
    """Least clear distance between the wall of a tube's bore and a part; above 0 if the part lies in the bore. [m]"""
    return tube.inner_radius - distance(tube, part) - part.outer_radius


def lay_out(parts: Sequence[RoundPart]) -> RoundLayout:
    """Lay out round parts: check that they lie clear of each other, and find the bore in which each lies.

    parts: At least one part; all names are different.

    Parts that touch, overlap or cross the wall of a tube raise ValueError with their names and the clear distance.
    """
    if not parts:
        raise ValueError("there is no round part; give at least one")
    names = [part.name for part in parts]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"the name {name!r} is given to {names.count(name)} round parts; names must differ")
    for first, second in combinations(parts, 2):
        beside = distance(first, second) - first.outer_radius - second.outer_radius
        inside = max(bore_clearance(first, second), bore_clearance(second, first))
        if max(beside, inside) <= 0:
            raise ValueError(
                f"round parts {first.name!r} and {second.name!r} touch, overlap or cross: the clear distance is "
                f"{max(beside, inside):.6g} m; it must be above 0"
            )
    regions = []
    for part in parts:
        tubes = [number for number, tube in enumerate(parts) if bore_clearance(tube, part) > 0]
        regions.append(min(tubes, key=lambda number: parts[number].outer_radius, default=OUTSIDE))
    return RoundLayout(tuple(parts), tuple(regions))


def enclosing_radius(parts: Sequence[RoundPart]) -> float:
    """Radius of the circle about the middle of the bounding box that holds all parts. [m]"""
    left = min(part.centre[0] - part.outer_radius for part in parts)
    right = max(part.centre[0] + part.outer_radius for part in parts)
    bottom = min(part.centre[1] - part.outer_radius for part in parts)
    top = max(part.centre[1] + part.outer_radius for part in parts)
    x, y = (left + right) / 2, (bottom + top) / 2
    return max(hypot(part.centre[0] - x, part.centre[1] - y) + part.outer_radius for part in parts)
