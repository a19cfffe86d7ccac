"""Exact field inside the metal of one round part: modified Bessel functions in the radius, harmonics in the angle.

For the harmonic n >= 1 the vector potential is A_n(r) = p P_n(r) + q Q_n(r) with P_n = I_n(kr)/I_n(kb) and
Q_n = K_n(kr)/K_n(ka), bore radius a, outer radius b, k = sqrt(j w mu sigma). Only ratios of Bessel functions appear.
They follow from recurrences in the stable direction, so nothing overflows in thick metal, at high frequency or at high
order. The limits for k = 0 are (r/b)^n and (a/r)^n. The mean over the angle (n = 0) follows from the currents inside
the bore and inside the outer radius alone.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ive, kve

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.round_parts import RoundPart

_EXTRA_ORDERS = 40  # backward steps before the first ratio needed; each divides the starting error by six or more
_THIN = 1.0  # |k| times wall, below which A_0(r) - A_0(b) is integrated, as its closed form loses digits
_GAUSS_NODES, _GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class Metal:
    """One round part at one frequency.

    inner: Radius a of the bore, 0 for a solid part. [m]
    outer: Outer radius b. [m]
    conductivity: Conductivity sigma. [S/m]
    permeability: Relative permeability. [-]
    frequency: Frequency. [Hz]
    """

    inner: float
    outer: float
    conductivity: float
    permeability: complex
    frequency: float

    @property
    def k(self) -> np.complex128:
        """Propagation constant sqrt(j w mu sigma) with a real part of 0 or above. [1/m]"""
        square = 2j * np.pi * self.frequency * mu_0 * self.permeability * self.conductivity
        return np.complex128(np.sqrt(square))


def metal_of(part: RoundPart, frequency: float) -> Metal:
    """Metal of a round part at a frequency. [Hz]"""
    mu = complex(part.relative_permeability)
    return Metal(part.inner_radius, part.outer_radius, part.conductivity, mu, frequency)


def first_kind_ratios(x: Complexes, order: int) -> Complexes:
    """I_n(x)/I_{n-1}(x) for n = 1 .. order + 1, by backward recurrence; shape (order + 1, ...) + x.shape. [-]"""
    top = order + 1 + _EXTRA_ORDERS
    ratio = x / (top + np.sqrt(top**2 + x**2))  # leading term for large orders; the recurrence corrects it
    large = np.abs(x) >= max(order, 1)
    ratio[large] = ive(top, x[large]) / ive(top - 1, x[large])
    ratios = np.empty((order + 1, *x.shape), dtype=np.complex128)
    for n in range(top - 1, 0, -1):
        ratio = x / (2 * n + x * ratio)  # I_(n-1) - I_(n+1) = (2n/x) I_n, NIST DLMF 10.29.1 [M]
        if n <= order + 1:
            ratios[n - 1] = ratio
    return ratios


def second_kind_ratios(x: Complexes, order: int) -> Complexes:
    """K_n(x)/K_{n-1}(x) for n = 1 .. order, by forward recurrence; shape (order,) + x.shape. [-]"""
    ratios = np.empty((order, *x.shape), dtype=np.complex128)
    ratios[0] = kve(1, x) / kve(0, x)
    for n in range(1, order):
        ratios[n] = 2 * n / x + 1 / ratios[n - 1]  # K_(n+1) - K_(n-1) = (2n/x) K_n, NIST DLMF 10.29.1 [M]
    return ratios


def growing(metal: Metal, radius: Floats, order: int) -> tuple[Complexes, Complexes]:
    """P_n = I_n(kr)/I_n(kb) and the excess e_n of its slope, r dP_n/dr = (n + e_n) P_n, for n = 1 .. order. [-]"""
    n = np.arange(1, order + 1)[:, None]
    if metal.k == 0:
        values = (radius / metal.outer) ** n
        return values.astype(np.complex128), np.zeros_like(values, dtype=np.complex128)
    x = metal.k * np.append(radius, metal.outer)
    ratios = first_kind_ratios(x, order)
    start = ive(0, x[:-1]) / ive(0, x[-1]) * np.exp((x[:-1] - x[-1]).real)
    values = start * np.cumprod(ratios[:order, :-1] / ratios[:order, -1:], axis=0)
    return values, x[:-1] * ratios[1:, :-1]  # x I_n' = n I_n + x I_(n+1)


def decaying(metal: Metal, radius: Floats, order: int) -> tuple[Complexes, Complexes]:
    """Q_n = K_n(kr)/K_n(ka) and the excess e_n of its slope, r dQ_n/dr = -(n + e_n) Q_n, for n = 1 .. order. [-]"""
    n = np.arange(1, order + 1)[:, None]
    if metal.k == 0:
        values = (metal.inner / radius) ** n
        return values.astype(np.complex128), np.zeros_like(values, dtype=np.complex128)
    x = metal.k * np.append(radius, metal.inner)
    ratios = second_kind_ratios(x, order)
    start = kve(0, x[:-1]) / kve(0, x[-1]) * np.exp(x[-1] - x[:-1])
    values = start * np.cumprod(ratios[:, :-1] / ratios[:, -1:], axis=0)
    return values, x[:-1] / ratios[:, :-1]  # x K_n' = -n K_n - x K_(n-1)


@dataclass(frozen=True)
class Scattering:
    """Response of the metal of one round part to the fields that reach its two surfaces, for n = 1 .. order.

    Outside A_n = alpha (r/b)^n + beta (b/r)^n, in the bore A_n = gamma (r/a)^n + delta (a/r)^n. All arrays have the
    shape (order,). Those of the bore are 0 for a solid part.

    beta_alpha, beta_delta, gamma_alpha, gamma_delta: beta and gamma for alpha = 1 and for delta = 1. [-]
    p_alpha, p_delta, q_alpha, q_delta: Amplitudes p and q in the metal for alpha = 1 and for delta = 1. [-]
    """

    beta_alpha: Complexes
    beta_delta: Complexes
    gamma_alpha: Complexes
    gamma_delta: Complexes
    p_alpha: Complexes
    p_delta: Complexes
    q_alpha: Complexes
    q_delta: Complexes


def scattering(metal: Metal, order: int) -> Scattering:
    """Scattering of a round part for n = 1 .. order from A and H_theta continuous at both surfaces. [-]

    H_theta = -(1/mu) dA/dr. With P(b) = Q(a) = 1 and the slopes r P' = (n + e) P and r Q' = -(n + e) Q, continuity
    times r at the outer surface b and at the bore a reads

        alpha + beta = p + q Q(b)           n (alpha - beta)  = (p (n + e_P) - q Q(b) (n + e_Q))/mu
        gamma + delta = p P(a) + q          n (gamma - delta) = (p P(a) (n + e_P) - q (n + e_Q))/mu

    Sums and differences of each line give alpha and delta over p and q, whose inverse is written out, then beta and
    gamma.
    """
    n, mu = np.arange(1, order + 1), metal.permeability
    if metal.inner == 0:
        _, slope = growing(metal, np.array([metal.outer]), order)
        p = 2 * n / (n + (n + slope[:, 0]) / mu)
        none = np.zeros(order, dtype=np.complex128)
        reflected = p * (n * (mu - 1) - slope[:, 0]) / (2 * n * mu)
        return Scattering(reflected, none, none, none, p, none, none, none)
    surfaces = np.array([metal.inner, metal.outer])
    grown, grow_slope = growing(metal, surfaces, order)
    fallen, fall_slope = decaying(metal, surfaces, order)
    p_at_a, q_at_b = grown[:, 0], fallen[:, 1]  # P_n(a) and Q_n(b); P_n(b) = Q_n(a) = 1
    # n - (n + e)/mu is written so that nothing cancels if mu = 1 and e is small
    grow_sum_a, grow_sum_b = (n + (n + grow_slope[:, side]) / mu for side in (0, 1))
    fall_sum_a, fall_sum_b = (n + (n + fall_slope[:, side]) / mu for side in (0, 1))
    grow_gap_a, grow_gap_b = ((n * (mu - 1) - grow_slope[:, side]) / mu for side in (0, 1))
    fall_gap_a, fall_gap_b = ((n * (mu - 1) - fall_slope[:, side]) / mu for side in (0, 1))
    # 2n alpha = p grow_sum_b + q Q(b) fall_gap_b and 2n delta = p P(a) grow_gap_a + q fall_sum_a
    scale = 2 * n / (grow_sum_b * fall_sum_a - q_at_b * fall_gap_b * p_at_a * grow_gap_a)
    p_alpha, p_delta = scale * fall_sum_a, -scale * q_at_b * fall_gap_b
    q_alpha, q_delta = -scale * p_at_a * grow_gap_a, scale * grow_sum_b
    return Scattering(
        (p_alpha * grow_gap_b + q_alpha * q_at_b * fall_sum_b) / (2 * n),
        (p_delta * grow_gap_b + q_delta * q_at_b * fall_sum_b) / (2 * n),
        (p_alpha * p_at_a * grow_sum_a + q_alpha * fall_gap_a) / (2 * n),
        (p_delta * p_at_a * grow_sum_a + q_delta * fall_gap_a) / (2 * n),
        p_alpha,
        p_delta,
        q_alpha,
        q_delta,
    )


def mean_shapes(metal: Metal, radius: Floats) -> tuple[Complexes, Complexes]:
    """Mean H_theta(r) per current, 2 pi H = (shape 0) i_b + (shape 1) i_a, and (1/r) d(r H)/dr in the same form.

    i_b is the current inside the outer radius and i_a the current inside the bore [A]. Both results have the shape
    (2,) + radius.shape, in [1/m] and [1/m^2]. At k = 0 the current density is uniform.

    H is the sum of I_1(kr) and K_1(kr) with 2 pi b H(b) = i_b and 2 pi a H(a) = i_a. Its curl follows from
    (1/x) d(x I_1)/dx = I_0 and (1/x) d(x K_1)/dx = -K_0.
    """
    a, b, k = metal.inner, metal.outer, metal.k
    if k == 0:
        area = b**2 - a**2
        with np.errstate(divide="ignore", invalid="ignore"):
            enclosed = np.where(radius > 0, (radius**2 - a**2) / (radius * area), 0.0)
            missing = np.where(radius > 0, (b**2 - radius**2) / (radius * area), 0.0) if a > 0 else 0 * radius
        uniform = np.full(radius.shape, 2 / area)
        return (
            np.array([enclosed, missing], dtype=np.complex128),
            np.array([uniform, -uniform], dtype=np.complex128),
        )
    x, y = k * radius, k * b
    grow = np.exp((x - y).real) / ive(1, y)
    if a == 0:
        none = np.zeros(radius.shape, dtype=np.complex128)
        return np.array([grow * ive(1, x) / b, none]), np.array([k * grow * ive(0, x) / b, none])
    z = k * a
    fall = np.exp(z - x) / kve(1, z)
    i_at_a = ive(1, z) / ive(1, y) * np.exp((z - y).real)  # I_1(ka)/I_1(kb)
    k_at_b = kve(1, y) / kve(1, z) * np.exp(z - y)  # K_1(kb)/K_1(ka)
    rest = 1 - i_at_a * k_at_b
    i1, k1, i0, k0 = grow * ive(1, x), fall * kve(1, x), grow * ive(0, x), fall * kve(0, x)
    field = np.array([(i1 - i_at_a * k1) / b, (k1 - k_at_b * i1) / a]) / rest
    curl = k * np.array([(i0 + i_at_a * k0) / b, -(k0 + k_at_b * i0) / a]) / rest
    return field, curl


def mean_potential_shapes(metal: Metal, radius: Floats) -> Complexes:
    """Mean A_0(r) - A_0(b) for i_b = 1 A and for i_a = 1 A; shape (2,) + radius.shape. [H/m]"""
    a, b, k = metal.inner, metal.outer, metal.k
    scale = mu_0 * metal.permeability / (2 * np.pi)
    if k != 0 and abs(k) * (b - a) >= _THIN:
        here, there = mean_shapes(metal, radius)[1], mean_shapes(metal, np.array([b]))[1]
        return scale * (there - here) / k**2  # curl H = -(k^2/mu) A + a constant
    # A_0(r) - A_0(b) = int_r^b mu H dr
    if a == 0:  # integrate over the radius
        nodes = radius[:, None] + (b - radius)[:, None] * (1 + _GAUSS_NODES) / 2
        weights = (b - radius)[:, None] / 2 * _GAUSS_WEIGHTS
    else:  # integrate over ln r, in which 1/r is smooth in a wide tube
        span = np.log(b / radius)[:, None]
        nodes = b * np.exp(-span * (1 - _GAUSS_NODES) / 2)
        weights = span / 2 * _GAUSS_WEIGHTS * nodes
    field = mean_shapes(metal, nodes)[0]
    integrated: Complexes = scale * np.sum(field * weights, axis=-1)
    return integrated
