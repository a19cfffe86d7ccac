"""Structural steel: I and L sections with square corners, without fillets."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.dimensions import require_below, require_lengths
from geometry.network import Rectangle, network_of_rectangles
from geometry.profiles.solids import MAIN
from geometry.shapes import Shape


@dataclass(frozen=True)
class StructuralSection:
    """Dimensions of a rolled section. Its origin is the middle of the bottom of its bounding rectangle b x h."""

    height: float
    """Overall height h, above 0. [m]"""
    width: float
    """Overall width b, above 0. [m]"""
    web: float
    """Thickness of the upright plate, above 0. [m]"""
    flange: float
    """Thickness of the level plates, above 0. [m]"""

    flanges = 1
    """Number of level plates. [-]"""

    def __post_init__(self) -> None:
        """Refuse plates that do not fit into the section."""
        require_lengths(self, "height", "width", "web", "flange")
        require_below(self, "web", self.width, "its width")
        require_below(self, "flange", self.height / self.flanges, "the room for it in its height")

    def _bottom(self) -> Rectangle:
        return Rectangle(-self.width / 2, 0.0, self.width / 2, self.flange)

    def _top(self) -> Rectangle:
        return Rectangle(-self.width / 2, self.height - self.flange, self.width / 2, self.height)


class ISection(StructuralSection):
    """A web between two flanges."""

    flanges = 2

    def solids(self) -> dict[str, Shape]:
        """The section under ""."""
        web = Rectangle(-self.web / 2, self.flange, self.web / 2, self.height - self.flange)
        return {MAIN: network_of_rectangles([self._bottom(), web, self._top()])}


class LSection(StructuralSection):
    """An angle: a level leg at the bottom and an upright one at its left end."""

    def solids(self) -> dict[str, Shape]:
        """The section under ""."""
        left = -self.width / 2
        return {
            MAIN: network_of_rectangles([self._bottom(), Rectangle(left, self.flange, left + self.web, self.height)])
        }
