"""Effective reluctivity of saturating steel for sinusoidal fields: one number for each amplitude, by a stated rule.

The errors of the rules are those against a solution over time with the true curve on the same mesh, computed by this
project (tests/fem/time_domain.py; its time steps are exact to 0.1 %). Errors of the loss of the tray and of the
fundamental of the field at (1.5, 0.5) m, in percent, for an open channel 300 x 100 x 1.5 mm of 6 MS/m and three cables
56 mm apart, 50 Hz:

    steel      A    equal-peak    fundamental-h  fundamental-b  mean-energy   mean-coenergy  peak-energy
    mild      100   -0.1   0.0    -0.1   0.0     -0.1   0.0     -0.1   0.0    -0.1   0.0     -0.1   0.0
    mild      200   -0.1   0.0    -0.1   0.0     -0.1   0.0     -0.1   0.0    -0.1   0.0     -0.1   0.0
    mild      400   +0.1   0.0    -0.1   0.0     -0.1   0.0     -0.3   0.0    -0.3   0.0     -0.2   0.0
    mild      800   +1.9   0.0    +0.2   0.0     -0.4   0.0     -2.3   0.0    -2.8   0.0     -1.4   0.0
    mild     1600   +5.5  +0.1    +2.2   0.0     -2.0  -0.1     -4.8  -0.2   -13.3  -0.2     -1.9  -0.1
    benchmark 100   -0.7  -1.0    -0.3  +0.1     -0.6   0.0     -0.8  +2.7    -1.0  +2.2     -0.5  +1.8
    benchmark 200   -6.6  -1.2    -0.2  +0.3     -5.1  -0.1     +6.6  +3.5    -0.5  +2.5     +5.4  +2.4
    benchmark 400  -11.5  -1.9    -3.7  +0.6     -6.5  -0.6    +17.3  +6.0    +5.4  +2.7    +10.8  +4.1
    benchmark 800   -4.3  -2.4    -4.7  +0.3     -2.8  -1.3     +8.3  +7.4    +6.7  +1.8     +2.3  +4.6
    benchmark 1600  +7.2  -2.8    +2.5  -0.6     -2.5  -1.8     -6.8  +6.5   -11.4  +1.3     -3.3  +3.7

The largest peak B in the tray is within 6, 16, 15, 41, 28 and 34 % of the true one. At 1600 A in a covered tray of
3 mm:

    mild     1600   +5.9  +8.5    +2.3  +3.8     -2.6  -0.2     -5.0  -4.5   -14.4  -10.3    -1.9  -1.2
    benchmark 1600  +8.0  -7.4    +2.6  +6.4     -3.3  -0.2    -10.6  +59    -15.5  +26      -5.5  +37

Errors of the loss of a thick plate with a peak field of 100 to 10 000 A/m at its surface, worst of both steels, and
ratio of the loss to the theory of a rectangular curve (8 H0^2/(3 pi sigma delta); the solution over time tends to 1):

    worst, %        -15 to +29    -17 to 0       -4.8 to +1.7   -35 to +2     -28 to +25     -32 to +1
    ratio             0.81          0.81           0.91           0.84          1.28           0.83

The error of the loss in another section is estimated from a gap: the mean of |ln(nu_h/nu_b)|, weighted by the loss of
the steel, with the reluctivities of "fundamental-h" and "fundamental-b" at the local amplitude. The cycle of a real
section lies near these two. `rule_error` and `third_harmonic` cover every case of the open channel that was solved over
time. Gap, error of the loss, and third harmonic of the field over its fundamental at (2, 0) and (0, -0.5) m, in percent
(20 steps a half cycle, a coarse mesh):

    steel        A   gap   loss  third harmonic     steel        A   gap   loss  third harmonic
    mild       800   1.5   -0.6    0.4   0.5        DC01       100  10.1   -2.6    8.2   9.5
    mild      1600    34   -2.2    1.4   1.6        DC01       400   3.7   -3.2    7.3   9.5
    mild      2500    94   -3.8    2.6   4.0        DC01       800   1.5   -1.4    5.4   7.2
    benchmark  200   5.6   -5.3    3.9   4.9        DC01      1600  10.2   -1.6    2.7   3.7
    benchmark  400   7.2   -6.8    4.4   5.5        1010       400   0.7   -0.7    0.7   1.0
    benchmark  800   5.0   -3.1    3.5   4.4        1010      1600   5.4   -0.9    1.2   1.7
    benchmark 1600    58   -2.9    2.3   3.6        benchmark 2500   111   -5.1    3.8   6.0

The fundamental of the field is 0 to 3 % too low in these cases.

"fundamental-b" is the default because its error is nowhere large; "fundamental-h" is a little better for an open thin
channel. Without saturation (mild steel up to 400 A) all rules agree.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from fem.arrays import Floats
from fem.magnetisation import Curve

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

RULE_ERROR_PER_GAP, LARGEST_RULE_ERROR = 1.25, 0.07
"""Error of the loss by the default rule over the gap, and the largest error of all cases solved over time [D]. [-]"""
THIRD_HARMONIC_PER_GAP, LARGEST_THIRD_HARMONIC = 5.0, 0.10
"""The same for the third harmonic of the field over the fundamental, 0.5 m or more from a tray [D]. [-]"""
QUARTER_POINTS = 128
"""Gauss-Legendre points over a quarter of a cycle."""
LOWEST, KNEE, HIGHEST = 1e-4, 3.0, 40.0
"""Peak flux densities of the table: evenly spaced up to the knee, and geometrically from lowest to highest. [T]"""


@dataclass(frozen=True)
class Rule:
    """A definition of one reluctivity for a whole cycle of saturating steel."""

    meaning: str
    sinusoidal: str
    """The quantity taken to be sinusoidal: "B" or "H"."""
    of_peaks: Callable[[Curve, Floats], Floats]
    """Reluctivity [m/H] for peaks of that quantity above 0, [T] or [A/m], same shape."""


@dataclass(frozen=True)
class EffectiveReluctivity:
    """Effective reluctivity of a curve by a rule, as a table over the peak of the phasor B.

    The peak of a phasor is sqrt(2) times its rms value along the major axis of its ellipse. This is exact for a field
    that alternates along a line, as in a thin wall; a rotating field is treated as alternating along its major axis.
    """

    flux_densities: Floats
    """Peak of the phasor B, rising from 0, shape (n,). [T]"""
    reluctivities: Floats
    """Peak of the phasor H over that of B, shape (n,). [m/H]"""
    peaks: Floats
    """Peak of B over the cycle: the peak of the phasor or, for a sinusoidal H, B at the peak of H if that is lower. [T]

    B is flat-topped in saturated steel; while the permeability rises with H, it is nearer to a sine."""

    @cached_property
    def _interpolations(self) -> tuple[PchipInterpolator, PchipInterpolator]:
        from scipy.interpolate import PchipInterpolator  # slow to import

        return (
            PchipInterpolator(self.flux_densities, self.reluctivities),
            PchipInterpolator(self.flux_densities, self.peaks),
        )

    def reluctivity(self, flux_density: Floats) -> Floats:
        """Effective reluctivity for peaks of the phasor B [T], constant beyond the table, same shape. [m/H]"""
        return self._interpolations[0](np.minimum(flux_density, self.flux_densities[-1]))

    def on_load_line(self, flux_density: Floats, reluctivity: Floats, steepness: float) -> Floats:
        """Reluctivity at which the table meets a load line, drawn through a point that need not lie on the table.

        flux_density, shape (m,): Peak of the phasor B that the surroundings drive at the given reluctivity. [T]
        reluctivity, shape (m,): Reluctivity for which B was computed. [m/H]
        steepness: -d ln B/d ln nu of the surroundings, between 0 (given flux) and 1 (given field). [-]
        Returns reluctivity, shape (m,): [m/H]

        By bisection: H rises with B, so ln nu + (ln B)/steepness rises too, and there is one crossing.
        """
        start = np.maximum(flux_density, np.finfo(np.float64).tiny)
        residual = np.log(self.reluctivity(start) / reluctivity)
        farthest = -residual * steepness / (1 - steepness)  # bound of ln B - ln B_start, as d ln nu/d ln B > -1
        low, high = np.minimum(farthest, 0), np.maximum(farthest, 0)
        for _ in range(50):
            middle = (low + high) / 2
            above = np.log(self.reluctivity(start * np.exp(middle)) / reluctivity) + middle / steepness > 0
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return self.reluctivity(start * np.exp(high))

    def peak(self, flux_density: Floats) -> Floats:
        """Peak of B over the cycle for peaks of the phasor B [T], same shape. [T]"""
        last = self.flux_densities[-1]
        peak: Floats = self._interpolations[1](np.minimum(flux_density, last))
        result: Floats = peak * np.maximum(flux_density / last, 1.0)
        return result


def rule_error(gap: float) -> float:
    """Largest relative error of the loss by the default rule in steel with a given gap [-]. [-]"""
    return min(RULE_ERROR_PER_GAP * gap, LARGEST_RULE_ERROR)


def third_harmonic(gap: float) -> float:
    """Largest third harmonic of the field beside steel with a given gap [-], over the fundamental. [-]"""
    return min(THIRD_HARMONIC_PER_GAP * gap, LARGEST_THIRD_HARMONIC)


def rule_gap(curve: Curve, peaks: Floats) -> Floats:
    """Gap |ln(nu_h/nu_b)| of "fundamental-h" and "fundamental-b" for peaks of the phasor B [T], same shape. [-]"""
    of_h, of_b = (effective_reluctivity(curve, rule).reluctivity(peaks) for rule in ("fundamental-h", "fundamental-b"))
    return np.abs(np.log(of_h / of_b))


def effective_reluctivity(curve: Curve, rule: str) -> EffectiveReluctivity:
    """Table of a curve's effective reluctivity.

    rule: One of `RULES`.
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
    return EffectiveReluctivity(
        *(np.append(first, rest) for first, rest in ((0.0, phasor), (start, nu), (0.0, np.minimum(phasor, peaks))))
    )


