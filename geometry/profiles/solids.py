"""From a profile to solids with full names in their place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from geometry.loops import Point
from geometry.placing import placed
from geometry.shapes import Shape

MAIN = ""
"""Suffix of the solid that has the name of the tray itself."""


class Profile(Protocol):
    """Dimensions of a tray, duct or steel section."""

    def solids(self) -> Mapping[str, Shape]:
        """Its solids by name suffix, in the profile's own axes."""


def named_solids(profile: Profile, name: str, origin: Point = (0.0, 0.0), angle: float = 0.0) -> dict[str, Shape]:
    """Solids of a profile under their full names.

    Parameters
    ----------
    profile : Profile
        Dimensions.
    name : str
        Name of the tray: "T1" gives "T1", "T1.cover", "T1.left".
    origin : (x, y)
        Where the origin of the profile's own axes lies. [m]
    angle : float
        By how much the profile is turned about its origin, anticlockwise. [rad]

    Returns
    -------
    solids : dict of str to Shape
    """
    return {
        f"{name}.{suffix}" if suffix != MAIN else name: placed(shape, origin, angle)
        for suffix, shape in profile.solids().items()
    }
