"""Effective reluctivity of saturating steel for sinusoidal fields: one number for each amplitude, by a stated rule."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from scipy.interpolate import PchipInterpolator

from fem.magnetisation import Curve
from fem.mesh import Floats

QUARTER_POINTS = 128
"""Gauss-Legendre points over a quarter of a cycle."""
LOWEST, KNEE, HIGHEST = 1e-4, 3.0, 40.0
"""Peak flux densities of the table: evenly spaced to the second, geometrically from the first to the third. [T]"""


@dataclass(frozen=True)
class Rule:
    """How a cycle of a saturating steel is given one reluctivity."""

    meaning: str
    sinusoidal: str
    """The quantity taken to be sinusoidal: "B" or "H"."""
    of_peaks: Callable[[Curve, Floats], Floats]
    """Reluctivity [m/H] for peaks of that quantity above 0, [T] or [A/m], same shape."""


@dataclass(frozen=True)
class EffectiveReluctivity:
    """Effective reluctivity of a curve by a rule, as a table over the peak of the phasor B.

    The peak of a phasor is sqrt(2) times its rms value along the major axis of its ellipse: exact for a field that
    swings along a line, as in a thin wall; a turning field is taken to swing along its major axis.
    """

    flux_densities: Floats
    """Peak of the phasor B, rising from 0, shape (n,). [T]"""
    reluctivities: Floats
    """Peak of the phasor H over that of B, shape (n,). [m/H]"""
    peaks: Floats
    """Peak of B on the curve: that of the phasor where B is sinusoidal, B at the peak of H where H is. [T]"""

    @cached_property
    def _interpolations(self) -> tuple[PchipInterpolator, PchipInterpolator]:
        return (
            PchipInterpolator(self.flux_densities, self.reluctivities),
            PchipInterpolator(self.flux_densities, self.peaks),
        )

    def reluctivity(self, flux_density: Floats) -> Floats:
        """Effective reluctivity for peaks of the phasor B [T], constant beyond the table, same shape. [m/H]"""
        nu: Floats = self._interpolations[0](np.minimum(flux_density, self.flux_densities[-1]))
        return nu

    def on_load_line(self, flux_density: Floats, reluctivity: Floats, steepness: float) -> Floats:
        """Reluctivity where the table meets a load line through a point that may lie off the table.

        Parameters
        ----------
        flux_density : ndarray (m,)
            Peak of the phasor B that the surroundings drive at the reluctivity given. [T]
        reluctivity : ndarray (m,)
            Reluctivity that B was found with. [m/H]
        steepness : float
            -d ln B/d ln nu of the surroundings, between 0 (given flux) and 1 (given field). [-]

        Returns
        -------
        reluctivity : ndarray (m,)
            [m/H]

        Notes
        -----
        Bisection: H rises with B, so that ln nu + (ln B)/steepness rises too and there is one crossing.
        """
        start = np.maximum(flux_density, np.finfo(np.float64).tiny)
        residual = np.log(self.reluctivity(start) / reluctivity)
        farthest = -residual * steepness / (1 - steepness)  # of ln B - ln B_start, as d ln nu/d ln B is above -1
        low, high = np.minimum(farthest, 0), np.maximum(farthest, 0)
        for _ in range(50):
            middle = (low + high) / 2
            above = np.log(self.reluctivity(start * np.exp(middle)) / reluctivity) + middle / steepness > 0
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return self.reluctivity(start * np.exp(high))

    def peak(self, flux_density: Floats) -> Floats:
        """Peak of B on the curve for peaks of the phasor B [T], same shape. [T]"""
        last = self.flux_densities[-1]
        peak: Floats = self._interpolations[1](np.minimum(flux_density, last))
        result: Floats = peak * np.maximum(flux_density / last, 1.0)
        return result


def effective_reluctivity(curve: Curve, rule: str) -> EffectiveReluctivity:
    """Table of a curve's effective reluctivity.

    Parameters
    ----------
    curve : Curve
        A magnetisation curve.
    rule : str
        One of `RULES`.
    """
    if rule not in RULES:
        raise ValueError(f"no such rule of effective reluctivity: {rule!r}; there are {', '.join(RULES)}")
    chosen = RULES[rule]
    peaks = np.union1d(np.geomspace(LOWEST, HIGHEST, 400), np.linspace(0.0, KNEE, 801)[1:])
    if chosen.sinusoidal == "B":
        nu = chosen.of_peaks(curve, peaks)
        phasor = peaks
    else:
        h = curve.field_strength(peaks)
        nu = chosen.of_peaks(curve, h)
        phasor = h / nu
    start = curve.reluctivity(0.0)
    return EffectiveReluctivity(*(np.append(first, rest) for first, rest in ((0.0, phasor), (start, nu), (0.0, peaks))))


def _equal_peak(curve: Curve, b: Floats) -> Floats:
    """H(B) over B at the peak."""
    return curve.reluctivity(b)


def _fundamental_of_h(curve: Curve, b: Floats) -> Floats:
    """Fundamental of H over the sinusoidal B: (4/pi) int H(B sin) sin / B over a quarter cycle."""
    angle, weight = _quarter()
    h = curve.field_strength(b[:, None] * np.sin(angle))
    nu: Floats = 4 / np.pi * (h @ (weight * np.sin(angle))) / b
    return nu


def _fundamental_of_b(curve: Curve, h: Floats) -> Floats:
    """Sinusoidal H over the fundamental of B."""
    angle, weight = _quarter()
    b = curve.flux_density(h[:, None] * np.sin(angle))
    nu: Floats = h / (4 / np.pi * (b @ (weight * np.sin(angle))))
    return nu


def _mean_energy(curve: Curve, b: Floats) -> Floats:
    """Mean over the cycle of int H dB set equal to nu B^2/4; integrated by parts over the angle."""
    angle, weight = _quarter()
    h = curve.field_strength(b[:, None] * np.sin(angle))
    nu: Floats = 8 / np.pi * (h @ (weight * np.cos(angle) * (np.pi / 2 - angle))) / b
    return nu


def _mean_coenergy(curve: Curve, h: Floats) -> Floats:
    """Mean over the cycle of int B dH set equal to H^2/(4 nu); integrated by parts over the angle."""
    angle, weight = _quarter()
    b = curve.flux_density(h[:, None] * np.sin(angle))
    nu: Floats = h / (8 / np.pi * (b @ (weight * np.cos(angle) * (np.pi / 2 - angle))))
    return nu


def _peak_energy(curve: Curve, b: Floats) -> Floats:
    """Int H dB up to the peak set equal to nu B^2/2."""
    place, weight = np.polynomial.legendre.leggauss(QUARTER_POINTS)
    h = curve.field_strength(b[:, None] * (place + 1) / 2)
    nu: Floats = (h @ weight) / b
    return nu


def _quarter() -> tuple[Floats, Floats]:
    """Angles of a quarter of a cycle [rad] and their weights, which sum to pi/2."""
    place, weight = np.polynomial.legendre.leggauss(QUARTER_POINTS)
    return (place + 1) * np.pi / 4, weight * np.pi / 4


RULES: Mapping[str, Rule] = MappingProxyType(
    {
        "equal-peak": Rule("H(B)/B at the peak of B", "B", _equal_peak),
        "fundamental-h": Rule("fundamental of H for a sinusoidal B (describing function)", "B", _fundamental_of_h),
        "fundamental-b": Rule("fundamental of B for a sinusoidal H", "H", _fundamental_of_b),
        "mean-energy": Rule("equal magnetic energy, mean over the cycle of a sinusoidal B", "B", _mean_energy),
        "mean-coenergy": Rule("equal magnetic co-energy, mean over the cycle of a sinusoidal H", "H", _mean_coenergy),
        "peak-energy": Rule("equal magnetic energy at the peak of B", "B", _peak_energy),
    }
)
"""Rules by name."""

DEFAULT_RULE = "fundamental-b"
"""The rule that is used where none is named."""
