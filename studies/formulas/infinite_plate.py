"""Field and loss of parallel line currents over an infinite plate, by their exact spectrum along the plate.

The plate fills -t <= y <= 0, the lines lie above it at (x_k, h_k), h_k > 0. At the spatial frequency u [1/m], with
g = sqrt(u^2 + j w mu sigma) and p = g/mu_r, continuity of A and of (1/mu) dA/dy at both faces gives a reflected wave
rho(u) e^{-u y} above and a transmitted wave T(u) e^{u (y + t)} below, each times the incident wave at y = 0. The
plate's voltage drop u_k is zero: it returns whatever net current the lines have.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy.constants import mu_0

from studies.formulas.inputs import (
    ComplexArray,
    FloatArray,
    phasors,
    plane_points,
    positive,
    zero_or_above,
)
from studies.formulas.line_field import line_field

RELATIVE_TOLERANCE = 1e-9
"""Change between two divisions of the quadrature, over the greatest value, at which it stops. [-]"""
WORST_CHANGE = 1e-6
"""The same where it gives up and raises; reached only where almost all of the integral cancels. [-]"""


@dataclass(frozen=True)
class PlateField:
    """Field of line currents over an infinite plate."""

    field: ComplexArray
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


def plate_transmission(
    spatial_frequency: ArrayLike,
    thickness: float,
    conductivity: float,
    frequency: float,
    relative_permeability: float = 1.0,
) -> ComplexArray:
    """Transmission of an infinite plate for a field that varies along it: beyond the plate over before it.

    Parameters
    ----------
    spatial_frequency : array_like
        Spatial frequency u along the plate, above 0. [1/m]
    thickness : float
        Thickness t, above 0. [m]
    conductivity : float
        Conductivity sigma, 0 or above. [S/m]
    frequency : float
        Frequency f, 0 or above. [Hz]
    relative_permeability : float
        Relative permeability mu_r, above 0. [-]

    Returns
    -------
    transmission : ndarray, complex
        T(u), field at the far face over the incident field at the near face; exp(-u t) without plate. [-]

    Notes
    -----
    T = 4 u p/[(p + u)^2 exp(g t) - (p - u)^2 exp(-g t)], g = sqrt(u^2 + j w mu sigma), p = g/mu_r. Exact for a linear
    infinite plate.

    References
    ----------
    Derived [D]; as in J. R. Moser, IEEE Trans. EMC-9, 1967 and R. G. Olsen, M. Istenic, P. Zunko, IEEE Trans.
    EMC 45(3), 2003 [M]
    """
    return _Plate.of(thickness, conductivity, frequency, relative_permeability).waves(spatial_frequency)[1]


def plate_reflection(
    spatial_frequency: ArrayLike,
    thickness: float,
    conductivity: float,
    frequency: float,
    relative_permeability: float = 1.0,
) -> ComplexArray:
    """Reflection of an infinite plate for a field that varies along it.

    Parameters
    ----------
    spatial_frequency : array_like
        Spatial frequency u along the plate, above 0. [1/m]
    thickness : float
        Thickness t, above 0. [m]
    conductivity : float
        Conductivity sigma, 0 or above. [S/m]
    frequency : float
        Frequency f, 0 or above. [Hz]
    relative_permeability : float
        Relative permeability mu_r, above 0. [-]

    Returns
    -------
    reflection : ndarray, complex
        rho(u), reflected over incident vector potential at the near face; 0 without plate, -1 for a perfect
        conductor, (mu_r - 1)/(mu_r + 1) for a thick static magnetic plate. [-]

    Notes
    -----
    rho = (u^2 - p^2)[exp(g t) - exp(-g t)]/[(p + u)^2 exp(g t) - (p - u)^2 exp(-g t)], g and p as in
    `plate_transmission`. Exact for a linear infinite plate.

    References
    ----------
    Derived [D]
    """
    return _Plate.of(thickness, conductivity, frequency, relative_permeability).waves(spatial_frequency)[0]


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

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Where the field is wanted: y at or above 0, or at or below -thickness; none on a line. [m]
    axes : array_like, shape (m, 2)
        Positions (x_k, h_k) of the lines, h_k above 0 from the near face. [m]
    currents : array_like, shape (m,), complex
        Rms phasors of the currents. [A]
    thickness : float
        Thickness t of the plate, which fills -t <= y <= 0, above 0. [m]
    conductivity : float
        Conductivity sigma, 0 or above. [S/m]
    frequency : float
        Frequency f, 0 or above. [Hz]
    relative_permeability : float
        Relative permeability mu_r, above 0. [-]

    Returns
    -------
    result : PlateField
        Rms phasors (Bx, By), shape (n, 2), and the estimate of the quadrature's error. [T]

    Notes
    -----
    Beyond the plate, at D from the far face: Bx = (mu0/2 pi) sum of i_k int T(u) exp(-u(h_k + D)) cos u(x - x_k) du
    over u from 0 to infinity, By the same with sin. Above it: the lines' own field, and
    Bx = -(mu0/2 pi) sum of i_k int rho(u) exp(-u(h_k + y)) cos u(x - x_k) du, By with sin and +. Gauss panels, halved
    until the result stands still. A real plate ends: where its half width is not much more than heights and
    distances, field passes round its edges.

    References
    ----------
    Derived [D]; as in R. G. Olsen, M. Istenic, P. Zunko, IEEE Trans. EMC 45(3), 2003 [M]
    """
    plate = _Plate.of(thickness, conductivity, frequency, relative_permeability)
    p = plane_points("points", points)
    a, i = _lines(axes, currents)
    over, beyond = p[:, 1] >= 0, p[:, 1] <= -plate.thickness
    if not np.all(over | beyond):
        raise ValueError(f"points: number {int(np.argmin(over | beyond))} lies inside the plate")
    field = np.zeros(p.shape, dtype=np.complex128)
    error = 0.0
    for number, chosen in enumerate((over, beyond)):
        if not np.any(chosen):
            continue
        x, gap = p[chosen, 0], p[chosen, 1] if number == 0 else -p[chosen, 1] - plate.thickness
        sign = -1.0 if number == 0 else 1.0  # the reflected wave falls upwards: its dA/dy has the other sign
        part, part_error = _wave_field(plate, number, x, gap, a, i)
        field[chosen] = part * np.array([sign, 1.0])
        error = max(error, part_error)
    if np.any(over):
        field[over] += line_field(p[over], a, i)
    return PlateField(field, error)


