"""Return of currents through a conducting earth: the integrals of Carson and Pollaczek for pairs of places."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.constants import mu_0

SERIES_TERMS = 24
"""Terms of the series in air; the rest is 1e-15 at `SERIES_REACH`."""
SERIES_REACH = 8.0
"""Largest distance from the image for which the series is used, in units of 1/|k|. [-]"""
TURN = math.pi / 6
"""Angle by which the path of integration leaves the real axis; the branch point lies at pi/4. [rad]"""
PANELS = 2.0 ** np.arange(-4, 15)
"""Ends of the panels of the path, in units of |k|; the rest of the integral is 1e-10. [-]"""
PANEL_POINTS = 10
"""Points of Gauss's rule on each panel: G is exact to 1e-7, its slopes to 2e-6 |k|."""
GONE = 50.0
"""Exponent at which what is left of the path is nothing: e^-50. [-]"""
CHUNK = 256
"""Scattered pairs that are evaluated at a time on the path, near ones after each other."""


@dataclass(frozen=True)
class EarthReturn:
    """A homogeneous earth with a flat surface, through which net currents return.

    Displacement currents are neglected, mu is mu0 everywhere, and the lines are infinitely long. A line current i makes
    the potential A = mu0 i/(2 pi) (G - ln D) at the distance D, with a smooth G; k^2 = j w mu0/rho. Let h be the sum of
    the heights of source and point above the surface, d the sum of their depths below it, and x their distance along
    it. Then

        G = ln D' + 2 int_0^inf exp(-h l - d a) cos(x l)/(l + a) dl + [K0(k D) + ln D - K0(k D') - ln D']

    with D'^2 = (h + d)^2 + x^2 and a^2 = l^2 + k^2; the bracket applies only if both are below the surface.

    J. R. Carson, Bell System Technical Journal 5, 1926, p. 539: both in air. [M]
    F. Pollaczek, Elektrische Nachrichtentechnik 3, 1926, p. 339: both buried, or one of them in air. [M]
    Both recomputed: the integrals follow from the continuity of A and of its slope at the surface. [D]
    """

    resistivity: float
    """[ohm m]"""
    surface: float = 0.0
    """y of the surface. [m]"""

    def wave_number(self, omega: float) -> complex:
        """k = sqrt(j w mu0/rho) of the earth at an angular frequency [rad/s]; 1/k is the complex depth. [1/m]"""
        return complex(np.sqrt(1j * omega * mu_0 / self.resistivity))

    def equivalent_radius(self, omega: float) -> complex:
        """exp G for places close to the surface: 658.9 sqrt(rho/f) at -45 degrees, Carson's first terms. [m]

        j w mu0/(2 pi) times its logarithm is the resistance w mu0/8 of the earth and the reactance of a return at this
        radius.
        """
        return 2 * math.exp(0.5 - np.euler_gamma) / self.wave_number(omega)

    def logarithms(self, omega: float, sources: Floats, points: Floats) -> Complexes:
        """G from each source (n, 2) to each point (m, 2), shape (m, n). [ln m]"""
        return self._kernel(omega, sources, points)[0]

    def gradients(self, omega: float, sources: Floats, points: Floats) -> Complexes:
        """Gradient of G at each point (m, 2) for each source (n, 2), shape (m, 2, n). [1/m]"""
        return np.stack(self._kernel(omega, sources, points)[1:], axis=1)

    def impedances(self, omega: float, places: Floats, radius: float) -> Complexes:
        """Impedances that the earth adds to lines whose currents return on a far circle, shape (N, N). [ohm/m]

        omega: Angular frequency. [rad/s]
        places, shape (N, 2): Places of the lines. [m]
        radius: Radius of the far circle. [m]
        """
        distinct, index = np.unique(places, axis=0, return_inverse=True)
        logarithms = self.logarithms(omega, distinct, distinct)
        symmetric = (logarithms + logarithms.T) / 2  # reciprocal except for rounding
        added: Complexes = 1j * omega * mu_0 / (2 * np.pi) * (symmetric - np.log(radius))
        index = index.ravel()
        return added[np.ix_(index, index)]

    def _kernel(self, omega: float, sources: Floats, points: Floats) -> tuple[Complexes, Complexes, Complexes]:
        """G and its slopes along x and y at the points, shape (m, n) each."""
        k = self.wave_number(omega)
        away = points[:, None, 0] - sources[None, :, 0]
        at, of = points[:, None, 1] - self.surface, sources[None, :, 1] - self.surface
        above = np.maximum(at, 0) + np.maximum(of, 0)
        below = np.maximum(-at, 0) + np.maximum(-of, 0)
        value, by_above, by_below, by_x = _surface_terms(k, above, below, np.abs(away))
        by_y = np.where(at >= 0, by_above, -by_below)  # h rises with y, d falls
        by_x = by_x * np.sign(away)  # x in G is |away|
        buried = (at < 0) & (of < 0)
        for rise, share in ((at - of, 1.0), (at + of, -1.0)):  # the line minus its image
            distance = np.hypot(away, rise)
            term, slope = _direct(k, distance[buried])
            value[buried] += share * term
            by_x[buried] += share * slope * away[buried]
            by_y[buried] += share * slope * rise[buried]
        return value, by_x, by_y


