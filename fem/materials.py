"""Linear material laws of the regions of a mesh."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fem.constants import mu_0


@dataclass(frozen=True)
class Material:
    """Conductivity and permeability of a homogeneous, linear, isotropic material."""

    conductivity: float = 0.0
    """Conductivity sigma, 0 or above. [S/m]"""
    relative_permeability: complex = 1.0
    """mu'/mu0 - j mu''/mu0: real part above 0, imaginary part 0 or below (hysteresis loss). [-]"""

    def __post_init__(self) -> None:
        """Refuse values that no passive material has."""
        if not (self.conductivity >= 0 and math.isfinite(self.conductivity)):
            raise ValueError(f"conductivity must be 0 or above: {self.conductivity}")
        mu = complex(self.relative_permeability)
        if not (mu.real > 0 and mu.imag <= 0 and math.isfinite(abs(mu))):
            raise ValueError(
                f"relative permeability must have a real part above 0 and an imaginary part of 0 or below: {mu}"
            )

    @property
    def reluctivity(self) -> complex:
        """Reluctivity nu = 1/mu. [m/H]"""
        return 1.0 / (mu_0 * complex(self.relative_permeability))


AIR = Material()
"""Material of every region for which none is given."""


def skin_depth(material: Material, frequency: float) -> float:
    """Skin depth sqrt(2/(w mu sigma)) at a frequency [Hz]; infinite in a material that does not conduct. [m]"""
    product = 2 * math.pi * frequency * mu_0 * abs(complex(material.relative_permeability)) * material.conductivity
    return math.sqrt(2 / product) if product > 0 else math.inf
