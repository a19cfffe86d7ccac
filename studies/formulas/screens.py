"""Screens bonded at both ends: reactances and circulating-current loss factors of IEC 60287-1-1."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from studies.formulas.formula import formula
from studies.formulas.inputs import choice, not_below, positive, zero_or_above

THIN_SCREENS = "thin screens, balanced currents, no tray or other metal nearby"

MU0_OVER_2PI = 2e-7
"""mu0/(2 pi) as the standard prints it. [H/m]"""
FLAT_SHARES = {"centre": (0.0, 1.0, 0.0), "leading": (0.75, 0.25, -1.0), "lagging": (0.75, 0.25, 1.0)}
"""By the position of the cable: the factors of the terms in P, in Q and in both in its circulating loss. [-]"""


@formula(
    quantity="reactance of a screen", unit="ohm/m", source="IEC 60287-1-1, sheath reactance [C]", valid_for=THIN_SCREENS
)
def screen_reactance(spacing: ArrayLike, mean_diameter: ArrayLike, frequency: ArrayLike) -> Floats:
    """Reactance per metre of a screen in trefoil or with one other cable, IEC 60287-1-1.

    spacing: Axis to axis distance s, not below the mean diameter. [m]
    mean_diameter: Mean diameter d of the screen, above 0. [m]
    frequency: Frequency f, 0 or above. [Hz]
    Returns reactance: X = 2 w 1e-7 ln(2 s/d) in the broadcast shape of the inputs.

    Thin screen with uniform current density. In flat formation it is the X of P = X + Xm and Q = X - Xm/3.

    >>> f"{1e6 * screen_reactance(0.09, 0.044, 50.0):.1f} uohm/m"
    '88.5 uohm/m'
    """
    d = positive("mean_diameter", mean_diameter)
    s = not_below("spacing", spacing, "mean_diameter", d)
    return _omega(frequency) * MU0_OVER_2PI * np.log(2.0 * s / d)


@formula(
    quantity="mutual reactance",
    unit="ohm/m",
    source="IEC 60287-1-1, flat formation without transposition [C]",
    valid_for=f"{THIN_SCREENS}, equal spacings",
)
def flat_mutual_reactance(frequency: ArrayLike) -> Floats:
    """Mutual reactance per metre between an outer screen of a flat formation and the two other conductors.

    frequency: Frequency f, 0 or above. [Hz]
    Returns reactance: Xm = 2 w 1e-7 ln 2.

    Equal spacings; independent of their size.

    >>> f"{1e6 * flat_mutual_reactance(50.0):.2f} uohm/m"
    '43.55 uohm/m'
    """
    reactance: Floats = _omega(frequency) * MU0_OVER_2PI * np.log(2)
    return reactance


@formula(
    quantity="circulating loss over conductor loss",
    unit="-",
    source="IEC 60287-1-1, circulating current loss: trefoil [C], flat with transposition [M]",
    valid_for=f"{THIN_SCREENS}, bonded at both ends, no current in earth; in flat formation regularly transposed",
)
def circulating_factor(screen_resistance: ArrayLike, resistance: ArrayLike, reactance: ArrayLike) -> Floats:
    """Circulating-current loss factor lambda1' in trefoil, or flat with regular transposition, IEC 60287-1-1.

    screen_resistance: Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance: Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    reactance: X of `screen_reactance` in trefoil, X1 = 2 w 1e-7 ln(2 2^(1/3) s/d) in flat, 0 or above. [ohm/m]
    Returns factor: lambda1' = (Rs/R)/(1 + (Rs/X)^2), screen loss over conductor loss.

    Screens bonded at both ends, balanced currents, no current in earth.

    >>> f"{circulating_factor(400e-6, 80e-6, 88.5e-6):.4f}"
    '0.2333'
    """
    rs, x = positive("screen_resistance", screen_resistance), zero_or_above("reactance", reactance)
    return rs / positive("resistance", resistance) * x**2 / (x**2 + rs**2)


@formula(
    quantity="circulating loss over conductor loss",
    unit="-",
    source="IEC 60287-1-1, circulating current loss, flat formation without transposition [C]",
    valid_for=f"{THIN_SCREENS}, bonded at both ends, no current in earth; equal spacings, not transposed",
)
def flat_circulating_factor(
    position: str, screen_resistance: ArrayLike, resistance: ArrayLike, reactance: ArrayLike, mutual: ArrayLike
) -> Floats:
    """Circulating-current loss factor lambda1' of a cable in flat formation without transposition, IEC 60287-1-1.

    position: "centre", "leading" or "lagging": the middle cable, or the outer one with the leading or lagging phase.
        [-]
    screen_resistance: Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance: Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    reactance: X of `screen_reactance`, 0 or above. [ohm/m]
    mutual: Xm of `flat_mutual_reactance`, 0 or above. [ohm/m]
    Returns factor: lambda1' = (Rs/R) [a P^2/(Rs^2 + P^2) + b Q^2/(Rs^2 + Q^2) + c 2 Rs P Q Xm/(sqrt(3) (Rs^2 +
        P^2)(Rs^2 + Q^2))], P = X + Xm, Q = X - Xm/3.

    `FLAT_SHARES` holds a, b, c of each position; the lagging phase loses most. Screens bonded at both ends, balanced
    currents, no current in earth, equal spacings.

    >>> f"{flat_circulating_factor('lagging', 400e-6, 80e-6, 88.5e-6, 43.55e-6):.4f}"
    '0.4433'
    """
    p_share, q_share, sign = FLAT_SHARES[choice("position", position, FLAT_SHARES)]
    rs, r = positive("screen_resistance", screen_resistance), positive("resistance", resistance)
    x, xm = zero_or_above("reactance", reactance), zero_or_above("mutual", mutual)
    p, q = x + xm, x - xm / 3
    p_part, q_part = rs**2 + p**2, rs**2 + q**2
    cross = 2 * rs * p * q * xm / (np.sqrt(3) * p_part * q_part)
    factor: Floats = rs / r * (p_share * p**2 / p_part + q_share * q**2 / q_part + sign * cross)
    return factor


@formula(
    quantity="standing screen voltage",
    unit="V/m",
    source="IEC 60287-1-1 reactance [C]; method as in IEEE Std 575 [M]",
    valid_for=f"{THIN_SCREENS}, all screens open",
)
def trefoil_open_screen_voltage(current: ArrayLike, reactance: ArrayLike) -> Floats:
    """Voltage per metre between the open end of a screen and its bonded end: trefoil, or the middle cable of three.

    current: Rms current I of each phase, 0 or above. [A]
    reactance: X of `screen_reactance`, 0 or above. [ohm/m]
    Returns voltage: U = I X in the broadcast shape of the inputs.

    Balanced currents, all screens open. Multiplied by the length it is the standing voltage, a touch hazard.

    >>> f"{1e3 * trefoil_open_screen_voltage(400.0, 88.5e-6):.1f} mV/m"
    '35.4 mV/m'
    """
    return zero_or_above("current", current) * zero_or_above("reactance", reactance)


@formula(
    quantity="standing screen voltage",
    unit="V/m",
    source="Derived from the line formula [D]; method as in IEEE Std 575 [M]",
    valid_for=f"{THIN_SCREENS}, all screens open, equal spacings",
)
def flat_outer_open_screen_voltage(current: ArrayLike, reactance: ArrayLike, mutual: ArrayLike) -> Floats:
    """Voltage per metre between the open end of a screen and its bonded end: outer cable of a flat formation.

    current: Rms current I of each phase, 0 or above. [A]
    reactance: X of `screen_reactance`, 0 or above. [ohm/m]
    mutual: Xm of `flat_mutual_reactance`, 0 or above. [ohm/m]
    Returns voltage: U = I sqrt(X^2 + X Xm + Xm^2) in the broadcast shape of the inputs.

    Balanced currents, all screens open, equal spacings, no transposition. The same in both outer cables. The voltage
    of any arrangement is `line_voltages` with the screens' mean radii and no resistance.

    >>> f"{1e3 * flat_outer_open_screen_voltage(400.0, 88.5e-6, 43.55e-6):.1f} mV/m"
    '46.6 mV/m'
    """
    i, x, xm = zero_or_above("current", current), zero_or_above("reactance", reactance), zero_or_above("mutual", mutual)
    return i * np.sqrt(x**2 + x * xm + xm**2)


def _omega(frequency: ArrayLike) -> Floats:
    return 2 * np.pi * zero_or_above("frequency", frequency)
