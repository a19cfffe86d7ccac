"""Flux density of parallel line currents far away: net current, dipole and higher moments of the group."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import phasors, plane_point, plane_points, positive, zero_or_above
from studies.formulas.line_field import FREE_LINES

_FIVE = Limit(
    "distance / spacing",
    lambda distance, spacing: distance / spacing,
    "the far form is off by more than about 5 %",
    least=5,
)


@formula(
    quantity="moments of line currents",
    unit="A m^n",
    source="Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]",
    valid_for="exact",
)
def multipole_moments(axes: ArrayLike, currents: ArrayLike, order: int, centre: ArrayLike) -> Complexes:
    """Moments of parallel line currents about a centre: net current, dipole, quadrupole and so on.

    axes, shape (m, 2): Positions of the lines. [m]
    currents, shape (m,), complex: Rms phasors of the currents, any of them, balanced or not. [A]
    order: Highest order N, 0 or above: 0 net current, 1 dipole, 2 quadrupole. [-]
    centre, shape (2,): Point about which the moments are taken. [m]
    Returns moments, shape (order + 1, 2), complex: Row n holds the sums of i rho^n cos(n theta) and i rho^n sin(n
        theta) over the lines at (rho, theta).

    Exact. The lowest moment that is not zero does not depend on the centre; row 1 of a group without net current is
    its dipole moment, the sum of i times position.

    >>> multipole_moments([[0.05, 0.0], [-0.05, 0.0]], [100.0, -100.0], 1, [0.0, 0.0])[1].real.tolist()
    [10.0, 0.0]
    """
    if not order >= 0:  # also refuses not-a-number
        raise ValueError(f"order must be 0 or above: {order}")
    a, c = plane_points("axes", axes), plane_point("centre", centre)
    i = phasors("currents", currents, a.shape[0])
    position = (a[:, 0] - c[0]) + 1j * (a[:, 1] - c[1])
    powers = position[None, :] ** np.arange(order + 1)[:, None]
    # the unit i of the plane is not the unit j of the phasors: real and imaginary part stay apart
    return np.stack((powers.real @ i, powers.imag @ i), axis=1)


@formula(
    quantity="power of the distance with which the field falls",
    unit="-",
    source="Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]; two circuits as in P. Pettersson, "
    "IEEE Trans. Power Delivery 11(3), 1996 [M]",
    valid_for="exact up to the tolerance",
)
def field_decay_exponent(axes: ArrayLike, currents: ArrayLike, tolerance: float = 1e-9) -> int:
    """Power of the distance with which the field of a group of line currents falls far away.

    axes, shape (m, 2): Positions of the lines. [m]
    currents, shape (m,), complex: Rms phasors of the currents. [A]
    tolerance: A moment below this fraction of the sum of its parts' magnitudes counts as zero. [-]
    Returns exponent: q of B ~ 1/r^q: 1 with a net current, 2 for one balanced circuit, 3 for two flat or vertical
        circuits in the low-reactance order, whose dipoles cancel; 0 if all currents are zero.

    The order of the first moment that is not zero, plus one. Moments are about the mean position of the lines.

    >>> turn = np.exp(-2j * np.pi / 3)
    >>> field_decay_exponent([[-0.1, 0.0], [0.0, 0.0], [0.1, 0.0]], [1.0, turn, turn**2])
    2
    """
    a = plane_points("axes", axes)
    i = phasors("currents", currents, a.shape[0])
    least = float(positive("tolerance", tolerance))
    away = a - a.mean(axis=0)
    # in units of the largest distance, since high powers of metres overflow
    away = away / (np.max(np.hypot(*away.T)) or 1.0)
    # m lines whose first m moments are all zero carry no current, so m moments decide
    for order, moment in enumerate(multipole_moments(away, i, a.shape[0] - 1, [0.0, 0.0])):
        if np.linalg.norm(moment) > least * np.sum(np.abs(i)):
            return order + 1
    return 0


@formula(
    quantity="flux density of one moment, rms resultant",
    unit="T",
    source="Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]; order 1 as in W. T. Kaune, L. E. "
    "Zaffanella, IEEE Trans. Power Delivery 7(4), 1992 [M]",
    valid_for=f"distances much greater than the group of lines; {FREE_LINES}",
)
def multipole_field_magnitude(distance: ArrayLike, moment: ArrayLike, order: int) -> Floats:
    """Resultant rms flux density of one moment of a group of line currents, the same in every direction.

    distance: Distance r from the centre of the group, above 0. [m]
    moment, shape (2,), complex: Row `order` of `multipole_moments`, rms. [A m^n]
    order: Order n of the moment: 0 net current, 1 dipole, 2 quadrupole. [-]
    Returns magnitude: Resultant rms flux density in the shape of distance.

    B = mu0 sqrt(abs(C)^2 + abs(S)^2)/(2 pi r^(n+1)); for order 0 C is the net current, S is 0. The dipole form is in
    error by about (size/r)^2 for groups symmetrical about their centre, (size/r) otherwise.

    >>> f"{1e9 * multipole_field_magnitude(10.0, [10.0, 0.0], 1):.1f} nT"
    '20.0 nT'
    """
    if not order >= 0:  # also refuses not-a-number
        raise ValueError(f"order must be 0 or above: {order}")
    r, m = positive("distance", distance), phasors("moment", moment, 2)
    return mu_0 * np.linalg.norm(m) / (2 * np.pi * r ** (order + 1))


@formula(
    quantity="flux density of a net current, rms",
    unit="T",
    source="Law of Biot and Savart, textbook [C]",
    valid_for=f"exact for one line, for a group at distances much greater than it; {FREE_LINES}",
)
def net_current_far_field(distance: ArrayLike, current: ArrayLike) -> Floats:
    """Rms flux density of one line current, or far from a group with this net current.

    distance: Distance r from the line or from the centre of the group, above 0. [m]
    current: Rms magnitude of the net current, 0 or above. [A]
    Returns magnitude: Rms flux density in the broadcast shape of the inputs.

    B = mu0 I/(2 pi r). Exact for one line; for a group the error is about (distance of the current's centre)/r.

    >>> f"{1e6 * net_current_far_field(10.0, 100.0):.2f} uT"
    '2.00 uT'
    """
    r, i = positive("distance", distance), zero_or_above("current", current)
    return mu_0 * i / (2 * np.pi * r)


@formula(
    quantity="flux density far away, rms resultant",
    unit="T",
    source="W. T. Kaune, L. E. Zaffanella, IEEE Trans. Power Delivery 7(4), 1992 [M]; leading term of `flat_field` [D]",
    valid_for=f"distance at least 5 spacings: error below 5 %; {FREE_LINES}",
    limits=(_FIVE,),
)
def flat_far_field(distance: ArrayLike, spacing: ArrayLike, current: ArrayLike) -> Floats:
    """Resultant rms flux density far from three balanced line currents in one row.

    distance: Distance r from the middle line, much more than the spacing. [m]
    spacing: Axis to axis distance s of neighbours, above 0. [m]
    current: Rms current of each phase, 0 or above. [A]
    Returns magnitude: Resultant rms flux density in the broadcast shape of the inputs.

    B = sqrt(3) mu0 I s/(2 pi r^2), relative error about (7/6) (s/r)^2 along the row, -(5/6) (s/r)^2 across it.

    >>> f"{1e9 * flat_far_field(10.0, 0.1, 400.0):.1f} nT"
    '138.6 nT'
    """
    return _dipole(distance, spacing, current, np.sqrt(3))


@formula(
    quantity="flux density far away, rms resultant",
    unit="T",
    source="P. Pettersson, IEEE Trans. Power Delivery 11(3), 1996 [M]; leading term of `trefoil_field` [D]",
    valid_for=f"distance at least 5 spacings: error below 1.1 %; {FREE_LINES}",
    limits=(_FIVE,),
)
def trefoil_far_field(distance: ArrayLike, spacing: ArrayLike, current: ArrayLike) -> Floats:
    """Resultant rms flux density far from three balanced line currents in trefoil.

    distance: Distance r from the centroid, much more than the spacing. [m]
    spacing: Side s of the triangle, axis to axis, above 0. [m]
    current: Rms current of each phase, 0 or above. [A]
    Returns magnitude: Resultant rms flux density in the broadcast shape of the inputs.

    B = sqrt(3/2) mu0 I s/(2 pi r^2), relative error about s^2/(6 r^2).

    >>> f"{1e9 * trefoil_far_field(10.0, 0.1, 400.0):.1f} nT"
    '98.0 nT'
    """
    return _dipole(distance, spacing, current, np.sqrt(1.5))


def _dipole(distance: ArrayLike, spacing: ArrayLike, current: ArrayLike, factor: float) -> Floats:
    r, s = positive("distance", distance), positive("spacing", spacing)
    return factor * mu_0 * zero_or_above("current", current) * s / (2 * np.pi * r**2)
