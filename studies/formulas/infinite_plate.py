"""Field and loss of parallel line currents over an infinite plate, by their exact spectrum along the plate.

The plate fills -t <= y <= 0, the lines lie above it at (x_k, h_k), h_k > 0. At the spatial frequency u [1/m], with
g = sqrt(u^2 + j w mu sigma) and p = g/mu_r, continuity of A and of (1/mu) dA/dy at both faces gives a reflected wave
rho(u) e^{-u y} above and a transmitted wave T(u) e^{u (y + t)} below, each times the incident wave at y = 0. The
plate's voltage drop u_k is zero: it returns the net current of the lines.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import formula
from studies.formulas.inputs import phasors, plane_points, positive, zero_or_above
from studies.formulas.line_field import line_field

NO_EDGES = "flat linear plate without edges: half width much greater than heights and distances"

RELATIVE_TOLERANCE = 1e-9
"""Change between two divisions of the quadrature, over the greatest value, at which it stops. [-]"""
WORST_CHANGE = 1e-6
"""The change at which it gives up and raises; reached only if almost all of the integral cancels. [-]"""
DIVISIONS = 4
"""Greatest number of times that the panels are halved. [-]"""
LOWEST = 2.0**-36
"""First spatial frequency of the quadrature, over the inverse of the largest distance. [-]"""
DECAY = 40.0
"""Exponent of the decay at the last spatial frequency: exp(-40) = 4e-18. [-]"""
AT_ONCE = 200_000
"""Greatest number of waves in memory. [-]"""
TILT = np.exp(1j * np.pi / 6)
"""Direction of integration of the spatial frequency; waves in the other direction take the mirrored one.

