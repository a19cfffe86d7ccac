"""Impedance matrix of cables with screens: conductors and tubes, some of them around a common axis."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.constants import mu_0

from fem.arrays import Complexes
from studies.formulas.formula import formula
from studies.formulas.inputs import one_each, plane_points, positive, zero_or_above

SAME_AXIS = 1e-9
"""Axes closer than this are one. [m]"""


@formula(
    quantity="series impedance matrix",
    unit="ohm/m",
    source="Textbook form [C]; geometric mean distances of circles and thin tubes, J. C. Maxwell [M]",
    valid_for="thin non-magnetic tubes without eddy currents, uniform current density, no steel nearby",
)
def coaxial_impedance_matrix(
    axes: ArrayLike,
    mean_radii: ArrayLike,
    resistances: ArrayLike,
    frequency: float,
    reference_distance: float = 1.0,
) -> Complexes:
    """Series impedance matrix per metre of parallel conductors and of the thin tubes around them.

    axes, shape (m, 2): Positions of the conductors and tubes; those at one place are coaxial. [m]
    mean_radii, shape (m,) or one number: Geometric mean radius of each: r' of a conductor, the mean radius of a thin
        tube, above 0. [m]
    resistances, shape (m,) or one number: Resistance of each, 0 or above. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    reference_distance: Distance Dref of the far return of any net current, above 0; without effect on balanced
        currents. [m]
    Returns matrix, shape (m, m), complex: Z of u = Z i, u the voltage drop per metre along each conductor or tube.

    Z_kl = R_k delta_kl + j w (mu0/2 pi) ln(Dref/D_kl), D_kk = r'_k, D_kl the distance of the axes, and between coaxial
    parts the mean radius of the outer one. Exact for thin non-magnetic tubes and uniform current density: no eddy
    currents in the tubes.

    >>> z = coaxial_impedance_matrix([[0.0, 0.0], [0.0, 0.0]], [0.008, 0.02], [1e-4, 5e-4], 50.0)
    >>> f"{1e6 * z[0, 1]:.1f} uohm/m"
    '0.0+245.8j uohm/m'
    """
    a = plane_points("axes", axes)
    m = a.shape[0]
    radii = one_each("mean_radii", positive("mean_radii", mean_radii), m)
    ohms = one_each("resistances", zero_or_above("resistances", resistances), m)
    omega = 2 * np.pi * float(zero_or_above("frequency", frequency))
    reference = float(positive("reference_distance", reference_distance))
    distances = np.linalg.norm(a[:, None, :] - a[None, :, :], axis=2)
    coaxial = distances < SAME_AXIS
    distances[coaxial] = np.maximum(radii[:, None], radii[None, :])[coaxial]
    matrix: Complexes = np.diag(ohms) + 1j * omega * mu_0 / (2 * np.pi) * np.log(reference / distances)
    return matrix
