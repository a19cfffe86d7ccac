"""Solids of a profile in their place, under their full names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from geometry.loops import Point
from geometry.placing import placed
from geometry.shapes import Shape

MAIN = ""
"""Suffix of the solid that bears the name of the tray."""


class Profile(Protocol):
    """Dimensions of a tray, duct or steel section."""

    def solids(self) -> Mapping[str, Shape]:
        """Solids by the suffix of their names, in the axes of the profile."""


def named_solids(profile: Profile, name: str, origin: Point = (0.0, 0.0), angle: float = 0.0) -> dict[str, Shape]:
    """Solids of a profile under their full names: of a tray "T1" those are "T1", "T1.cover", "T1.left".

    origin: Place of the origin of the axes of the profile. [m]
    angle: Angle by which the profile is turned about its origin, anticlockwise. [rad]
    """
    return {
        f"{name}.{suffix}" if suffix != MAIN else name: placed(shape, origin, angle)
        for suffix, shape in profile.solids().items()
    }
