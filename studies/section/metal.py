"""Metal of a study as input of the solver: conductivity at temperature, permeability, saturation, holes."""

from __future__ import annotations

import cmath
from dataclasses import dataclass

from fem.magnetisation import Curve, Steel, TabulatedCurve
from fem.materials import Material
from studies.data import materials
from studies.data.materials import conductivity_at

CURVE_POINTS = 60
"""Number of points of the tabulated curve of perforated sheet."""


@dataclass(frozen=True)
class Metal:
    """Linear material and, if it saturates, its curve."""

    material: Material
    steel: Steel | None
    source: str


def metal(
    own: materials.Material,
    temperature: float,
    curve: Curve | None = None,
    open_area: float = 0.0,
    fill: float = 1.0,
    other: Curve | None = None,
) -> Metal:
    """Metal at a temperature.

    own: Material of the study.
    temperature: [degC]
    curve: Magnetisation curve of saturating steel.
    open_area: Share p of round holes in a sheet, 0 to below 1. [-]
    fill: Share of metal in the solid, as of wires in an armour's tube, above 0. [-]
    other: Curve of another steel of the same use.

    Holes: sigma (1 - p)/(1 + p) and, with mu_i = mu0 in the holes,
    mu [(1 + p) mu_i + (1 - p) mu]/[(1 - p) mu_i + (1 + p) mu]: Maxwell's mixture in two dimensions (J. C. Maxwell,
    Treatise on Electricity and Magnetism, 1873, art. 314, there for spheres) [M]. It holds for round holes that are
    small compared with the skin depth and with the distance to the cables. Fill: sigma times the share of metal.
    """
    sigma = conductivity_at(own, temperature) * fill * (1 - open_area) / (1 + open_area)
    mu = own.relative_permeability * ((1 + open_area) + (1 - open_area) * own.relative_permeability)
    mu /= (1 - open_area) + (1 + open_area) * own.relative_permeability
    permeability = mu * cmath.exp(-1j * own.loss_angle) if own.loss_angle else mu
    steel = None
    if curve is not None:
        second = None if other is None else perforated(other, open_area)
        steel = Steel(perforated(curve, open_area), own.loss_angle, mu, second)
    return Metal(Material(sigma, permeability), steel, own.source)


def perforated(curve: Curve, open_area: float) -> Curve:
    """Curve of a sheet with holes: at one field strength, (1 - p)/(1 + p) of the steel's flux plus that of air."""
    if open_area == 0:
        return curve
    import numpy as np

    from fem.constants import mu_0

    flux = np.concatenate([[0.0], np.geomspace(0.01, 2.2, CURVE_POINTS)])
    strength = np.asarray(curve.field_strength(flux))
    share = (1 - open_area) / (1 + open_area)
    mixed = share * (flux - mu_0 * strength) + mu_0 * strength
    return TabulatedCurve(tuple(mixed.tolist()), tuple(strength.tolist()))