def _direct(k: complex, distance: Floats) -> tuple[Complexes, Complexes]:
    """K0(k D) + ln D of a line in an infinite earth, and its slope divided by D, at distances of 0 or above."""
    from scipy.special import kv  # loaded where an earth is asked for

    near = np.maximum(distance, 1e-9 / abs(k))
    value: Complexes = kv(0, k * near) + np.log(near)  # dK0/dz = -K1, NIST DLMF 10.29.3 [M]
    slope: Complexes = (1 / near - k * kv(1, k * near)) / near
    return value, np.where(distance >= near, slope, 0)


def _surface_terms(k: complex, above: Floats, below: Floats, x: Floats) -> Complexes:
    """ln D' + 2 int exp(-h l - d a) cos(x l)/(l + a) dl and its slopes by h, d and x, shape (4, points, sources)."""
    result = np.empty((4, *x.shape), dtype=np.complex128)
    series = (below == 0) & (abs(k) * np.hypot(above, x) <= SERIES_REACH)
    result[:, series] = _series_in_air(k, above[series], x[series])
    for source in np.flatnonzero(~series.all(axis=0)):  # points of a map fill a grid, but of each source another
        rest = np.flatnonzero(~series[:, source])
        rest = rest[np.argsort((above + below + x)[rest, source], kind="stable")]
        h, d, away = above[rest, source], below[rest, source], x[rest, source]
        on_grid = np.unique(np.stack([h, d]), axis=1).shape[1] * len(np.unique(away)) <= 2 * len(rest)
        step = len(rest) if on_grid else CHUNK
        for first in range(0, len(rest), step):
            own = slice(first, first + step)
            result[:, rest[own], source] = _on_path(k, h[own], d[own], away[own], on_grid)
    return result


def _series_in_air(k: complex, height: Floats, x: Floats) -> Complexes:
    """The same with source and point in air, by the closed form of Carson's integral.

    With z = h + j x the integral is S(k z) + S(k conj z), S(u) = pi/(2 u) (H1(u) - Y1(u)) - 1/u^2 with the functions of
    Struve and Neumann. ln D' = (ln z + ln conj z)/2 cancels the logarithms of the Neumann functions and leaves ln(2/k).
    """
    of_z, of_conjugate = (_half_in_air(k * z) for z in (height + 1j * x, height - 1j * x))
    value = of_z[0] + of_conjugate[0] + np.log(2 / k)
    by_height = k * (of_z[1] + of_conjugate[1])
    by_x = 1j * k * (of_z[1] - of_conjugate[1])
    return np.stack([value, by_height, np.zeros_like(value), by_x])


