"""Current and loss of the two rails of a ladder as thin strips beside line currents."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import finite, phasors, plane_points, positive

_NARROW_STRIP = Limit(
    "mu0 f/R",
    lambda resistance, frequency: mu_0 * frequency / resistance,
    "eddy currents in the rails damp themselves, which the formula leaves out",
    most=0.3,
)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


@formula(
    quantity="current in rails joined at both ends, rms phasor",
    unit="A",
    source="From Faraday's law [D]; mean distance g: E. B. Rosa, F. W. Grover, Bulletin of the Bureau of "
    "Standards 8, 1912 [M]",
    valid_for="two non-magnetic thin strips alone, mu0 f/R up to 0.3",
    limits=(_NARROW_STRIP,),
)
def rail_loop_current(
    axes: ArrayLike, currents: ArrayLike, rails: ArrayLike, thickness: float, resistance: float, frequency: float
) -> complex:
    """Current in the first of two rails that are joined at both ends; the second carries the opposite current.

    axes, shape (n, 2): Axes of the line currents. [m]
    currents, shape (n,), complex: Currents, rms phasors. [A]
    rails, shape (2, 2, 2): End points of the middle line of each rail's cross-section, a straight strip. [m]
    thickness: Thickness t of the strips, above 0. [m]
    resistance: Dc resistance R of one rail, above 0. [ohm/m]
    frequency: Frequency f, above 0. [Hz]
    Returns current: Rms phasor.

    I = -j w (A_1 - A_2)/(2 R + j w L), with A_k the mean over rail k of the line currents' vector potential
    A = -(mu0/2 pi) sum i ln r, and L = (mu0/pi) ln(D/g): D is the geometric mean distance of the two strips,
    g = 0.2235 (h + t) the geometric mean distance of a strip of height h from itself. Non-magnetic rails with uniform
    current density.

    >>> rails = [[[-0.2, 0.0], [-0.2, 0.1]], [[0.2, 0.0], [0.2, 0.1]]]
    >>> lines = [[-0.05, 0.05], [0.05, 0.05]]
    >>> f"{abs(rail_loop_current(lines, [100.0, -100.0], rails, 0.002, 1e-3, 50.0)):.2f} A"
    '3.09 A'
    """
    points, i, strips = _checked(axes, currents, rails)
    t, r, omega = float(positive("thickness", thickness)), float(positive("resistance", resistance)), _omega(frequency)
    first, second = (_mean(_potential(points, i, _along(strip))) for strip in strips)
    distance = _mean(_mean_log(strips[1], _along(strips[0])) + 0j).real
    height = float(np.linalg.norm(strips[0][1] - strips[0][0]))
    inductance = mu_0 / np.pi * (distance - np.log(0.2235 * (height + t)))
    return complex(-1j * omega * (first - second) / (2 * r + 1j * omega * inductance))


@formula(
    quantity="loss of two rails",
    unit="W/m",
    source="From Faraday's law [D]",
    valid_for="two non-magnetic thin strips alone, mu0 f/R up to 0.3",
    limits=(_NARROW_STRIP,),
)
def rail_loss(
    axes: ArrayLike,
    currents: ArrayLike,
    rails: ArrayLike,
    resistance: float,
    frequency: float,
    rail_currents: ArrayLike,
) -> Floats:
    """Loss of each of two rails: their own currents, and eddy currents in the field of the lines and the other rail.

    axes, shape (n, 2): Axes of the line currents. [m]
    currents, shape (n,), complex: Currents, rms phasors. [A]
    rails, shape (2, 2, 2): End points of the middle line of each rail's cross-section, a straight strip. [m]
    resistance: Dc resistance R of one rail, above 0. [ohm/m]
    frequency: Frequency f, above 0. [Hz]
    rail_currents, shape (2,), complex: Currents in the rails, rms phasors; zero in rails that are insulated from each
        other. [A]
    Returns loss, shape (2,): R |I|^2 + w^2/(R h) int |A - mean A|^2 ds over the height h.

    The eddy currents are limited by resistance: their effect on the driving field and on the distribution of the
    rail current is left out. At mu0 f/R = 0.3 this makes the eddy loss 5 % and the loss of joined rails less than 1 %
    too high, compared with strips cut into filaments [D].

    >>> rails = [[[-0.2, 0.0], [-0.2, 0.1]], [[0.2, 0.0], [0.2, 0.1]]]
    >>> loss = rail_loss([[-0.05, 0.05], [0.05, 0.05]], [100.0, -100.0], rails, 1e-3, 50.0, [3.0, -3.0])
    >>> f"{1e3 * loss[0]:.2f} mW/m"
    '9.00 mW/m'
    """
    points, i, strips = _checked(axes, currents, rails)
    loops = phasors("rail_currents", rail_currents, 2)
    r, omega = float(positive("resistance", resistance)), _omega(frequency)
    losses = []
    for k, strip in enumerate(strips):
        # A = -(mu0/2 pi) sum i ln r of the lines and of the other rail, along this rail
        places = _along(strip)
        potential = _potential(points, i, places)
        potential = potential - mu_0 / (2 * np.pi) * loops[1 - k] * _mean_log(strips[1 - k], places)
        # eddy current density -j w sigma (A - mean A): without net current; the net current has R |I|^2
        uneven = potential - _mean(potential)
        losses.append(r * abs(loops[k]) ** 2 + omega**2 / r * _mean(uneven * uneven.conj()).real)
    return np.array(losses)


def _checked(axes: ArrayLike, currents: ArrayLike, rails: ArrayLike) -> tuple[Floats, Complexes, Floats]:
    points = plane_points("axes", axes)
    strips = finite("rails", rails)
    if strips.shape != (2, 2, 2):
        raise ValueError(f"rails must have the shape (2, 2, 2): {strips.shape}")
    return points, phasors("currents", currents, len(points)), strips


def _omega(frequency: float) -> float:
    return 2 * np.pi * float(positive("frequency", frequency))


def _along(strip: Floats) -> Floats:
    """Gauss points of a strip's middle line, shape (n, 2). [m]"""
    points: Floats = strip[0] + np.outer((1 + _NODES) / 2, strip[1] - strip[0])
    return points


def _mean(values: NDArray[np.complexfloating[Any, Any]]) -> complex:
    """Mean over the Gauss points of a strip."""
    return complex(_WEIGHTS @ values / 2)


def _potential(axes: Floats, currents: Complexes, points: Floats) -> Complexes:
    """-(mu0/2 pi) sum i ln r at points, shape (n,). [Wb/m]"""
    distances = np.linalg.norm(points[:, None] - axes, axis=2)
    potential: Complexes = -mu_0 / (2 * np.pi) * np.log(distances) @ currents
    return potential


def _mean_log(strip: Floats, points: Floats) -> Floats:
    """Mean of ln r from points to a strip's middle line, exact, shape (n,)."""
    # int ln(w - z) dw = (w - z) ln(w - z) - (w - z); ln r is the real part of ln(w - z)
    ends, places = strip @ [1, 1j], points @ [1, 1j]
    along = (ends[1] - ends[0]) / abs(ends[1] - ends[0])
    near: Complexes = (ends[0] - places) / along  # turned along the strip: no cut of the logarithm is crossed
    far: Complexes = (ends[1] - places) / along
    mean: Complexes = (far * np.log(far) - near * np.log(near)) / (far - near)
    return mean.real - 1
