"""Impedance of each conductor, screen or other thin tube among parallel ones with unequal spacing and any currents."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inductance import STEVENSON, UNIFORM
from studies.formulas.inputs import axis_distances, one_each, phasors, plane_points, positive, zero_or_above

_SKIN = Limit(
    "xs",
    # R' = 0 asks nothing: an ideal conductor of given mean radius
    lambda resistances, frequency: np.sqrt(8e-7 * np.pi * frequency / np.where(resistances == 0, np.inf, resistances)),
    "skin effect adds more than 2.6 % to the resistance and takes 1.3 % off the internal inductance",
    most=1.5,
)

SAME_AXIS = 1e-9
"""Axes of coaxial parts are closer than this. [m]"""
BALANCE_TOLERANCE = 1e-6
"""Net current over the largest current [-] up to which currents count as balanced: six printed digits of a phasor."""


@formula(
    quantity="series impedance matrix",
    unit="ohm/m",
    source=STEVENSON,
    valid_for=f"xs of the conductors up to 1.5; {UNIFORM}",
    limits=(_SKIN,),
)
def phase_impedance_matrix(
    axes: ArrayLike,
    mean_radii: ArrayLike,
    resistances: ArrayLike,
    frequency: float,
    reference_distance: float = 1.0,
) -> Complexes:
    """Series impedance matrix per metre of parallel conductors.

    axes, shape (m, 2): Positions of the conductors. [m]
    mean_radii, shape (m,) or one number: Geometric mean radius r' of each conductor, above 0. [m]
    resistances, shape (m,) or one number: Resistance of each conductor, 0 or above. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    reference_distance: Distance Dref of the far return of any net current, above 0; without effect on balanced
        currents. [m]
    Returns matrix, shape (m, m), complex: Z of u = Z i, u the voltage drop per metre along each conductor.

    Z_kk = R_k + j w (mu0/2 pi) ln(Dref/r'_k), Z_kl = j w (mu0/2 pi) ln(Dref/D_kl). Exact for uniform current density
    in round non-magnetic conductors; no skin or proximity effect beyond the given R and r', no steel.

    >>> z = phase_impedance_matrix([[0.0, 0.0], [0.1, 0.0]], 0.01, 1e-4, 50.0)
    >>> f"{1e6 * z[0, 1]:.1f} uohm/m"
    '0.0+144.7j uohm/m'
    """
    a = plane_points("axes", axes)
    radii = one_each("mean_radii", positive("mean_radii", mean_radii), len(a))
    return _series_impedances(axis_distances(a, radii), resistances, frequency, reference_distance)


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
    radii = one_each("mean_radii", positive("mean_radii", mean_radii), len(a))
    distances = np.linalg.norm(a[:, None, :] - a[None, :, :], axis=2)
    coaxial = distances < SAME_AXIS
    distances[coaxial] = np.maximum(radii[:, None], radii[None, :])[coaxial]
    return _series_impedances(distances, resistances, frequency, reference_distance)


@formula(
    quantity="voltage drop along each conductor",
    unit="V/m",
    source=STEVENSON,
    valid_for=f"xs of the conductors up to 1.5; currents sum to zero; {UNIFORM}",
    limits=(_SKIN,),
)
def line_voltages(
    axes: ArrayLike, currents: ArrayLike, mean_radii: ArrayLike, resistances: ArrayLike, frequency: float
) -> Complexes:
    """Voltage drop per metre along each of some parallel conductors whose currents sum to zero.

    axes, shape (m, 2): Positions of the conductors. [m]
    currents, shape (m,), complex: Rms phasors of the currents, sum zero. [A]
    mean_radii, shape (m,) or one number: Geometric mean radius r' of each conductor, above 0. [m]
    resistances, shape (m,) or one number: Resistance of each conductor, 0 or above. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    Returns voltages, shape (m,), complex: u_k = R_k i_k + j w (mu0/2 pi) [i_k ln(1/r'_k) + sum over l of i_l
        ln(1/D_kl)].

    Exact for uniform current density in round non-magnetic conductors. A net current would make
    the result depend on its return: use `phase_impedance_matrix` with a stated reference distance.

    >>> u = line_voltages([[0.0, 0.0], [0.1, 0.0]], [100.0, -100.0], 0.01, 1e-4, 50.0)
    >>> f"{1e3 * u[0]:.2f} mV/m"
    '10.00+14.47j mV/m'
    """
    a = plane_points("axes", axes)
    i = phasors("currents", currents, a.shape[0])
    if abs(np.sum(i)) > BALANCE_TOLERANCE * np.max(np.abs(i)):
        raise ValueError(f"currents must sum to zero, they sum to {abs(np.sum(i)):.6g} A: {i}")
    return phase_impedance_matrix(a, mean_radii, resistances, frequency) @ i


@formula(
    quantity="voltage drop over current of each conductor",
    unit="ohm/m",
    source="Textbook form [C]; W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3 "
    "[M]; flat real part [D]",
    valid_for=f"xs of the conductors up to 1.5; currents sum to zero; {UNIFORM}",
    limits=(_SKIN,),
)
def line_impedances(
    axes: ArrayLike, currents: ArrayLike, mean_radii: ArrayLike, resistances: ArrayLike, frequency: float
) -> Complexes:
    """Voltage drop over current, per metre, of each of some parallel conductors whose currents sum to zero.

    axes, shape (m, 2): Positions of the conductors. [m]
    currents, shape (m,), complex: Rms phasors of the currents, none of them zero, sum zero. [A]
    mean_radii, shape (m,) or one number: Geometric mean radius r' of each conductor, above 0. [m]
    resistances, shape (m,) or one number: Resistance of each conductor, 0 or above. [ohm/m]
    frequency: Frequency f, 0 or above. [Hz]
    Returns impedances, shape (m,), complex: u_k/i_k = R_k + j w (mu0/2 pi) [ln(1/r'_k) + sum over l of (i_l/i_k)
        ln(1/D_kl)].

    Exact for uniform current density in round non-magnetic conductors. The real part holds power exchanged between
    the phases beside the resistance: with L1, L2, L3 flat at -s, 0, s it is R + w (mu0/2 pi) (sqrt(3)/2) ln 2 in L1
    and R less the same in L3.

    >>> z = line_impedances([[0.0, 0.0], [0.1, 0.0]], [100.0, -100.0], 0.01, 1e-4, 50.0)
    >>> f"{1e6 * z[0]:.1f} uohm/m"
    '100.0+144.7j uohm/m'
    """
    voltages = line_voltages(axes, currents, mean_radii, resistances, frequency)
    i = phasors("currents", currents, voltages.size)
    if np.any(i == 0):
        raise ValueError(f"currents: number {int(np.argmax(i == 0))} is zero and has no u/i; use line_voltages")
    return voltages / i


@formula(
    quantity="currents of parallel conductors",
    unit="A",
    source="Law of Kirchhoff on the matrix [D]",
    valid_for="as good as the matrix; conductors of a phase connected at both ends, of equal length",
)
def parallel_currents(matrix: ArrayLike, phases: ArrayLike, phase_currents: ArrayLike) -> Complexes:
    """Sharing of the phase currents between parallel conductors.

    matrix, shape (m, m), complex: Impedance matrix of the conductors, as given by `phase_impedance_matrix`. [ohm/m]
    phases, shape (m,), whole numbers: Number of the phase of each conductor, 0 to p - 1, each at least once. [-]
    phase_currents, shape (p,), complex: Rms phasor of each phase current. [A]
    Returns currents, shape (m,), complex: Rms phasor of each conductor's current.

    The conductors of a phase have one voltage drop: Z i = C u, C' i = phase currents, solved exactly. Independent of
    the reference distance of the matrix when the phase currents sum to zero.

    >>> parallel_currents(np.diag([1.0, 3.0]), [0, 0], [400.0]).real.round(9).tolist()
    [300.0, 100.0]
    """
    z = np.asarray(matrix).astype(np.complex128)
    if z.ndim != 2 or z.shape[0] != z.shape[1] or not np.all(np.isfinite(z)):
        raise ValueError(f"matrix must be finite and square: shape {z.shape}")
    m = z.shape[0]
    number = np.asarray(phases)
    if number.shape != (m,) or not np.issubdtype(number.dtype, np.integer):
        raise ValueError(f"phases must be {m} whole numbers: {number}")
    p = int(np.max(number)) + 1
    if not np.array_equal(np.unique(number), np.arange(p)):
        raise ValueError(f"phases must name each phase from 0 to {p - 1}: {number}")
    connection = (number[:, None] == np.arange(p)[None, :]).astype(np.float64)
    system = np.block([[z, -connection], [connection.T, np.zeros((p, p))]])
    right = np.concatenate((np.zeros(m), phasors("phase_currents", phase_currents, p)))
    return np.linalg.solve(system, right)[:m].astype(np.complex128)


def _series_impedances(
    distances: Floats, resistances: ArrayLike, frequency: float, reference_distance: float
) -> Complexes:
    """R + j w (mu0/2 pi) ln(Dref/D) of geometric mean distances, shape (m, m). [ohm/m]"""
    ohms = one_each("resistances", zero_or_above("resistances", resistances), len(distances))
    omega = 2 * np.pi * float(zero_or_above("frequency", frequency))
    reference = float(positive("reference_distance", reference_distance))
    matrix: Complexes = np.diag(ohms) + 1j * omega * mu_0 / (2 * np.pi) * np.log(reference / distances)
    return matrix
