"""The round construction of a single-core cable, from the inside out: conductor, insulation, screen, jacket."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class CableConstruction:
    """Radii of a single-core cable with round, concentric layers.

    Parameters
    ----------
    conductor_radius : float
        Outer radius of the conductor, above 0. [m]
    insulation_thickness : float
        Radial thickness of all that lies between conductor and screen (or jacket), above 0. [m]
    screen_thickness : float
        Radial thickness of the screen, a tube; 0 for a cable without screen. [m]
    jacket_thickness : float
        Radial thickness of the jacket; 0 for a cable without one. [m]
    """

    conductor_radius: float
    insulation_thickness: float
    screen_thickness: float = 0.0
    jacket_thickness: float = 0.0

    def __post_init__(self) -> None:
        """Refuse lengths that no cable can have."""
        for name, value in (
            ("conductor_radius", self.conductor_radius),
            ("insulation_thickness", self.insulation_thickness),
        ):
            if not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} must be a finite length above 0 m: {value}")
        for name, value in (("screen_thickness", self.screen_thickness), ("jacket_thickness", self.jacket_thickness)):
            if not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name} must be a finite length of 0 m or above: {value}")

    @property
    def has_screen(self) -> bool:
        """Whether there is a screen."""
        return self.screen_thickness > 0

    @property
    def screen_inner_radius(self) -> float:
        """Radius over the insulation, the inside of the screen where there is one. [m]"""
        return self.conductor_radius + self.insulation_thickness

    @property
    def screen_outer_radius(self) -> float:
        """Radius over the screen; equal to `screen_inner_radius` without one. [m]"""
        return self.screen_inner_radius + self.screen_thickness

    @property
    def outer_radius(self) -> float:
        """Radius over the jacket. [m]"""
        return self.screen_outer_radius + self.jacket_thickness

    @property
    def diameter(self) -> float:
        """Overall diameter. [m]"""
        return 2 * self.outer_radius
