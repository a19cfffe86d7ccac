"""Vector potential, flux density and losses from the multipoles of round parts, at any point of air or metal."""

import numpy as np
from numpy.polynomial.polynomial import polyval

from fem.arrays import Complexes, Floats, Ints
from fem.constants import mu_0
from fem.multipole_system import Multipoles
from fem.round_metal import Metal, decaying, growing, mean_potential_shapes, mean_shapes, scattering
from fem.round_parts import OUTSIDE, RoundLayout

_LINE = mu_0 / (2 * np.pi)
_CHUNK = 4096  # points at a time, to bound the memory of the harmonics at all points
_GAUSS_NODES, _GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(12)


def field_at(multipoles: Multipoles, voltages: Complexes, points: Floats) -> Complexes:
    """Flux density (Bx, By) at points (n, 2) [m] for part voltages (N,) [V/m]; shape (n, 2). [T]"""
    return _evaluate(multipoles, voltages, points)[:, 1:]


def potential_at(multipoles: Multipoles, voltages: Complexes, points: Floats) -> Complexes:
    """Vector potential at points (n, 2) [m] for part voltages (N,) [V/m]; shape (n,). [Wb/m]"""
    return _evaluate(multipoles, voltages, points)[:, 0]


def _evaluate(multipoles: Multipoles, voltages: Complexes, points: Floats) -> Complexes:
    """A, Bx and By at points; shape (n, 3). [Wb/m, T, T]"""
    values = np.empty((len(points), 3), dtype=np.complex128)
    for start in range(0, len(points), _CHUNK):
        some = points[start : start + _CHUNK]
        chunk = np.empty((len(some), 3), dtype=np.complex128)
        metal, region = locate(multipoles.layout, some)
        z = some[:, 0] + 1j * some[:, 1]
        for home in np.unique(region[metal < 0]):
            here = (metal < 0) & (region == home)
            chunk[here] = _in_air(multipoles, voltages, z[here], int(home))
        for number in np.unique(metal[metal >= 0]):
            here = metal == number
            chunk[here] = _in_metal(multipoles, voltages, z[here], int(number))
        values[start : start + _CHUNK] = chunk
    return values


def locate(layout: RoundLayout, points: Floats) -> tuple[Ints, Ints]:
    """Number of the part whose metal holds each point (-1 for air), and number of its region; shapes (n,). [-]"""
    metal = np.full(len(points), -1)
    region = np.full(len(points), OUTSIDE)
    for number in layout.outermost_first():
        part = layout.parts[number]
        radius = np.hypot(points[:, 0] - part.centre[0], points[:, 1] - part.centre[1])
        within = radius <= part.outer_radius
        bore = radius < part.inner_radius
        metal[within & ~bore] = number
        metal[within & bore] = -1
        region[within & bore] = number
    return metal, region


def _in_air(multipoles: Multipoles, voltages: Complexes, z: Complexes, home: int) -> Complexes:
    """A, Bx and By at points z = x + j y in one region of air; shape (n, 3). [Wb/m, T, T]"""
    potential = np.zeros(z.shape, dtype=np.complex128)
    slopes = np.zeros((2, *z.shape), dtype=np.complex128)  # dA/dz and dA/d(conj z)
    length = multipoles.reference_radius
    if home != OUTSIDE:
        length = multipoles.layout.parts[home].inner_radius
        _add_bore_wall(multipoles, voltages, z, home, potential, slopes)
    for number in multipoles.layout.members(home):
        _add_part(multipoles, voltages, z, number, length, potential, slopes)
    # d/dx = d/dz + d/d(conj z) and d/dy = j (d/dz - d/d(conj z)); B = (dA/dy, -dA/dx)
    return np.stack([potential, 1j * (slopes[0] - slopes[1]), -(slopes[0] + slopes[1])], axis=-1)


