"""Eddy-current loss factors of screens, IEC 60287-1-1."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.constants import mu_0

from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import FloatArray, above, not_below, positive, zero_or_above

EDDY = "IEC 60287-1-1, effect of eddy currents [C]"
EDDY_BONDED = "IEC 60287-1-1, eddy currents with sheaths bonded at both ends [C]; where it applies [M]"
_THIN_SCREEN = Limit(
    ("thickness", "resistivity", "frequency"),
    lambda thickness, resistivity, frequency: thickness**2 * np.pi * frequency * mu_0 <= resistivity,
    "screen thicker than its skin depth, for which the standard's eddy terms are not meant",
)
_LAGGING_LOW = Limit(
    ("screen_resistance", "mean_diameter", "spacing", "frequency"),
    lambda screen_resistance, mean_diameter, spacing, frequency: (
        (2e-7 * np.pi * frequency >= 0.5 * screen_resistance) | (mean_diameter <= 0.2 * spacing)
    ),
    "screen of high resistance, m = w/(10^7 Rs) below 0.5, near its neighbours: for the cable with the lagging phase "
    "the standard's fit is low, by up to 9 % (exact series of three thin screens)",
)


@formula(
    quantity="factor for the thickness of a screen",
    unit="-",
    source="IEC 60287-1-1, effect of eddy currents [C]; gs = 1 for lead [M]",
    valid_for="screen thinner than its skin depth; 1 for lead",
    limits=(_THIN_SCREEN,),
)
def screen_thickness_factor(
    thickness: ArrayLike, outer_diameter: ArrayLike, resistivity: ArrayLike, frequency: ArrayLike
) -> FloatArray:
    """Factor gs for the thickness of a screen in its eddy-current loss, IEC 60287-1-1.

    Parameters
    ----------
    thickness : array_like
        Thickness ts of the screen, above 0. [m]
    outer_diameter : array_like
        External diameter Ds of the screen, above 2 ts. [m]
    resistivity : array_like
        Resistivity rho_s of the screen at its temperature, above 0. [ohm m]
    frequency : array_like
        Frequency f, 0 or above. [Hz]

    Returns
    -------
    factor : ndarray
        gs = 1 + (ts/Ds)^1.74 (beta1 Ds - 1.6), beta1 = sqrt(4 pi w 1e-7/rho_s), lengths in m.

    Notes
    -----
    The standard takes gs = 1 for lead. Below 1 where beta1 Ds is below 1.6.
    """
    ts, ds, beta = _wall(thickness, outer_diameter, resistivity, frequency)
    factor: FloatArray = 1 + (ts / ds) ** 1.74 * (beta * ds - 1.6)
    return factor


@formula(
    quantity="eddy loss over conductor loss",
    unit="-",
    source=EDDY,
    valid_for="screen thinner than its skin depth, balanced currents, single-point bonded, no other metal nearby",
    limits=(_THIN_SCREEN,),
)
def trefoil_eddy_factor(
    screen_resistance: ArrayLike,
    resistance: ArrayLike,
    mean_diameter: ArrayLike,
    spacing: ArrayLike,
    thickness: ArrayLike,
    resistivity: ArrayLike,
    frequency: ArrayLike,
) -> FloatArray:
    """Eddy-current loss factor lambda1'' in trefoil, IEC 60287-1-1.

    Parameters
    ----------
    screen_resistance : array_like
        Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance : array_like
        Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    mean_diameter : array_like
        Mean diameter d of the screen, above 0. [m]
    spacing : array_like
        Axis to axis distance s, not below the mean diameter. [m]
    thickness : array_like
        Thickness ts of the screen, above 0. [m]
    resistivity : array_like
        Resistivity rho_s of the screen at its temperature, above 0. [ohm m]
    frequency : array_like
        Frequency f, above 0. [Hz]

    Returns
    -------
    factor : ndarray
        lambda1'' = (Rs/R) [gs lambda0 (1 + Delta1 + Delta2) + (beta1 ts)^4/12].

    Notes
    -----
    m = w 1e-7/Rs, lambda0 = 3 m^2/(1 + m^2) (d/2s)^2.
    Delta1 = (1.14 m^2.45 + 0.33) (d/2s)^(0.92 m + 1.66), Delta2 = 0.
    Screens open or bonded at one end; bonded at both ends see `trefoil_eddy_reduction` and `flat_eddy_reduction`.
    """
    m, half_ratio = _drive(screen_resistance, mean_diameter, spacing, frequency)
    delta = (1.14 * m**2.45 + 0.33) * half_ratio ** (0.92 * m + 1.66)
    wall = _wall_terms(screen_resistance, resistance, mean_diameter, thickness, resistivity, frequency)
    return _eddy(3.0 * m**2 / (1 + m**2) * half_ratio**2, delta, wall)


@formula(
    quantity="eddy loss over conductor loss",
    unit="-",
    source=EDDY,
    valid_for="screen thinner than its skin depth, balanced currents, single-point bonded, no other metal "
    "nearby, equal spacings",
    limits=(_THIN_SCREEN,),
)
def flat_centre_eddy_factor(
    screen_resistance: ArrayLike,
    resistance: ArrayLike,
    mean_diameter: ArrayLike,
    spacing: ArrayLike,
    thickness: ArrayLike,
    resistivity: ArrayLike,
    frequency: ArrayLike,
) -> FloatArray:
    """Eddy-current loss factor lambda1'' of the middle cable in flat formation, IEC 60287-1-1.

    Parameters
    ----------
    screen_resistance : array_like
        Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance : array_like
        Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    mean_diameter : array_like
        Mean diameter d of the screen, above 0. [m]
    spacing : array_like
        Axis to axis distance s, not below the mean diameter. [m]
    thickness : array_like
        Thickness ts of the screen, above 0. [m]
    resistivity : array_like
        Resistivity rho_s of the screen at its temperature, above 0. [ohm m]
    frequency : array_like
        Frequency f, above 0. [Hz]

    Returns
    -------
    factor : ndarray
        lambda1'' = (Rs/R) [gs lambda0 (1 + Delta1 + Delta2) + (beta1 ts)^4/12].

    Notes
    -----
    m = w 1e-7/Rs, lambda0 = 6 m^2/(1 + m^2) (d/2s)^2.
    Delta1 = 0.86 m^3.08 (d/2s)^(1.4 m + 0.7), Delta2 = 0.
    Screens open or bonded at one end; bonded at both ends see `trefoil_eddy_reduction` and `flat_eddy_reduction`.
    """
    m, half_ratio = _drive(screen_resistance, mean_diameter, spacing, frequency)
    delta = 0.86 * m**3.08 * half_ratio ** (1.4 * m + 0.7)
    wall = _wall_terms(screen_resistance, resistance, mean_diameter, thickness, resistivity, frequency)
    return _eddy(6.0 * m**2 / (1 + m**2) * half_ratio**2, delta, wall)


@formula(
    quantity="eddy loss over conductor loss",
    unit="-",
    source=EDDY,
    valid_for="screen thinner than its skin depth, balanced currents, single-point bonded, no other metal "
    "nearby, equal spacings",
    limits=(_THIN_SCREEN,),
)
def flat_leading_eddy_factor(
    screen_resistance: ArrayLike,
    resistance: ArrayLike,
    mean_diameter: ArrayLike,
    spacing: ArrayLike,
    thickness: ArrayLike,
    resistivity: ArrayLike,
    frequency: ArrayLike,
) -> FloatArray:
    """Eddy-current loss factor lambda1'' of the outer cable with the leading phase, flat formation, IEC 60287-1-1.

    Parameters
    ----------
    screen_resistance : array_like
        Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance : array_like
        Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    mean_diameter : array_like
        Mean diameter d of the screen, above 0. [m]
    spacing : array_like
        Axis to axis distance s, not below the mean diameter. [m]
    thickness : array_like
        Thickness ts of the screen, above 0. [m]
    resistivity : array_like
        Resistivity rho_s of the screen at its temperature, above 0. [ohm m]
    frequency : array_like
        Frequency f, above 0. [Hz]

    Returns
    -------
    factor : ndarray
        lambda1'' = (Rs/R) [gs lambda0 (1 + Delta1 + Delta2) + (beta1 ts)^4/12].

    Notes
    -----
    m = w 1e-7/Rs, lambda0 = 1.5 m^2/(1 + m^2) (d/2s)^2.
    Delta1 = 4.7 m^0.7 (d/2s)^(0.16 m + 2), Delta2 = 21 m^3.3 (d/2s)^(1.47 m + 5.06).
    Screens open or bonded at one end; bonded at both ends see `trefoil_eddy_reduction` and `flat_eddy_reduction`.
    """
    m, half_ratio = _drive(screen_resistance, mean_diameter, spacing, frequency)
    delta = 4.7 * m**0.7 * half_ratio ** (0.16 * m + 2) + 21 * m**3.3 * half_ratio ** (1.47 * m + 5.06)
    wall = _wall_terms(screen_resistance, resistance, mean_diameter, thickness, resistivity, frequency)
    return _eddy(1.5 * m**2 / (1 + m**2) * half_ratio**2, delta, wall)


@formula(
    quantity="eddy loss over conductor loss",
    unit="-",
    source=EDDY,
    valid_for="screen thinner than its skin depth, balanced currents, single-point bonded, no other metal "
    "nearby, equal spacings",
    limits=(
        _THIN_SCREEN,
        _LAGGING_LOW,
    ),
)
def flat_lagging_eddy_factor(
    screen_resistance: ArrayLike,
    resistance: ArrayLike,
    mean_diameter: ArrayLike,
    spacing: ArrayLike,
    thickness: ArrayLike,
    resistivity: ArrayLike,
    frequency: ArrayLike,
) -> FloatArray:
    """Eddy-current loss factor lambda1'' of the outer cable with the lagging phase, flat formation, IEC 60287-1-1.

    Parameters
    ----------
    screen_resistance : array_like
        Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance : array_like
        Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    mean_diameter : array_like
        Mean diameter d of the screen, above 0. [m]
    spacing : array_like
        Axis to axis distance s, not below the mean diameter. [m]
    thickness : array_like
        Thickness ts of the screen, above 0. [m]
    resistivity : array_like
        Resistivity rho_s of the screen at its temperature, above 0. [ohm m]
    frequency : array_like
        Frequency f, above 0. [Hz]

    Returns
    -------
    factor : ndarray
        lambda1'' = (Rs/R) [gs lambda0 (1 + Delta1 + Delta2) + (beta1 ts)^4/12].

    Notes
    -----
    m = w 1e-7/Rs, lambda0 = 1.5 m^2/(1 + m^2) (d/2s)^2.
    Delta1 = -0.74 (m + 2) m^0.5/(2 + (m - 0.3)^2) (d/2s)^(m + 1), Delta2 = 0.92 m^3.7 (d/2s)^(m + 2).
    Against the exact series of three thin screens [D] it is within about 2 % for m from 0.5 to 2. Below, it is low: at
    m = 0.05 by 1.5 % for d/2s = 0.1, 5.4 % for 0.3 and 8.8 % for 0.45; for d/2s = 0.4 by 7.3 % at m = 0.1, 5.6 % at
    0.2, 3.7 % at 0.3 and 1.0 % at 0.5. The cable with the leading phase loses more there.
    Screens open or bonded at one end; bonded at both ends see `trefoil_eddy_reduction` and `flat_eddy_reduction`.
    """
    m, half_ratio = _drive(screen_resistance, mean_diameter, spacing, frequency)
    delta_1 = -0.74 * (m + 2) * np.sqrt(m) / (2 + (m - 0.3) ** 2) * half_ratio ** (m + 1)
    delta_2 = 0.92 * m**3.7 * half_ratio ** (m + 2)
    wall = _wall_terms(screen_resistance, resistance, mean_diameter, thickness, resistivity, frequency)
    return _eddy(1.5 * m**2 / (1 + m**2) * half_ratio**2, delta_1 + delta_2, wall)


@formula(
    quantity="factor on the eddy loss",
    unit="-",
    source=EDDY_BONDED,
    valid_for="screens bonded at both ends, segmental conductors",
)
def trefoil_eddy_reduction(screen_resistance: ArrayLike, reactance: ArrayLike) -> FloatArray:
    """Factor F on the eddy-current loss of trefoil screens bonded at both ends, IEC 60287-1-1.

    Parameters
    ----------
    screen_resistance : array_like
        Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    reactance : array_like
        X of `screen_reactance`, above 0. [ohm/m]

    Returns
    -------
    factor : ndarray
        F = M^2/(1 + M^2), M = Rs/X: the standard's F with N = M.

    Notes
    -----
    The circulating currents weaken the field that drives the eddy currents. The standard uses it for segmental
    conductors; for others it neglects the eddy loss of screens bonded at both ends.
    """
    ratio = positive("screen_resistance", screen_resistance) / positive("reactance", reactance)
    return _reduction(ratio, ratio)


@formula(
    quantity="factor on the eddy loss",
    unit="-",
    source=EDDY_BONDED,
    valid_for="screens bonded at both ends, segmental conductors, equal spacings",
)
def flat_eddy_reduction(screen_resistance: ArrayLike, reactance: ArrayLike, mutual: ArrayLike) -> FloatArray:
    """Factor F on the eddy-current loss of screens bonded at both ends in flat formation, IEC 60287-1-1.

    Parameters
    ----------
    screen_resistance : array_like
        Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    reactance : array_like
        X of `screen_reactance`, above Xm/3. [ohm/m]
    mutual : array_like
        Xm of `flat_mutual_reactance`, 0 or above. [ohm/m]

    Returns
    -------
    factor : ndarray
        F = [4 M^2 N^2 + (M + N)^2]/[4 (M^2 + 1)(N^2 + 1)], M = Rs/(X + Xm), N = Rs/(X - Xm/3).

    Notes
    -----
    The circulating currents weaken the field that drives the eddy currents. The standard uses it for segmental
    conductors; for others it neglects the eddy loss of screens bonded at both ends.
    """
    rs, xm = positive("screen_resistance", screen_resistance), zero_or_above("mutual", mutual)
    x = above("reactance", reactance, "mutual/3", xm / 3)
    return _reduction(rs / (x + xm), rs / (x - xm / 3))


def _reduction(m: FloatArray, n: FloatArray) -> FloatArray:
    factor: FloatArray = (4 * m**2 * n**2 + (m + n) ** 2) / (4 * (m**2 + 1) * (n**2 + 1))
    return factor


def _wall(
    thickness: ArrayLike, outer_diameter: ArrayLike, resistivity: ArrayLike, frequency: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Thickness ts [m], external diameter Ds [m] and beta1 [1/m]."""
    ts = positive("thickness", thickness)
    ds = above("outer_diameter", outer_diameter, "2 thickness", 2 * ts)
    omega = 2 * np.pi * zero_or_above("frequency", frequency)
    beta: FloatArray = np.sqrt(4e-7 * np.pi * omega / positive("resistivity", resistivity))
    return ts, ds, beta


