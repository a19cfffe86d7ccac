"""Sheets and rails: flat and bent plates, ladders."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.dimensions import require_below, require_choice, require_lengths
from geometry.loops import Point
from geometry.profiles.solids import MAIN
from geometry.shapes import Shape, wall_along

LEFT, RIGHT = "left", "right"
INWARD, OUTWARD = "inward", "outward"


@dataclass(frozen=True)
class FlatPlate:
    """A flat plate. Its origin is the middle of its upper face."""

    width: float
    """Above 0. [m]"""
    thickness: float
    """Above 0. [m]"""

    def __post_init__(self) -> None:
        """Refuse dimensions that no plate can have."""
        require_lengths(self, "width", "thickness")

    def solids(self) -> dict[str, Shape]:
        """The plate under ""."""
        half = self.width / 2
        return {MAIN: wall_along([(-half, 0.0), (half, 0.0)], self.thickness, side="right")}


@dataclass(frozen=True)
class BentPlate:
    """A plate bent along a path of straight pieces, mitred at the bends. Its origin is the origin of the path."""

    path: tuple[Point, ...]
    """Corner points of the path, two or more. [m]"""
    thickness: float
    """Above 0. [m]"""
    side: str = "middle"
    """Side of the path on which the plate lies: "middle" (astride it), "left" or "right"."""

    def __post_init__(self) -> None:
        """Refuse a path without a length, or along which no plate can be bent."""
        require_lengths(self, "thickness")
        require_choice(self, "side", ("middle", LEFT, RIGHT))
        if len(self.path) < 2 or not all(math.isfinite(x) and math.isfinite(y) for x, y in self.path):
            raise ValueError(f"path of a bent plate must be two points with finite coordinates or more: {self.path}")
        self.solids()

    def solids(self) -> dict[str, Shape]:
        """The plate under ""."""
        return {MAIN: wall_along(self.path, self.thickness, side=self.side)}


@dataclass(frozen=True)
class Ladder:
    """The two side rails of a ladder tray; its rungs are not part of a cross-section.

    Its origin is midway between the rails, at the height of the upper faces of the rungs, where cables rest. Each rail
    is an upright plate; a C rail has flanges at top and bottom.
    """

    inside_width: float
    """Between the upright plates of the rails, above 0. [m]"""
    rail_height: float
    """Overall height of the rails, above 0. [m]"""
    thickness: float
    """Thickness of the sheet of the rails, above 0. [m]"""
    rung_height: float = 0.0
    """From the bottom of the rails to the upper faces of the rungs, 0 or above and below rail_height. [m]"""
    flange: float = 0.0
    """Length of the flanges, from the face of the upright plate; 0 for a plain rail. [m]"""
    flange_side: str = OUTWARD
    """Whether the flanges reach over the cables ("inward") or away from them ("outward")."""

    def __post_init__(self) -> None:
        """Refuse dimensions that do not fit together."""
        require_lengths(self, "inside_width", "rail_height", "thickness")
        require_lengths(self, "rung_height", "flange", above=False)
        require_choice(self, "flange_side", (INWARD, OUTWARD))
        require_below(self, "rung_height", self.rail_height, "its rail_height")
        if self.flange > 0:
            require_below(self, "thickness", self.rail_height / 2, "half its rail_height, if it has flanges")
            if self.flange_side == INWARD:
                require_below(self, "flange", self.inside_width / 2, "half its inside_width")

    def solids(self) -> dict[str, Shape]:
        """The rails under "left" and "right"."""
        half, t = self.inside_width / 2, self.thickness
        bottom, top = -self.rung_height, self.rail_height - self.rung_height
        outside = half + t
        if self.flange == 0:
            right = [(outside, bottom), (outside, top)]
        elif self.flange_side == INWARD:  # along the outside faces
            end = half - self.flange
            right = [(end, bottom), (outside, bottom), (outside, top), (end, top)]
        else:  # along the faces towards the cables
            end = outside + self.flange
            right = [(end, top), (half, top), (half, bottom), (end, bottom)]
        left = [(-x, y) for x, y in reversed(right)]
        return {LEFT: wall_along(left, t, side=LEFT), RIGHT: wall_along(right, t, side=LEFT)}