def _add_bore_wall(
    multipoles: Multipoles, voltages: Complexes, z: Complexes, home: int, potential: Complexes, slopes: Complexes
) -> None:
    """Add the mean of A on the wall of a bore and its regular harmonics (zeta/a)^n."""
    tube, metal = multipoles.layout.parts[home], multipoles.metals[home]
    a = tube.inner_radius
    step = mean_potential_shapes(metal, np.array([a]))[:, 0]
    potential += (
        multipoles.mean[home] + step[0] * multipoles.enclosed[home] + step[1] * multipoles.bore_current[home]
    ) @ voltages
    n = np.arange(1, multipoles.order + 1)
    zeta = (z - complex(*tube.centre)) / a
    for kind, base in ((0, zeta), (1, zeta.conj())):
        coefficients = multipoles.regular[home, kind] @ voltages
        potential += polyval(base, np.append(0, coefficients))
        slopes[kind] += polyval(base, n * coefficients) / a  # d/dz (zeta/a)^n = n (zeta/a)^(n-1) / a


def _add_part(
    multipoles: Multipoles,
    voltages: Complexes,
    z: Complexes,
    number: int,
    length: float,
    potential: Complexes,
    slopes: Complexes,
) -> None:
    """Add the current of a part, mu0 i/(2 pi) ln(length/|zeta|), and its outgoing harmonics (b/zeta)^n."""
    part = multipoles.layout.parts[number]
    b = part.outer_radius
    n = np.arange(1, multipoles.order + 1)
    distance = z - complex(*part.centre)
    current = _LINE * (multipoles.enclosed[number] @ voltages)
    potential += current * np.log(length / np.abs(distance))
    for kind, zeta in ((0, distance), (1, distance.conj())):
        coefficients = multipoles.outgoing[number, kind] @ voltages
        potential += polyval(b / zeta, np.append(0, coefficients))
        slopes[kind] -= (
            polyval(b / zeta, np.append(0, n * coefficients)) / zeta
        )  # d/dz (b/zeta)^n = -n (b/zeta)^n / zeta
        slopes[kind] -= current / (2 * zeta)  # ln|zeta| = (ln zeta + ln conj zeta)/2


def _amplitudes(multipoles: Multipoles, voltages: Complexes, number: int) -> tuple[Complexes, Complexes]:
    """Amplitudes p and q in a part's metal of the factors e^{jn theta} (row 0) and e^{-jn theta}; (2, order). [Wb/m]"""
    ring = scattering(multipoles.metals[number], multipoles.order)
    alpha = multipoles.incident[number] @ voltages
    delta = (multipoles.bore_outgoing[number] @ voltages)[::-1]
    return ring.p_alpha * alpha + ring.p_delta * delta, ring.q_alpha * alpha + ring.q_delta * delta


def _harmonics(metal: Metal, p: Complexes, q: Complexes, radius: Floats) -> tuple[Complexes, Complexes]:
    """A_n(r) and r dA_n/dr of both angular factors; shapes (2, order, radii). [Wb/m]"""
    order = p.shape[-1]
    n = np.arange(1, order + 1)[:, None]
    values, excess = growing(metal, radius, order)
    potential = p[:, :, None] * values
    slope = p[:, :, None] * (values * (n + excess))
    if metal.inner > 0:
        values, excess = decaying(metal, radius, order)
        potential += q[:, :, None] * values
        slope -= q[:, :, None] * (values * (n + excess))
    return potential, slope


def _mean(metal: Metal, shapes: Complexes, enclosed: complex, inside: complex) -> Complexes:
    """Sum of the shapes for the currents inside the outer radius and, in a tube, inside the bore."""
    combined: Complexes = shapes[0] * enclosed + (shapes[1] * inside if metal.inner > 0 else 0)
    return combined


