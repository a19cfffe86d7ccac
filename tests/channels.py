"""A plain channel tray as one wall, for tests of what is meshed, solved and drawn on it."""

from __future__ import annotations

from geometry.placing import placed
from geometry.profiles.channel import ChannelTray, Cover
from geometry.shapes import Point, Wall


def channel(
    inside_width: float, inside_height: float, thickness: float, covered: bool = False, origin: Point = (0.0, 0.0)
) -> Wall:
    """Wall of a channel, closed if it is covered; its origin is the middle of the inside floor. Lengths in m."""
    cover = Cover(thickness) if covered else None
    wall = placed(ChannelTray(inside_width, inside_height, thickness, cover=cover).solids()[""], origin)
    assert isinstance(wall, Wall)
    return wall
