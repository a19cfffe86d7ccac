"""The integrals of Carson and Pollaczek as they are published, by an adaptive quadrature: slow, and independent."""

import itertools
import math

import numpy as np
from scipy.constants import mu_0
from scipy.integrate import quad
from scipy.special import kv

Point = tuple[float, float]


def line_potential(source: Point, point: Point, omega: float, resistivity: float) -> complex:
    """A of a line current at a point, with the earth below y = 0, in units of mu0 i/(2 pi). [-]"""
    x, k = abs(point[0] - source[0]), complex(np.sqrt(1j * omega * mu_0 / resistivity))
    above, below = sum(max(y, 0) for y in (source[1], point[1])), sum(max(-y, 0) for y in (source[1], point[1]))

    def integrand(t: float) -> complex:
        alpha = np.sqrt(t**2 + k**2)
        return complex(2 * np.exp(-above * t - below * alpha) * np.cos(x * t) / (t + alpha))

    end = max(45 / (above + below), abs(k))  # exp(-45) = 3e-20
    found = 0j
    for low, high in itertools.pairwise([0, *np.geomspace(abs(k) / 100, end, 40)]):
        found += quad(lambda t: integrand(t).real, low, high, limit=400)[0]
        found += 1j * quad(lambda t: integrand(t).imag, low, high, limit=400)[0]
    direct, image = math.hypot(x, point[1] - source[1]), math.hypot(x, point[1] + source[1])
    if source[1] < 0 and point[1] < 0:
        found += complex(kv(0, np.complex128(k * direct)) - kv(0, np.complex128(k * image)))
    if source[1] > 0 and point[1] > 0:
        found += math.log(image / direct)
    return found


def return_distance(source: Point, point: Point, omega: float, resistivity: float) -> complex:
    """The complex distance D' at which the current returns: A = mu0 i/(2 pi) ln(D'/D). [m]"""
    apart = math.dist(source, point)
    if apart == 0:
        apart = 1e-6
        point = (point[0] + apart, point[1])
    return complex(apart * np.exp(line_potential(source, point, omega, resistivity)))
