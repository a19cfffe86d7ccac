"""Distance at which line currents alone meet a limit, in closed form from the moment that reaches furthest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fem.constants import mu_0
from studies.formulas.far_field import multipole_moments
from studies.formulas.inputs import plane_point, plane_points, positive

HIGHEST_ORDER = 4


@dataclass(frozen=True)
class FarFormDistance:
    """Distance of the far form of line currents."""

    from_centre_m: float
    """Distance from the centre, the same in every direction; 0 without currents."""
    order: int | None
    """Of the moment: 0 net current, field 1/r; 1 dipole, 1/r^2; and so on. None without currents. [-]"""
    reach_m: float
    """Distance of the furthest line from the centre; the far form holds well beyond it."""


def far_form_distance(axes: ArrayLike, currents: ArrayLike, limit: float, centre: ArrayLike) -> FarFormDistance:
    """Distance at which the far field of line currents falls to a limit.

    `axes`, shape (m, 2): positions of the lines. [m]
    `currents`, shape (m,) or (frequencies, m), complex: rms phasors of the currents, one row for each frequency. [A]
    `limit`: rms flux density, above 0; of all frequencies together, as the root of the sum of squares. [T]
    `centre`, shape (2,): point from which the distance counts, such as the middle of the rectangle around the
    arrangement. [m]

    r = (mu0 M_n/(2 pi B))^(1/(n+1)) with M_n the magnitude of the moment of order n, the largest over n: far away that
    is the lowest moment which is not zero, the net current or the dipole; a small net current under a large dipole
    takes over only where it prevails. For three balanced lines in a row, s apart, r = sqrt(sqrt(3) mu0 I s/(2 pi B)).
    No tray, no screens, no width of the conductors; in error by about (reach/r)^2 for groups symmetrical about the
    centre, reach/r otherwise.

    Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]; flat as in W. T. Kaune, L. E. Zaffanella,
    IEEE Trans. Power Delivery 7(4), 1992 [M]
    """
    a, c, b = plane_points("axes", axes), plane_point("centre", centre), float(positive("limit", limit))
    rows = np.atleast_2d(np.asarray(currents, dtype=np.complex128))
    moments = np.stack([multipole_moments(a, row, HIGHEST_ORDER, c) for row in rows])
    sizes = np.linalg.norm(moments, axis=(0, 2))
    reach = float(np.hypot(*(a - c).T).max())
    orders = np.arange(HIGHEST_ORDER + 1)
    distances = (mu_0 * sizes / (2 * np.pi * b)) ** (1 / (orders + 1))
    order = int(np.argmax(distances))
    if distances[order] == 0:
        return FarFormDistance(0.0, None, reach)
    return FarFormDistance(float(distances[order]), order, reach)
