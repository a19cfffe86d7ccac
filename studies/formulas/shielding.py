"""Cylinders in a transverse field and plates under a uniform tangential field."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import above, positive, zero_or_above

KADEN = "H. Kaden, Wirbelstroeme und Schirmung in der Nachrichtentechnik, 2nd ed., 1959 [C]"
SATURATED = "W. MacLean, J. Appl. Phys. 25, 1954; P. D. Agarwal, AIEE Trans. 78 Pt I, 1959 [M]; re-derived [D]"
_THIN_CYLINDER = Limit(
    "thickness / radius",
    lambda mean_radius, thickness: thickness / mean_radius,
    "the thin-wall form is off by more than about 4 %",
    most=0.04,
)
_THIN_SKIN = Limit(
    "thickness / skin depth",
    lambda thickness, conductivity, frequency: thickness * np.sqrt(np.pi * frequency * mu_0 * conductivity),
    "the field is not uniform through the wall",
    most=0.5,
)


@formula(
    quantity="shielding factor",
    unit="-",
    source="H. Kaden, Wirbelstroeme und Schirmung in der Nachrichtentechnik, 2nd ed., 1959; L. V. King, "
    "Phil. Mag. 15, 1933 [C]",
    valid_for="long cylinder, uniform transverse field, thickness t up to 0.04 of the radius a: t/a or less "
    "too high [D]",
    limits=(_THIN_CYLINDER,),
)
def cylinder_shielding_factor(
    mean_radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> Floats:
    """Field without over field inside a long thin-walled cylinder in a transverse alternating field.

    mean_radius: Mean radius a of the wall, above half the thickness. [m]
    thickness: Thickness t of the wall, above 0. [m]
    conductivity: Conductivity sigma of the wall, 0 or above. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r of the wall, above 0. [-]
    Returns factor: SF = abs(B0/Bi) in the broadcast shape of the inputs.

    abs(cosh kt + (K + 1/K)/2 sinh kt), k = sqrt(j w mu sigma), K = k a/mu_r. Thin wall: 0.5 t/a to 1.03 t/a
    above the exact solution for t/a up to 0.04 [D]. At 0 Hz it becomes 1 + mu_r t/(2 a).

    >>> f"{cylinder_shielding_factor(0.1, 0.001, 6e6, 50.0, 200.0):.3f}"
    '2.026'
    """
    t = positive("thickness", thickness)
    a = above("mean_radius", mean_radius, "thickness/2", t / 2)
    sigma, f = zero_or_above("conductivity", conductivity), zero_or_above("frequency", frequency)
    mu_r = positive("relative_permeability", relative_permeability)
    k = (1 + 1j) * np.sqrt(np.pi * f * mu_0 * mu_r * sigma)
    direct = k == 0
    safe = np.where(direct, 1.0, k)
    big_k = safe * a / mu_r
    wave = np.cosh(safe * t) + 0.5 * (big_k + 1 / big_k) * np.sinh(safe * t)
    return np.where(direct, 1 + mu_r * t / (2 * a), np.abs(wave))


@formula(
    quantity="shielding factor",
    unit="-",
    source=KADEN,
    valid_for="long non-magnetic cylinder, uniform transverse field, thickness up to 0.04 of the radius and "
    "half a skin depth",
    limits=(
        _THIN_CYLINDER,
        _THIN_SKIN,
    ),
)
def thin_cylinder_shielding_factor(
    mean_radius: ArrayLike, thickness: ArrayLike, conductivity: ArrayLike, frequency: ArrayLike
) -> Floats:
    """Field without over field inside a thin non-magnetic cylinder in a transverse alternating field.

    mean_radius: Mean radius a of the wall, above half the thickness. [m]
    thickness: Thickness t of the wall, above 0. [m]
    conductivity: Conductivity sigma of the wall, 0 or above. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    Returns factor: SF = abs(1 + j w mu0 sigma a t/2) in the broadcast shape of the inputs.

    Wall much thinner than the skin depth and the radius.

    >>> f"{thin_cylinder_shielding_factor(0.1, 0.001, 5.8e7, 50.0):.3f}"
    '1.520'
    """
    t = positive("thickness", thickness)
    a = above("mean_radius", mean_radius, "thickness/2", t / 2)
    omega = 2 * np.pi * zero_or_above("frequency", frequency)
    return np.hypot(1, omega * mu_0 * zero_or_above("conductivity", conductivity) * a * t / 2)


@formula(
    quantity="shielding factor",
    unit="-",
    source=KADEN,
    valid_for="exact for a long linear cylinder in a uniform transverse static field",
)
def static_cylinder_shielding_factor(
    inner_radius: ArrayLike, outer_radius: ArrayLike, relative_permeability: ArrayLike
) -> Floats:
    """Field without over field inside a long magnetic cylinder in a transverse static field.

    inner_radius: Inner radius a, above 0. [m]
    outer_radius: Outer radius b, above a. [m]
    relative_permeability: Relative permeability mu_r of the wall, above 0. [-]
    Returns factor: SF = [(mu_r + 1)^2 - (mu_r - 1)^2 (a/b)^2]/(4 mu_r) in the broadcast shape of the inputs.

    Exact for a linear wall of any thickness; 1 + mu_r t/(2 a) for a thin wall of high permeability.

    >>> f"{static_cylinder_shielding_factor(0.1, 0.101, 200.0):.3f}"
    '1.975'
    """
    a = positive("inner_radius", inner_radius)
    b = above("outer_radius", outer_radius, "inner_radius", a)
    mu_r = positive("relative_permeability", relative_permeability)
    return ((mu_r + 1) ** 2 - (mu_r - 1) ** 2 * (a / b) ** 2) / (4 * mu_r)


@formula(
    quantity="depth of the saturated layer",
    unit="m",
    source=SATURATED,
    valid_for="field far above the knee of the curve, plate thicker than this depth",
)
def saturated_depth(
    peak_field: ArrayLike, conductivity: ArrayLike, frequency: ArrayLike, saturation: ArrayLike
) -> Floats:
    """Depth reached by the field in a thick plate with a rectangular magnetisation curve.

    peak_field: Amplitude H0 (not rms) of the tangential field at the surface, above 0. [A/m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    saturation: Flux density Bs of the curve's two levels, above 0. [T]
    Returns depth: delta = sqrt(2 H0/(w sigma Bs)) in the broadcast shape of the inputs.

    The front between +Bs and -Bs is at delta sin(wt/2) after the field's zero; the plate must be thicker than delta.
    For practical steel 0.75 Bs is put in place of Bs.

    >>> f"{1e3 * saturated_depth(5000.0, 5e6, 50.0, 1.5):.2f} mm"
    '2.06 mm'
    """
    h, sigma = positive("peak_field", peak_field), positive("conductivity", conductivity)
    omega = 2 * np.pi * positive("frequency", frequency)
    return np.sqrt(2 * h / (omega * sigma * positive("saturation", saturation)))


@formula(
    quantity="loss per surface area",
    unit="W/m^2",
    source=SATURATED,
    valid_for="field far above the knee of the curve, plate thicker than the saturated depth, field on one side",
)
def saturated_plate_loss(
    peak_field: ArrayLike, conductivity: ArrayLike, frequency: ArrayLike, saturation: ArrayLike
) -> Floats:
    """Loss per surface area of a thick plate with a rectangular magnetisation curve under a uniform tangential field.

    peak_field: Amplitude H0 (not rms) of the sinusoidal tangential field at the surface, above 0. [A/m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    saturation: Flux density Bs of the curve's two levels, above 0. [T]
    Returns loss: P = 8 H0^2/(3 pi sigma delta), delta = sqrt(2 H0/(w sigma Bs)).

    Limiting case of strong saturation in a plate thicker than delta, field on one side. For practical steel 0.75 Bs is
    put in place of Bs. With equal depths it is 16/(3 pi) = 1.698 times the linear half space.

    >>> f"{saturated_plate_loss(5000.0, 5e6, 50.0, 1.5):.0f} W/m^2"
    '2060 W/m^2'
    """
    h, sigma = positive("peak_field", peak_field), positive("conductivity", conductivity)
    return 8 * h**2 / (3 * np.pi * sigma * saturated_depth(h, sigma, frequency, saturation))