def _in_metal(multipoles: Multipoles, voltages: Complexes, z: Complexes, number: int) -> Complexes:
    """A, Bx and By at points z = x + j y in the metal of one part; shape (n, 3). [Wb/m, T, T]"""
    part, metal = multipoles.layout.parts[number], multipoles.metals[number]
    enclosed = complex(multipoles.enclosed[number] @ voltages)
    inside = complex(multipoles.bore_current[number] @ voltages)
    distance = z - complex(*part.centre)
    radius = np.maximum(np.abs(distance), 1e-9 * part.outer_radius)  # on the axis B is taken from a point beside it
    angle = np.angle(distance)
    p, q = _amplitudes(multipoles, voltages, number)
    values, slopes = _harmonics(metal, p, q, radius)
    n = np.arange(1, multipoles.order + 1)[:, None]
    turn = np.exp(1j * n * angle)
    potential = _mean(metal, mean_potential_shapes(metal, radius), enclosed, inside)
    potential = potential + multipoles.mean[number] @ voltages
    potential = potential + np.sum(values[0] * turn + values[1] * turn.conj(), axis=0)
    # B_r = (1/r) dA/d(theta) and B_theta = -dA/dr; the mean of B_theta is mu H of the currents within
    radial = np.sum(1j * n * (values[0] * turn - values[1] * turn.conj()), axis=0) / radius
    mean_field = mu_0 * metal.permeability / (2 * np.pi) * _mean(metal, mean_shapes(metal, radius)[0], enclosed, inside)
    around = mean_field - np.sum(slopes[0] * turn + slopes[1] * turn.conj(), axis=0) / radius
    cosine, sine = np.cos(angle), np.sin(angle)  # e_r = (cos, sin), e_theta = (-sin, cos)
    return np.stack([potential, radial * cosine - around * sine, radial * sine + around * cosine], axis=-1)


def joule_and_magnetic_losses(multipoles: Multipoles, voltages: Complexes, omega: float) -> tuple[Floats, Floats]:
    """Losses of each part by Gauss quadrature over the radius and Parseval's sum over the angle; shapes (N,). [W/m]

    Panels halve towards each surface until they are thinner than the skin depth and the reach of the highest harmonic.
    """
    joule, magnetic = np.zeros(len(multipoles.metals)), np.zeros(len(multipoles.metals))
    n = np.arange(1, multipoles.order + 1)[:, None]
    for number, metal in enumerate(multipoles.metals):
        enclosed = complex(multipoles.enclosed[number] @ voltages)
        inside = complex(multipoles.bore_current[number] @ voltages)
        radius, weight = _radial_rule(metal, multipoles.order)
        p, q = _amplitudes(multipoles, voltages, number)
        values, slopes = _harmonics(metal, p, q, radius)
        field, curl = mean_shapes(metal, radius)
        weight = 2 * np.pi * radius * weight
        if metal.conductivity > 0:
            mean_density = _mean(metal, curl, enclosed, inside) / (2 * np.pi)
            density = np.abs(mean_density) ** 2 + np.sum(np.abs(omega * metal.conductivity * values) ** 2, axis=(0, 1))
            joule[number] = float(np.sum(density * weight)) / metal.conductivity
        mu = mu_0 * metal.permeability
        mean_field = mu / (2 * np.pi) * _mean(metal, field, enclosed, inside)
        harmonics = np.sum(np.abs(slopes) ** 2 + n**2 * np.abs(values) ** 2, axis=(0, 1)) / radius**2
        magnetic[number] = omega * (1 / mu).imag * float(np.sum((np.abs(mean_field) ** 2 + harmonics) * weight))
    return joule, magnetic


def _radial_rule(metal: Metal, order: int) -> tuple[Floats, Floats]:
    """Nodes and weights of a quadrature over the radius of a part, graded towards its surfaces. [m, m]"""
    wall = metal.outer - metal.inner
    reach = 1 / (abs(metal.k) + order / metal.outer)
    halvings = int(max(1, np.ceil(np.log2(wall / reach)) + 1))
    towards = wall * 0.5 ** np.arange(halvings + 1)
    edges = np.append(metal.outer - towards, metal.outer)
    if metal.inner > 0:
        edges = np.concatenate([edges, metal.inner + towards, [metal.inner]])
    edges = np.unique(edges)
    half = np.diff(edges)[:, None] / 2
    return (edges[:-1, None] + half * (1 + _GAUSS_NODES)).ravel(), (half * _GAUSS_WEIGHTS).ravel()