def plate_loss(
    axes: ArrayLike,
    currents: ArrayLike,
    thickness: float,
    conductivity: float,
    frequency: float,
    relative_permeability: float = 1.0,
) -> PlateLoss:
    """Eddy-current loss per metre in an infinite plate under parallel line currents.

    Parameters
    ----------
    axes : array_like, shape (m, 2)
        Positions (x_k, h_k) of the lines, h_k above 0 from the near face. [m]
    currents : array_like, shape (m,), complex
        Rms phasors of the currents. [A]
    thickness : float
        Thickness t of the plate, above 0. [m]
    conductivity : float
        Conductivity sigma, 0 or above. [S/m]
    frequency : float
        Frequency f, 0 or above. [Hz]
    relative_permeability : float
        Relative permeability mu_r, above 0. [-]

    Returns
    -------
    result : PlateLoss
        Loss and the estimate of the quadrature's error. [W/m]

    Notes
    -----
    P = (w mu0/4 pi) int (abs(S+)^2 + abs(S-)^2) (-Im rho(u))/u du over u from 0 to infinity,
    S+- = sum of i_k exp(-u h_k) exp(-+ i u x_k). It is the flow Re int E conj(H) dx through the near face by Parseval's
    theorem; the evanescent waves beyond the far face carry none. A net current of the lines returns in the plate.
    Infinite linear plate; a real one ends, and its edges carry more.

    References
    ----------
    Derived from Poynting's and Parseval's theorems [D]
    """
    plate = _Plate.of(thickness, conductivity, frequency, relative_permeability)
    a, i = _lines(axes, currents)
    lowest = float(np.min(a[:, 1]))
    x = a[:, 0] - np.mean(a[:, 0])

    def integrate(u: FloatArray, weights: FloatArray) -> ComplexArray:
        plus, minus = _spectrum(u, x, a[:, 1], i)
        absorbed = -plate.waves(u)[0].imag / u
        total = np.sum(weights * absorbed * (np.abs(plus) ** 2 + np.abs(minus) ** 2))
        return np.array([total], dtype=np.complex128)

    value, error = _converge(integrate, 2 * lowest, 2 * float(np.max(np.abs(x))))
    scale = plate.omega * mu_0 / (4 * np.pi)
    return PlateLoss(float(scale * value[0].real), float(scale * error))


