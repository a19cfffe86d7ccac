"""The curve of a linear material, on which a method for saturating steel must give the linear answer."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.constants import mu_0

from fem.arrays import Floats
from fem.magnetisation import NU_0, Curve


@dataclass(frozen=True)
class LinearCurve(Curve):
    """H = B/(mu0 mu_r) for every B, mu_r being 1 or above."""

    relative_permeability: float

    @property
    def last_flux_density(self) -> float:
        return math.inf

    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        nu = NU_0 / self.relative_permeability
        return nu * flux_density, np.full(np.shape(flux_density), nu)

    def flux_density(self, field_strength: ArrayLike) -> Floats:
        return np.asarray(field_strength, dtype=np.float64) * (mu_0 * self.relative_permeability)