def _half_in_air(u: Complexes) -> tuple[Complexes, Complexes]:
    """S(u) + ln(u/2)/2 and its slope, as power series in u/2."""
    half = u / 2
    known = np.where(half == 0, 1, half)  # at u = 0 the factors of its logarithm and of its inverse are 0
    even = (half**2)[:, None] ** np.arange(SERIES_TERMS)
    struve, neumann, beyond, by_struve, by_neumann, by_beyond = (even @ _series()).T
    value = half * struve + neumann - np.log(known) * beyond
    slope = (by_struve + (by_neumann - np.log(known) * by_beyond - beyond) / known) / 2
    return value, slope


@functools.cache
def _series() -> Floats:
    """Coefficients by (u/2)^(2m) of the functions of Struve and Neumann, of the logarithm, and of their slopes."""
    from scipy.special import digamma, gammaln

    order = np.arange(SERIES_TERMS)
    bessel = (-1.0) ** order * np.exp(-gammaln(order + 1) - gammaln(order + 2)) / 2  # J1/u, by (u/2)^(2m)
    neumann = bessel * (digamma(order + 1) + digamma(order + 2)) / 2
    struve = (-1.0) ** order * np.exp(-gammaln(order + 1.5) - gammaln(order + 2.5)) * np.pi / 4  # by (u/2)^(2m+1)
    beyond = np.concatenate([[0.0], bessel[1:]])  # without the first term 1/2 of J1/u, which ln(u/2)/2 cancels
    slopes = (struve * (2 * order + 1), neumann * 2 * order, beyond * 2 * order)
    return np.stack([struve, neumann, beyond, *slopes], axis=1)


def _on_path(k: complex, above: Floats, below: Floats, x: Floats, on_grid: bool) -> Complexes:
    """The same for source and point anywhere, by quadrature along two rays on which exp(+- j x l) decays.

    The image at the complex depth p = 1/k, (1 - exp(-2 p l))/(2 l), is subtracted and added in closed form: the rest
    decays like l^-3 even on the surface. Pairs that fill a grid of levels and places cost one product of two matrices.
    """
    path, weights = _panels()
    total, depth = above + below, 1 / k
    decay = abs(k) * float((total * np.cos(TURN) + x * np.sin(TURN)).min())
    count = int(np.searchsorted(path * decay, GONE))
    path, weights = path[:count], weights[:count]
    square = (total + 2 * depth) ** 2 + x**2
    image = (total + 2 * depth) / square
    result = np.stack([np.log(square) / 2, image, image, x / square])
    (up, down), level = np.unique(np.stack([above, below]), axis=1, return_inverse=True)
    places, place = np.unique(x, return_inverse=True)
    level, place = level.ravel(), place.ravel()
    for sign in (1, -1):  # 2 cos(x l) = exp(-j x l) + exp(j x l): each decays on its ray
        ray = abs(k) * np.exp(-1j * sign * TURN)
        lam = ray * path
        alpha = np.sqrt(lam**2 + k**2)
        actual = np.exp(-np.outer(up, lam) - np.outer(down, alpha)) / (lam + alpha)
        taken = np.exp(-np.outer(up + down, lam)) * -np.expm1(-2 * depth * lam) / (2 * lam)
        wave = np.exp(-1j * sign * np.outer(places, lam)) * (ray * weights)
        value, by_above, by_below = (
            (of_level @ wave.T)[level, place] if on_grid else np.einsum("pl,pl->p", of_level[level], wave[place])
            for of_level in (actual - taken, lam * (taken - actual), lam * taken - alpha * actual)
        )
        result += np.stack([value, by_above, by_below, 1j * sign * by_above])
    return result


@functools.cache
def _panels() -> tuple[Floats, Floats]:
    """Points and weights of Gauss's rule on all panels. [-]"""
    abscissae, weights = np.polynomial.legendre.leggauss(PANEL_POINTS)
    ends = np.concatenate([[0.0], PANELS])
    half, middle = np.diff(ends)[:, None] / 2, ((ends[1:] + ends[:-1]) / 2)[:, None]
    return (middle + half * abscissae).ravel(), (half * weights).ravel()