@dataclass(frozen=True)
class _Plate:
    thickness: float
    conductivity: float
    omega: float
    relative_permeability: float

    @classmethod
    def of(cls, thickness: float, conductivity: float, frequency: float, relative_permeability: float) -> "_Plate":
        return cls(
            float(positive("thickness", thickness)),
            float(zero_or_above("conductivity", conductivity)),
            2 * np.pi * float(zero_or_above("frequency", frequency)),
            float(positive("relative_permeability", relative_permeability)),
        )

    def waves(self, spatial_frequency: ArrayLike) -> tuple[ComplexArray, ComplexArray]:
        """Reflection rho(u) and transmission T(u), written with falling exponentials only."""
        u = positive("spatial_frequency", spatial_frequency)
        squared = 1j * self.omega * mu_0 * self.relative_permeability * self.conductivity
        g = np.sqrt(u**2 + squared)
        p = g / self.relative_permeability
        through = np.exp(-g * self.thickness)
        mu_r = self.relative_permeability
        # u - p and the denominator without cancellation where the plate is almost nothing
        difference = (u**2 * (mu_r**2 - 1) - squared) / (mu_r**2 * (u + p))
        crossed = -np.expm1(-2 * g * self.thickness)
        bracket = 4 * p * u + difference**2 * crossed
        reflection: ComplexArray = difference * (u + p) * crossed / bracket
        transmission: ComplexArray = 4 * u * p * through / bracket
        return reflection, transmission


def _lines(axes: ArrayLike, currents: ArrayLike) -> tuple[FloatArray, ComplexArray]:
    a = plane_points("axes", axes)
    if not np.all(a[:, 1] > 0):
        raise ValueError(f"axes: number {int(np.argmin(a[:, 1] > 0))} is not above the near face of the plate, y = 0")
    return a, phasors("currents", currents, a.shape[0])


def _spectrum(
    u: FloatArray, x: FloatArray, heights: FloatArray, currents: ComplexArray
) -> tuple[ComplexArray, ComplexArray]:
    """S+ and S-: the lines' spectrum at y = 0 for waves exp(+iux) and exp(-iux)."""
    fall = np.exp(-np.outer(u, heights))
    turn = np.exp(-1j * np.outer(u, x))
    plus: ComplexArray = (fall * turn) @ currents
    minus: ComplexArray = (fall * np.conj(turn)) @ currents
    return plus, minus


def _wave_field(
    plate: _Plate, wave: int, x: FloatArray, gap: FloatArray, axes: FloatArray, currents: ComplexArray
) -> tuple[ComplexArray, float]:
    """Integrals with cos (first column) and sin of the reflected (0) or the transmitted (1) wave. [T]"""
    middle = float(np.mean(axes[:, 0]))
    x, lines = x - middle, axes[:, 0] - middle

    def integrate(u: FloatArray, weights: FloatArray) -> ComplexArray:
        total = np.zeros((x.size, 2), dtype=np.complex128)
        for some in np.array_split(np.arange(u.size), max(1, u.size * x.size // 2_000_000)):
            plus, minus = _spectrum(u[some], lines, axes[:, 1], currents)
            factor = weights[some] * plate.waves(u[some])[wave]
            waves = np.exp(np.outer(1j * x - gap, u[some]))
            forward = waves @ (factor * plus)
            backward = np.conj(
                waves @ np.conj(factor * minus)
            )  # exp(-iux - u gap) is the conjugate of exp(iux - u gap)
            total += np.stack(((forward + backward) / 2, (forward - backward) / 2j), axis=1)
        return total

    reach = float(np.min(gap) + np.min(axes[:, 1]))
    value, error = _converge(integrate, reach, float(np.max(np.abs(x)) + np.max(np.abs(lines))))
    return mu_0 / (2 * np.pi) * value, mu_0 / (2 * np.pi) * error


def _converge(
    integrate: Callable[[FloatArray, FloatArray], ComplexArray], reach: float, width: float
) -> tuple[ComplexArray, float]:
    """Integral over u from 0 of something that falls like exp(-u reach) and turns like exp(iu width), and its error."""
    highest = 40 / reach  # exp(-40) = 4e-18: nothing is left above
    # the plate's own scales of u may be anywhere: each octave gets its panels, and none below is left out
    octaves = np.concatenate(([0.0], highest * 2.0 ** np.arange(-45, 1)))
    edges = [octaves[:1]]
    for low, high in pairwise(octaves):
        count = max(1, int(np.ceil((high - low) * width / (4 * np.pi))))  # two turns in a panel of 16 nodes
        edges.append(np.linspace(low, high, count + 1)[1:])
    panels = np.concatenate(edges)
    nodes, weights = np.polynomial.legendre.leggauss(16)
    before = np.zeros(0, dtype=np.complex128)
    change = np.inf
    for _ in range(5):
        half = np.diff(panels) / 2
        u = ((panels[:-1] + half)[:, None] + half[:, None] * nodes).ravel()
        value = integrate(u, (half[:, None] * weights).ravel())
        largest = float(np.max(np.abs(value)))
        if before.size:
            change = float(np.max(np.abs(value - before)))
            if change <= RELATIVE_TOLERANCE * largest:
                break
        before = value
        panels = np.sort(np.concatenate((panels, panels[:-1] + half)))
    if change > WORST_CHANGE * largest:
        raise ArithmeticError(f"plate integral does not settle: it still changes by {change / largest:.2g} of itself")
    return value, change