Along it the wave over a distance d, exp(-u (h - i d)), falls like exp(-s (h cos 30 + d sin 30)) and turns at most
twice as fast as it falls: the work is the same for all distances, and grows on the real axis. Nothing lies between
the axis and either direction: free waves exp(+-iux), poles of rho and T, have with u^2 = a + jb
    int [abs(A')^2/mu + (u^2/mu + j w sigma) abs(A)^2] dy = 0,   hence a < 0 and b < 0,
so that those with Re u > 0 lie at angles from -90 to -45 degrees, and so do the branch points g = 0.
"""


class PlateWaves(NamedTuple):
    """Waves that a plate makes of a field that varies along it, complex arrays. [-]"""

    reflection: Complexes
    """rho(u): reflected over incident vector potential at the near face."""
    transmission: Complexes
    """T(u): field at the far face over incident field at the near face."""


@dataclass(frozen=True)
class PlateField:
    """Field of line currents over an infinite plate."""

    field: Complexes
    """Rms phasors (Bx, By) at each point, shape (n, 2). [T]"""
    error: float
    """Estimate of the quadrature's greatest error. [T]"""


@dataclass(frozen=True)
class PlateLoss:
    """Loss in an infinite plate under line currents."""

    loss: float
    """Loss per metre along the lines. [W/m]"""
    error: float
    """Estimate of the quadrature's error. [W/m]"""


@formula(
    quantity="reflection and transmission of a plate",
    unit="-",
    source="Derived [D]; as in J. R. Moser, IEEE Trans. EMC-9, 1967 and R. G. Olsen, M. Istenic, P. Zunko, IEEE "
    "Trans. EMC 45(3), 2003 [M]",
    valid_for=NO_EDGES,
)
def plate_waves(
    spatial_frequency: ArrayLike,
    thickness: float,
    conductivity: float,
    frequency: float,
    relative_permeability: float = 1.0,
) -> PlateWaves:
    """Reflection and transmission of an infinite plate for a field that varies along it.

    spatial_frequency, complex or real: Spatial frequency u along the plate, real part above 0. [1/m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, 0 or above. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns waves: rho(u) and T(u) in the shape of u: 0 and exp(-u t) without plate, rho = -1 for a perfect conductor
        and (mu_r - 1)/(mu_r + 1) for a thick static magnetic plate.

    rho = (u^2 - p^2)[exp(g t) - exp(-g t)]/D, T = 4 u p/D, D = (p + u)^2 exp(g t) - (p - u)^2 exp(-g t),
    g = sqrt(u^2 + j w mu sigma), p = g/mu_r. Exact for a linear infinite plate.

    >>> f"{plate_waves(10.0, 0.003, 0.0, 50.0).transmission.real:.4f}"
    '0.9704'
    """
    u = np.asarray(spatial_frequency).astype(np.complex128)
    if not np.all(np.isfinite(u) & (u.real > 0)):
        raise ValueError(f"spatial_frequency must be finite with a real part above 0: {spatial_frequency!r}")
    t, sigma = float(positive("thickness", thickness)), float(zero_or_above("conductivity", conductivity))
    mu_r = float(positive("relative_permeability", relative_permeability))
    squared = 2j * np.pi * float(zero_or_above("frequency", frequency)) * mu_0 * mu_r * sigma
    g = np.sqrt(u**2 + squared)
    p = g / mu_r
    # u - p and D exp(-g t), both without cancellation for a plate that is almost nothing and with falling exponentials
    difference = (u**2 * (mu_r**2 - 1) - squared) / (mu_r**2 * (u + p))
    crossed = -np.expm1(-2 * g * t)
    bracket = 4 * p * u + difference**2 * crossed
    return PlateWaves(difference * (u + p) * crossed / bracket, 4 * u * p * np.exp(-g * t) / bracket)


@formula(
    quantity="flux density at a plate, rms phasors",
    unit="T",
    source="Derived [D]; as in R. G. Olsen, M. Istenic, P. Zunko, IEEE Trans. EMC 45(3), 2003 [M]",
    valid_for=NO_EDGES,
)
def plate_field(
    points: ArrayLike,
    axes: ArrayLike,
    currents: ArrayLike,
    thickness: float,
    conductivity: float,
    frequency: float,
    relative_permeability: float = 1.0,
) -> PlateField:
    """Flux density of parallel line currents over an infinite plate, above and beyond it.

    points, shape (n, 2): Field points: y at or above 0, or at or below -thickness; none on a line. [m]
    axes, shape (m, 2): Positions (x_k, h_k) of the lines, h_k above 0 from the near face. [m]
    currents, shape (m,), complex: Rms phasors of the currents. [A]
    thickness: Thickness t of the plate, which fills -t <= y <= 0, above 0. [m]
    conductivity: Conductivity sigma, 0 or above. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns result: Rms phasors (Bx, By), shape (n, 2), and the estimate of the quadrature's error.

    Beyond the plate, at D from the far face: Bx = (mu0/2 pi) sum of i_k int T(u) exp(-u(h_k + D)) cos u(x - x_k) du
    over u from 0 to infinity, By the same with sin. Above it: the field of the lines alone and
    Bx = -(mu0/2 pi) sum of i_k int rho(u) exp(-u(h_k + y)) cos u(x - x_k) du, By with sin and +. Gauss panels in
    octaves along `TILT`, halved until the result settles; the work is the same for any distance. A real plate
    ends: if its half width is not much more than heights and distances, field passes round its edges.

    >>> result = plate_field([[0.0, 0.05]], [[0.0, 0.1]], [100.0], 1.0, 1e15, 50.0)
    >>> f"{1e6 * abs(result.field[0, 0]):.1f} uT: 400 uT of the line and 133.3 uT of its image"
    '533.3 uT: 400 uT of the line and 133.3 uT of its image'
    """
    waves = _waves_of(thickness, conductivity, frequency, relative_permeability)
    p = plane_points("points", points)
    a, i = _lines(axes, currents)
    over, beyond = p[:, 1] >= 0, p[:, 1] <= -thickness
    if not np.all(over | beyond):
        raise ValueError(f"points: number {int(np.argmin(over | beyond))} lies inside the plate")
    field = np.zeros(p.shape, dtype=np.complex128)
    errors = [0.0]
    if np.any(over):
        reflected, error = _wave_field(waves, 0, p[over, 0], p[over, 1], a, i)
        # Bx = dA/dy: the reflected wave falls upwards, against the direction of the others
        field[over] = reflected * (-1.0, 1.0) + line_field(p[over], a, i)
        errors.append(error)
    if np.any(beyond):
        field[beyond], error = _wave_field(waves, 1, p[beyond, 0], -p[beyond, 1] - thickness, a, i)
        errors.append(error)
    return PlateField(field, max(errors))


@formula(
    quantity="loss in a plate",
    unit="W/m",
    source="Derived from Poynting's and Parseval's theorems [D]",
    valid_for=NO_EDGES,
)
def plate_loss(
    axes: ArrayLike,
    currents: ArrayLike,
    thickness: float,
    conductivity: float,
    frequency: float,
    relative_permeability: float = 1.0,
) -> PlateLoss:
    """Eddy-current loss per metre in an infinite plate under parallel line currents.

    axes, shape (m, 2): Positions (x_k, h_k) of the lines, h_k above 0 from the near face. [m]
    currents, shape (m,), complex: Rms phasors of the currents. [A]
    thickness: Thickness t of the plate, above 0. [m]
    conductivity: Conductivity sigma, 0 or above. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns result: Loss and the estimate of the quadrature's error.

    P = (w mu0/4 pi) int (abs(S+)^2 + abs(S-)^2) (-Im rho(u))/u du over u from 0 to infinity,
    S+- = sum of i_k exp(-u h_k) exp(-+ i u x_k). P is the flow Re int E conj(H) dx through the near face by Parseval's
    theorem; the evanescent waves beyond the far face carry no power. A net current of the lines returns in the plate.
    Infinite linear plate; a real one ends, and its edges carry more.

    >>> f"{plate_loss([[0.0, 0.1]], [100.0], 0.02, 3.2e7, 5000.0).loss:.3f} W/m"
    '0.393 W/m'
    """
    waves = _waves_of(thickness, conductivity, frequency, relative_permeability)
    a, i = _lines(axes, currents)
    if conductivity == 0 or frequency == 0:
        return PlateLoss(0.0, 0.0)
    order = np.argsort(a[:, 0], kind="stable")
    x, h, i = a[order, 0], a[order, 1], i[order]

    def integrate(s: Floats, weights: Floats) -> Complexes:
        u = s * TILT
        pairs = _pairs(u, x, h, i)
        # abs(S+)^2 + abs(S-)^2 = pairs + conj(pairs) is real on the axis, so that 1 + rho may replace rho; it falls
        # towards u = 0. pairs is integrated along TILT, its conjugate along the mirrored direction, du/u = ds/s
        forward, backward = (1 + waves(direction).reflection for direction in (u, u.conj()))
        return np.array([np.sum(weights / s * (forward * pairs + backward * pairs.conj()))])

    value, error = _converge(integrate, 2 * float(h.min()), float(np.hypot(2 * h.max(), np.ptp(x))))
    scale = 2 * np.pi * frequency * mu_0 / (4 * np.pi)
    return PlateLoss(float(-scale * value[0].imag), float(scale * error))


def _waves_of(
    thickness: float, conductivity: float, frequency: float, relative_permeability: float
) -> Callable[[Complexes], PlateWaves]:
    """The function `plate_waves` of one plate; refuses its impossible inputs at once."""

    def waves(u: Complexes) -> PlateWaves:
        return plate_waves(u, thickness, conductivity, frequency, relative_permeability)

    waves(np.ones(1, dtype=np.complex128))
    return waves


def _pairs(u: Complexes, x: Floats, heights: Floats, currents: Complexes) -> Complexes:
    """Sum over k and l of Re(i_k conj i_l) exp(-u (h_k + h_l - i |x_k - x_l|)) for lines in the order of x. [A^2]"""
    total = np.zeros(u.shape, dtype=np.complex128)
    left = np.zeros((2, u.size), dtype=np.complex128)  # real and imaginary currents of all lines to the left of line k
    for k, current in enumerate(currents):
        if k:
            left *= np.exp(1j * u * (x[k] - x[k - 1]))  # from line k - 1 to line k
        line = np.array([[current.real], [current.imag]]) * np.exp(-u * heights[k])
        total += np.sum(line * (line + 2 * left), axis=0)
        left += line
    return total


def _lines(axes: ArrayLike, currents: ArrayLike) -> tuple[Floats, Complexes]:
    a = plane_points("axes", axes)
    if not np.all(a[:, 1] > 0):
        raise ValueError(f"axes: number {int(np.argmin(a[:, 1] > 0))} is not above the near face of the plate, y = 0")
    return a, phasors("currents", currents, a.shape[0])


def _wave_field(
    waves: Callable[[Complexes], PlateWaves],
    wave: int,
    x: Floats,
    gap: Floats,
    axes: Floats,
    currents: Complexes,
) -> tuple[Complexes, float]:
    """Integrals with cos (first column) and sin of the reflected (0) or the transmitted (1) wave. [T]"""
    across = x[:, None] - axes[:, 0]
    away = gap[:, None] + axes[:, 1] - 1j * np.abs(across)  # h - i d of each point from each line
    side = np.sign(across) * currents
    fall = (TILT * away).real

    def integrate(s: Floats, weights: Floats) -> Complexes:
        u = s * TILT
        forward = weights * TILT * waves(u)[wave]
        backward = weights * TILT.conj() * waves(u.conj())[wave]
        sums = np.zeros((2, *away.shape), dtype=np.complex128)
        for some in np.array_split(np.arange(s.size), max(1, s.size * away.size // AT_ONCE)):
            falling = np.exp(-np.multiply.outer(u[some], away))
            sums[0] += np.tensordot(forward[some], falling, axes=1)
            sums[1] += np.tensordot(backward[some].conj(), falling, axes=1).conj()
        plus, minus = sums  # exp(+iud) and exp(-iud): cos is half their sum, sin their difference over 2i
        return np.stack((((plus + minus) / 2) @ currents, np.sum((plus - minus) / 2j * side, axis=1)), axis=1)

    value, error = _converge(integrate, float(np.min(fall)), float(np.max(np.abs(away))))
    return mu_0 / (2 * np.pi) * value, mu_0 / (2 * np.pi) * error


def _converge(
    integrate: Callable[[Floats, Floats], Complexes], least_fall: float, largest: float
) -> tuple[Complexes, float]:
    """Integral over s from 0 of a function that falls like exp(-s least_fall) or faster, and its error.

    The spatial frequencies at which the plate changes its behaviour may be anywhere: each octave has panels, from far
    below the inverse of the largest distance on.
    """
    highest = DECAY / least_fall
    octaves = int(np.ceil(np.log2(highest * largest / LOWEST)))
    panels = np.concatenate(([0.0], highest * 2.0 ** np.arange(-octaves, 1)))
    nodes, weights = np.polynomial.legendre.leggauss(16)
    before = np.zeros(0, dtype=np.complex128)
    change = size = np.inf
    for _ in range(DIVISIONS + 1):
        half = np.diff(panels) / 2
        s = ((panels[:-1] + half)[:, None] + half[:, None] * nodes).ravel()
        value = integrate(s, (half[:, None] * weights).ravel())
        size = float(np.max(np.abs(value)))
        if before.size:
            change = float(np.max(np.abs(value - before)))
            if change <= RELATIVE_TOLERANCE * size:
                break
        before = value
        panels = np.sort(np.concatenate((panels, panels[:-1] + half)))
    if not change <= WORST_CHANGE * size:
        raise ArithmeticError(f"plate integral does not settle: it still changes by {change / size:.2g} of itself")
    return value, change
