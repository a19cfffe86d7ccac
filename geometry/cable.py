"""Round construction of a single-core cable: the conductor and the layers around it, from the inside out."""

from dataclasses import dataclass, fields
from itertools import pairwise

from geometry.dimensions import require_length

CONDUCTOR, INSULATION, JACKET = "conductor", "insulation", "jacket"

TUBES = ("screen", "sheath", "armour")
"""Layers of metal from the inside out."""


@dataclass(frozen=True)
class CableConstruction:
    """Radii of a single-core cable with round, concentric layers.

    From the inside out: conductor, insulation, screen, separation, sheath, bedding, armour, jacket.

    conductor_radius: Outer radius of the conductor, above 0. [m]
    insulation_thickness: Radial thickness of all layers between the conductor and the first layer of metal (or the
        jacket), above 0. [m]
    screen_thickness: Radial thickness of the screen, a tube; 0 for a cable without one. [m]
    jacket_thickness: Radial thickness of the jacket; 0 for a cable without one. [m]
    separation_thickness: Radial thickness between screen and sheath, above 0 if the cable has both. [m]
    sheath_thickness: Radial thickness of the metal sheath, a tube; 0 for a cable without one. [m]
    bedding_thickness: Radial thickness under the armour, above 0 if there is a screen or sheath under it. [m]
    armour_thickness: Radial thickness of the armour, a tube; 0 for a cable without one. [m]
    """

    conductor_radius: float
    insulation_thickness: float
    screen_thickness: float = 0.0
    jacket_thickness: float = 0.0
    separation_thickness: float = 0.0
    sheath_thickness: float = 0.0
    bedding_thickness: float = 0.0
    armour_thickness: float = 0.0

    def __post_init__(self) -> None:
        """Refuse lengths that no cable can have, and tubes of metal that touch."""
        for field in fields(self):
            needed = field.name in ("conductor_radius", "insulation_thickness")
            require_length(field.name, getattr(self, field.name), above=needed)
        for (under, (_, outside)), (over, (inside, _)) in pairwise(self.tubes.items()):
            if inside <= outside:
                raise ValueError(f"{over} and {under} touch: a layer above 0 m must lie between them")

    @property
    def layers(self) -> dict[str, tuple[float, float]]:
        """Inner and outer radius of every layer of the cable, from the inside out. [m]"""
        thicknesses = {
            INSULATION: self.insulation_thickness,
            "screen": self.screen_thickness,
            "separation": self.separation_thickness,
            "sheath": self.sheath_thickness,
            "bedding": self.bedding_thickness,
            "armour": self.armour_thickness,
            JACKET: self.jacket_thickness,
        }
        layers, radius = {CONDUCTOR: (0.0, self.conductor_radius)}, self.conductor_radius
        for name, thickness in thicknesses.items():
            if thickness > 0:
                layers[name] = (radius, radius + thickness)
                radius += thickness
        return layers

    @property
    def tubes(self) -> dict[str, tuple[float, float]]:
        """Inner and outer radius of every layer of metal around the conductor, from the inside out. [m]"""
        return {name: radii for name, radii in self.layers.items() if name in TUBES}

    @property
    def screen_inner_radius(self) -> float:
        """Radius over the insulation, which is the inside of a screen. [m]"""
        return self.conductor_radius + self.insulation_thickness

    @property
    def outer_radius(self) -> float:
        """Radius over the outermost layer. [m]"""
        return max(outer for _, outer in self.layers.values())

    @property
    def diameter(self) -> float:
        """Overall diameter. [m]"""
        return 2 * self.outer_radius
