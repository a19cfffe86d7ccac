"""Alternating-current resistance of cable conductors: IEC 60287-1-1 factors and the round conductor exactly."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import finite, not_below, positive, zero_or_above

_TEMPERATURE = Limit(
    *("temperature", lambda temperature: temperature, "the linear law does not serve there"),
    least=-50,
    most=250,
    unit=" °C",
)


@formula(
    quantity="dc resistance",
    unit="ohm/m",
    source="IEC 60287-1-1, dc resistance of conductor [C]",
    valid_for="linear law, temperatures from -50 degC to 250 degC [P]",
    limits=(_TEMPERATURE,),
)
def dc_resistance(resistance_20: ArrayLike, temperature_coefficient: ArrayLike, temperature: ArrayLike) -> Floats:
    """Direct-current resistance per metre at a conductor temperature.

    resistance_20: Resistance R20 at 20 degC, above 0. [ohm/m]
    temperature_coefficient: Coefficient alpha20 at 20 degC, 0 or above. [1/K]
    temperature: Temperature theta of the conductor. [degC]
    Returns resistance: R' = R20 [1 + alpha20 (theta - 20)] in the broadcast shape of the inputs.

    Linear; meant for the temperatures of cables in service. A result of 0 or below raises ValueError.

    >>> f"{1e6 * dc_resistance(100e-6, 3.93e-3, 70.0):.2f} uohm/m"
    '119.65 uohm/m'
    """
    r = positive("resistance_20", resistance_20)
    alpha = zero_or_above("temperature_coefficient", temperature_coefficient)
    factor = 1 + alpha * (finite("temperature", temperature) - 20)
    if np.any(factor <= 0):
        raise ValueError(f"temperature too low for the linear law: {temperature!r}")
    return r * factor


@formula(
    quantity="argument of the skin and proximity factors",
    unit="-",
    source="IEC 60287-1-1, skin effect factor [C]",
    valid_for="any round conductor; ks and kp as tabulated for the construction",
)
def skin_argument(resistance: ArrayLike, frequency: ArrayLike, coefficient: ArrayLike = 1.0) -> Floats:
    """Argument xs or xp of the IEC 60287-1-1 skin and proximity factors.

    resistance: Dc resistance R' at the operating temperature, above 0. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    coefficient: Coefficient ks or kp of the construction, above 0; 1 for a solid round conductor. [-]
    Returns argument: x = sqrt(8 pi f 1e-7 k/R') in the broadcast shape of the inputs.

    Equal to sqrt(2) radius/skin depth of the solid round conductor of the same resistance when k = 1.

    >>> f"{skin_argument(100e-6, 50.0):.3f}"
    '1.121'
    """
    r, f = positive("resistance", resistance), zero_or_above("frequency", frequency)
    return np.sqrt(8e-7 * np.pi * f * positive("coefficient", coefficient) / r)


_SKIN_100 = Limit("xs", skin_argument, "the fit has not been compared with the exact solution there", most=100)
_PROXIMITY = Limit("xp", skin_argument, "the standard's proximity factor ends there", most=2.8)


@formula(
    quantity="skin effect factor",
    unit="-",
    source="IEC 60287-1-1, skin effect factor: first range [C], second and third [M]",
    valid_for="conductor far from others; xs up to 100: within 0.6 % of the exact resistance for ks = 1 [D]",
    limits=(_SKIN_100,),
)
def skin_factor(resistance: ArrayLike, frequency: ArrayLike, coefficient: ArrayLike = 1.0) -> Floats:
    """Skin effect factor ys of IEC 60287-1-1.

    resistance: Dc resistance R' at the operating temperature, above 0. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    coefficient: Coefficient ks of the construction, above 0; 1 for solid and for round stranded conductors. [-]
    Returns factor: ys, the part of R' that skin effect adds.

    xs^4/(192 + 0.8 xs^4) up to xs = 2.8, -0.136 - 0.0177 xs + 0.0563 xs^2 up to 3.8, 0.354 xs - 0.733 above. With
    ks = 1 the resistance is within 0.6 % of the Bessel solution up to xs = 100, 0.11 % up to 2.8 [D].

    >>> f"{skin_factor(100e-6, 50.0):.5f}"
    '0.00817'
    """
    x = skin_argument(resistance, frequency, coefficient)
    return np.select(
        [x <= 2.8, x <= 3.8],
        [_skin_fraction(x), -0.136 - 0.0177 * x + 0.0563 * x**2],
        0.354 * x - 0.733,
    )


@formula(
    quantity="proximity effect factor",
    unit="-",
    source="IEC 60287-1-1, proximity effect factor for three single-core cables [C]",
    valid_for="mean of three single-core cables, xp up to 2.8",
    limits=(_PROXIMITY,),
)
def proximity_factor_three(
    resistance: ArrayLike,
    frequency: ArrayLike,
    diameter: ArrayLike,
    spacing: ArrayLike,
    coefficient: ArrayLike = 1.0,
) -> Floats:
    """Proximity effect factor yp of three single-core cables, IEC 60287-1-1.

    resistance: Dc resistance R' at the operating temperature, above 0. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    diameter: Diameter dc of the conductor, above 0. [m]
    spacing: Axis to axis distance s, not below the diameter; `flat_proximity_spacing` for unequal ones. [m]
    coefficient: Coefficient kp of the construction, above 0; 1 for solid round conductors. [-]
    Returns factor: yp = F (dc/s)^2 [0.312 (dc/s)^2 + 1.18/(F + 0.27)], F = xp^4/(192 + 0.8 xp^4).

    Stated for xp not above 2.8. One mean value for the three cables.

    >>> f"{proximity_factor_three(100e-6, 50.0, 0.02, 0.04):.5f}"
    '0.00882'
    """
    d = positive("diameter", diameter)
    ratio = (d / not_below("spacing", spacing, "diameter", d)) ** 2
    fraction = _skin_fraction(skin_argument(resistance, frequency, coefficient))
    return fraction * ratio * (0.312 * ratio + 1.18 / (fraction + 0.27))


@formula(
    quantity="spacing for the proximity factor",
    unit="m",
    source="IEC 60287-1-1, proximity effect factor for three single-core cables, flat formation [M]",
    valid_for="three cables in flat formation",
)
def flat_proximity_spacing(spacing_1: ArrayLike, spacing_2: ArrayLike) -> Floats:
    """Spacing to be used in the proximity factor of three cables in flat formation.

    spacing_1: Axis to axis distance s1 of the first pair of neighbours, above 0. [m]
    spacing_2: Axis to axis distance s2 of the second pair, above 0. [m]
    Returns spacing: s = sqrt(s1 s2) in the broadcast shape of the inputs.

    For use in `proximity_factor_three`.

    >>> f"{flat_proximity_spacing(0.04, 0.09):.3f} m"
    '0.060 m'
    """
    return np.sqrt(positive("spacing_1", spacing_1) * positive("spacing_2", spacing_2))


@formula(
    quantity="ac resistance",
    unit="ohm/m",
    source="IEC 60287-1-1, ac resistance of conductor [C]",
    valid_for="as good as its factors; not for pipe-type cables",
)
def ac_resistance(resistance: ArrayLike, skin: ArrayLike, proximity: ArrayLike) -> Floats:
    """Alternating-current resistance per metre from the dc value and the two factors.

    resistance: Dc resistance R' at the operating temperature, above 0. [ohm/m]
    skin: Skin effect factor ys, 0 or above. [-]
    proximity: Proximity effect factor yp, 0 or above. [-]
    Returns resistance: R = R' (1 + ys + yp) in the broadcast shape of the inputs.

    Not for pipe-type cables, whose factors the standard raises by 1.5.

    >>> f"{1e6 * ac_resistance(100e-6, 0.02, 0.03):.1f} uohm/m"
    '105.0 uohm/m'
    """
    factors = 1 + zero_or_above("skin", skin) + zero_or_above("proximity", proximity)
    return positive("resistance", resistance) * factors


def _skin_fraction(x: Floats) -> Floats:
    return x**4 / (192 + 0.8 * x**4)