def _equal_peak(curve: Curve, b: Floats) -> Floats:
    """H(B)/B at the peak."""
    return curve.reluctivity(b)


def _fundamental_of_h(curve: Curve, b: Floats) -> Floats:
    """Fundamental of H over the sinusoidal B: (4/pi) int H(B sin) sin / B over a quarter cycle."""
    angle, weight = _quarter()
    h = curve.field_strength(b[:, None] * np.sin(angle))
    return 4 / np.pi * (h @ (weight * np.sin(angle))) / b


def _fundamental_of_b(curve: Curve, h: Floats) -> Floats:
    """Sinusoidal H over the fundamental of B."""
    angle, weight = _quarter()
    b = curve.flux_density(h[:, None] * np.sin(angle))
    return h / (4 / np.pi * (b @ (weight * np.sin(angle))))


def _mean_energy(curve: Curve, b: Floats) -> Floats:
    """nu B^2/4 = mean over the cycle of int H dB, integrated by parts over the angle."""
    angle, weight = _quarter()
    h = curve.field_strength(b[:, None] * np.sin(angle))
    return 8 / np.pi * (h @ (weight * np.cos(angle) * (np.pi / 2 - angle))) / b


def _mean_coenergy(curve: Curve, h: Floats) -> Floats:
    """H^2/(4 nu) = mean over the cycle of int B dH, integrated by parts over the angle."""
    angle, weight = _quarter()
    b = curve.flux_density(h[:, None] * np.sin(angle))
    return h / (8 / np.pi * (b @ (weight * np.cos(angle) * (np.pi / 2 - angle))))


def _peak_energy(curve: Curve, b: Floats) -> Floats:
    """nu B^2/2 = int H dB up to the peak."""
    place, weight = np.polynomial.legendre.leggauss(QUARTER_POINTS)
    h = curve.field_strength(b[:, None] * (place + 1) / 2)
    return (h @ weight) / b


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
"""The rule that is used if none is named; the tables of this module give the reason."""
