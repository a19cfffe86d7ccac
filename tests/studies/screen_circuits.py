"""Currents of bonded screens from line impedances alone: lines and thin tubes at the axes, a method of its own."""

import numpy as np
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats


def couplings(axes: Floats, radius: float, omega: float, image: complex = 1.0) -> tuple[Complexes, Complexes]:
    """Reactances among thin screens of one mean radius, and from the conductors to them, return at an image. [ohm/m]

    A thin tube links its own conductor's current as it links its own: both matrices are the same but for resistance.
    """
    distance = np.linalg.norm(axes[:, None] - axes, axis=2)
    np.fill_diagonal(distance, radius)
    mutual = 1j * omega * mu_0 / (2 * np.pi) * np.log(image / distance.astype(complex))
    return mutual, mutual


def both_ends(
    axes: Floats,
    radius: float,
    resistance: float,
    omega: float,
    currents: Complexes,
    closing: complex | None = None,
    image: complex = 1.0,
) -> Complexes:
    """Screen currents with one voltage along all screens: their sum is zero, or returns through an impedance. [A]"""
    own, mutual = couplings(axes, radius, omega, image)
    n = len(axes)
    system = np.zeros((n + 1, n + 1), dtype=complex)
    system[:n, :n] = own + resistance * np.eye(n)
    system[:n, n] = -1
    system[n, :n] = 1.0 if closing is None else closing
    system[n, n] = 0.0 if closing is None else 1.0
    return np.linalg.solve(system, [*(-mutual @ currents), 0])[:n]


def cross_bonded(
    axes: Floats,
    radius: float,
    resistance: float,
    omega: float,
    currents: Complexes,
    closing: complex,
    image: complex,
) -> Complexes:
    """Loop currents of three screens that change places twice, their sum returning through an impedance. [A]"""
    own, mutual = couplings(axes, radius, omega, image)
    along = own + resistance * np.eye(3)
    series, induced = np.zeros((3, 3), dtype=complex), np.zeros(3, dtype=complex)
    for section in range(3):
        place = np.roll(np.eye(3), section, axis=1)  # loop s runs at position s + section
        series += place @ along @ place.T
        induced += place @ mutual @ currents
    return np.linalg.solve(series + 3 * closing * np.ones((3, 3)), -induced)
