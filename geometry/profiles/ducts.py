"""Closed runs for cables: round conduit, and ducts with rectangular compartments."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from geometry.dimensions import require_below, require_lengths
from geometry.network import Rectangle, network_of_rectangles
from geometry.profiles.solids import MAIN
from geometry.shapes import Shape, Tube, wall_along


@dataclass(frozen=True)
class Conduit:
    """A round pipe. Its origin is the lowest point of the bore, where a cable rests."""

    outside_diameter: float
    """Above 0. [m]"""
    thickness: float
    """Thickness of the wall, above 0 and below half of outside_diameter. [m]"""

    def __post_init__(self) -> None:
        """Refuse dimensions that no pipe can have."""
        require_lengths(self, "outside_diameter", "thickness")
        require_below(self, "thickness", self.outside_diameter / 2, "half its outside_diameter")

    def solids(self) -> dict[str, Shape]:
        """The pipe under ""."""
        radius = self.outside_diameter / 2 - self.thickness
        return {MAIN: Tube((0.0, radius), radius, self.outside_diameter / 2)}


@dataclass(frozen=True)
class Duct:
    """A closed duct of one compartment or more, side by side and stacked, with all walls equally thick and in contact.

    Its origin is the middle of the inside floor of the lowest row, between the outermost walls.
    """

    inside_widths: tuple[float, ...]
    """Inside widths of the compartments, from the left, each above 0. [m]"""
    inside_heights: tuple[float, ...]
    """Inside heights of the rows of compartments, from the bottom, each above 0. [m]"""
    thickness: float
    """Thickness of all walls, above 0. [m]"""

    def __post_init__(self) -> None:
        """Refuse dimensions that no duct can have."""
        require_lengths(self, "thickness")
        for name, lengths in (("inside_widths", self.inside_widths), ("inside_heights", self.inside_heights)):
            if not lengths or not all(math.isfinite(length) and length > 0 for length in lengths):
                raise ValueError(f"{name} of a duct must be one finite length above 0 m or more: {lengths}")

    def solids(self) -> dict[str, Shape]:
        """The duct under ""."""
        t = self.thickness
        width = sum(self.inside_widths) + t * (len(self.inside_widths) - 1)
        columns = _starts(-width / 2, self.inside_widths, t)
        rows = _starts(0.0, self.inside_heights, t)
        if len(self.inside_widths) == len(self.inside_heights) == 1:
            half, height = width / 2, self.inside_heights[0]
            inside = [(-half, height), (-half, 0.0), (half, 0.0), (half, height)]
            return {MAIN: wall_along(inside, t, side="right", closed=True)}
        left, right = columns[0] - t, columns[-1]
        shelves = [Rectangle(left, row - t, right, row) for row in rows]
        uprights = [
            Rectangle(column - t, low, column, high - t) for column in columns for low, high in itertools.pairwise(rows)
        ]
        return {MAIN: network_of_rectangles([*shelves, *uprights])}


def _starts(first: float, lengths: tuple[float, ...], thickness: float) -> list[float]:
    """Start of each compartment, and of the one that would follow the last. [m]"""
    return list(itertools.accumulate((length + thickness for length in lengths), initial=first))
