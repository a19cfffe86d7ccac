"""Tray profiles as thin walls."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.shapes import Point, Wall, wall_along


@dataclass(frozen=True)
class Channel:
    """A channel tray: a floor and two upright walls, with or without a closed cover in contact with them."""

    origin: Point
    """Middle of the inside floor (x, y). [m]"""
    inside_width: float
    """Between the walls. [m]"""
    inside_height: float
    """From the inside floor to the top of the walls. [m]"""
    thickness: float
    """Of the floor, the walls and the cover. [m]"""
    covered: bool = False


def channel_wall(tray: Channel) -> Wall:
    """Walls of a channel tray, floor below its origin, mitred at the corners; closed if it is covered.

    The floor and the cover reach from wall outside to wall outside.
    """
    x, y = tray.origin
    half, height = tray.inside_width / 2, tray.inside_height
    for name, value in (
        ("inside_width", tray.inside_width),
        ("inside_height", height),
        ("thickness", tray.thickness),
    ):
        if not value > 0:
            raise ValueError(f"{name} of a tray must be above 0: {value}")
    inside = [(x - half, y + height), (x - half, y), (x + half, y), (x + half, y + height)]
    return wall_along(inside, tray.thickness, side="right", closed=tray.covered)