def _drive(
    screen_resistance: ArrayLike, mean_diameter: ArrayLike, spacing: ArrayLike, frequency: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """m = w 1e-7/Rs and d/(2 s)."""
    d = positive("mean_diameter", mean_diameter)
    s = not_below("spacing", spacing, "mean_diameter", d)
    m = 2e-7 * np.pi * positive("frequency", frequency) / positive("screen_resistance", screen_resistance)
    return m, d / (2 * s)


def _wall_terms(
    screen_resistance: ArrayLike,
    resistance: ArrayLike,
    mean_diameter: ArrayLike,
    thickness: ArrayLike,
    resistivity: ArrayLike,
    frequency: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Rs/R, gs and (beta1 ts)^4/12."""
    outer = positive("mean_diameter", mean_diameter) + positive("thickness", thickness)
    ts, _, beta = _wall(thickness, outer, resistivity, frequency)
    ratio = positive("screen_resistance", screen_resistance) / positive("resistance", resistance)
    return ratio, screen_thickness_factor(thickness, outer, resistivity, frequency), (beta * ts) ** 4 / 12


def _eddy(lambda_0: FloatArray, delta: FloatArray, wall: tuple[FloatArray, FloatArray, FloatArray]) -> FloatArray:
    ratio, gs, own = wall
    factor: FloatArray = ratio * (gs * lambda_0 * (1 + delta) + own)
    return factor
