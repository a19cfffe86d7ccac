"""Magnetisation curves of saturating steel without hysteresis: H of B, its slope and the reluctivity."""

from __future__ import annotations

import cmath
import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.constants import mu_0

if TYPE_CHECKING:
    from scipy.interpolate import CubicHermiteSpline

NU_0 = 1 / mu_0
"""Reluctivity of air, which is also the slope dH/dB of saturated steel. [m/H]"""
SATURATION = 2.15
"""Saturation B - mu0 H of iron at room temperature [M]. [T]"""
SEARCH_POINTS = 4001
"""Samples of a curve; its inverse is computed by Newton's method between two of them."""


class Curve(ABC):
    """A rising curve H(B) of single-valued, isotropic steel, for magnitudes B of 0 and above.

    Beyond its last flux density it continues with the slope of air, so that it never overflows.
    """

    @property
    @abstractmethod
    def last_flux_density(self) -> float:
        """Flux density beyond which the curve has the slope of air, infinite if it never has. [T]"""

    @abstractmethod
    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        """H [A/m] and dH/dB [m/H] at flux densities [T] up to the last one."""

    def field_strength(self, flux_density: ArrayLike) -> Floats:
        """H at flux densities B [T] of 0 or above, same shape. [A/m]"""
        b = _magnitudes("flux_density", flux_density, "T")
        within = np.minimum(b, self.last_flux_density)
        beyond = np.where(b > within, b - within, 0.0)
        return self.rising(within)[0] + NU_0 * beyond

    def slope(self, flux_density: ArrayLike) -> Floats:
        """Differential reluctivity dH/dB at flux densities B [T] of 0 or above, same shape. [m/H]"""
        b = _magnitudes("flux_density", flux_density, "T")
        within = np.minimum(b, self.last_flux_density)
        return np.where(b > within, NU_0, self.rising(within)[1])

    def reluctivity(self, flux_density: ArrayLike) -> Floats:
        """Reluctivity H/B at flux densities B [T] of 0 or above; the slope at 0; same shape. [m/H]"""
        b = _magnitudes("flux_density", flux_density, "T")
        small = b < 1e-9  # H/B and dH/dB agree to rounding there
        safe = np.where(small, 1.0, b)
        return np.where(small, self.slope(b), self.field_strength(safe) / safe)

    def flux_density(self, field_strength: ArrayLike) -> Floats:
        """B at field strengths H [A/m] of 0 or above, the inverse of the curve, same shape. [T]"""
        h = _magnitudes("field_strength", field_strength, "A/m")
        grid, of_grid = self._samples
        within = np.minimum(h, of_grid[-1])
        cell = np.clip(np.searchsorted(of_grid, within), 1, len(grid) - 1)
        low, high = grid[cell - 1], grid[cell]
        b = low + (high - low) * (within - of_grid[cell - 1]) / (of_grid[cell] - of_grid[cell - 1])
        for _ in range(4):  # quadratic convergence from a sample nearby: exact to rounding after three
            value, slope = self.rising(b)
            b = np.clip(b - (value - within) / slope, low, high)
        result: Floats = b + mu_0 * (h - within)
        return result

    @property
    def initial_relative_permeability(self) -> float:
        """Limit of B/(mu0 H) as both tend to 0. [-]"""
        return float(NU_0 / self.slope(0.0))

    @cached_property
    def _samples(self) -> tuple[Floats, Floats]:
        """Flux densities [T] and field strengths [A/m] between which the inverse is computed."""
        grid = np.linspace(0.0, self.last_flux_density, SEARCH_POINTS)
        return grid, self.rising(grid)[0]


@dataclass(frozen=True)
class BrauerCurve(Curve):
    """H = (k1 exp(k2 B^2) + k3) B until its slope is that of air, or up to a stated flux density if that is lower.

    J. R. Brauer, Simple equations for the magnetization and reluctivity curves of steel, IEEE Trans. Magnetics
    MAG-11(1):81, 1975 [C]
    """

    k1: float
    """Above 0. [m/H]"""
    k2: float
    """Above 0. [1/T^2]"""
    k3: float
    """0 or above. [m/H]"""
    valid_to: float = math.inf
    """Largest flux density at which the formula is used. [T]"""

    def __post_init__(self) -> None:
        """Refuse constants that no steel has."""
        for name, least in (("k1", 0.0), ("k2", 0.0), ("k3", -0.0), ("valid_to", 0.0)):
            value = getattr(self, name)
            allowed = value >= 0 if name == "k3" else value > least
            if not allowed or (name != "valid_to" and not math.isfinite(value)):
                raise ValueError(
                    f"{name} of a Brauer curve must be {'0 or above' if name == 'k3' else 'above 0'}: {value}"
                )
        if self.k1 + self.k3 > NU_0:
            raise ValueError(
                f"k1 + k3 of a Brauer curve is {self.k1 + self.k3:g} m/H, above the reluctivity of air, {NU_0:.6g} m/H"
            )

    @cached_property
    def _last(self) -> float:
        """Flux density [T] at which dH/dB = 1/mu0, or the stated one if that is lower."""
        low, high = (
            0.0,
            math.log(NU_0 / self.k1),
        )  # of k2 B^2: exp alone has the slope of air at the upper end
        for _ in range(100):
            middle = (low + high) / 2
            steep = self.k1 * math.exp(middle) * (1 + 2 * middle) + self.k3 > NU_0
            low, high = (low, middle) if steep else (middle, high)
        return min(math.sqrt(low / self.k2), self.valid_to)

    @property
    def last_flux_density(self) -> float:
        """Flux density at which the slope is that of air, or the stated one if that is lower. [T]"""
        return self._last

    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        """H [A/m] and dH/dB [m/H] of the formula at flux densities [T]."""
        exponent = self.k2 * flux_density**2
        grown = self.k1 * np.exp(exponent)
        return (grown + self.k3) * flux_density, grown * (1 + 2 * exponent) + self.k3


@dataclass(frozen=True)
class TabulatedCurve(Curve):
    """Measured curve: points joined by monotone cubic interpolation (PCHIP) of H over B.

    H(B) rises strictly and has a continuous slope up to the last point. Beyond it the slope is that of air, with a bend
    if the table ends before the steel is saturated.
    """

    flux_densities: tuple[float, ...]
    """B of each point, rising from 0, at least three. [T]"""
    field_strengths: tuple[float, ...]
    """H of each point, rising from 0. [A/m]"""

    def __post_init__(self) -> None:
        """Refuse arrays that are no curve; `fem.curve_data.curve_from_points` checks input in detail."""
        b, h = np.asarray(self.flux_densities), np.asarray(self.field_strengths)
        if b.shape != h.shape or len(b) < 3:
            raise ValueError(f"a curve needs at least 3 points of B and as many of H: {len(b)} and {len(h)}")
        if b[0] != 0 or h[0] != 0 or not (np.all(np.diff(b) > 0) and np.all(np.diff(h) > 0)):
            raise ValueError("B and H of a curve must both rise strictly from 0")

    @property
    def last_flux_density(self) -> float:
        """B of the last point. [T]"""
        return self.flux_densities[-1]

    @cached_property
    def _interpolation(self) -> tuple[CubicHermiteSpline, CubicHermiteSpline]:
        from scipy.interpolate import CubicHermiteSpline, PchipInterpolator  # slow to import

        b, h = np.asarray(self.flux_densities), np.asarray(self.field_strengths)
        slopes = PchipInterpolator(b, h).derivative()(b)
        # PCHIP may end in a slope of 0, an infinite permeability; slopes up to 3 secants keep the cubic rising
        secants = np.diff(h) / np.diff(b)
        slopes[0] = np.clip(slopes[0], secants[0] / 2, 3 * secants[0])
        slopes[-1] = np.clip(slopes[-1], secants[-1] / 2, max(NU_0, secants[-1]))
        curve = CubicHermiteSpline(b, h, slopes)
        return curve, curve.derivative()

    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        """H [A/m] and dH/dB [m/H] at flux densities [T] within the table."""
        curve, derivative = self._interpolation
        return curve(flux_density), derivative(flux_density)


@dataclass(frozen=True)
class RationalCurve(Curve):
    """Relative permeability 1 + (mu_i - 1 + ca b)/(1 + cb b + b^n) with b = B/Bm, until iron is saturated.

    Form and constants: Modelica Standard Library, Magnetic.FluxTubes, fits of measured curves [C]
    """

    initial: float
    """mu_i, above 0. [-]"""
    knee: float
    """Bm, above 0. [T]"""
    ca: float
    """Above 0. [-]"""
    cb: float
    """Above 0. [-]"""
    exponent: float
    """n, above 1. [-]"""

    def __post_init__(self) -> None:
        """Refuse constants that no steel has."""
        if not (min(self.initial, self.knee, self.ca, self.cb) > 0 and self.exponent > 1):
            raise ValueError(f"constants of a rational curve must be above 0, its exponent above 1: {self}")

    @cached_property
    def _last(self) -> float:
        """First flux density at which dH/dB is 1/mu0 or B - mu0 H is that of saturated iron. [T]"""
        b = np.linspace(0, 2 * SATURATION, SEARCH_POINTS)
        h, slope = self.rising(b)
        return float(b[np.argmax((b - mu_0 * h > SATURATION) | (slope > NU_0))])

    @property
    def last_flux_density(self) -> float:
        """Flux density at which the steel is saturated. [T]"""
        return self._last

    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        """H [A/m] and dH/dB [m/H] of the formula at flux densities [T]."""
        b = np.asarray(flux_density) / self.knee
        above, below = self.initial - 1 + self.ca * b, 1 + self.cb * b + b**self.exponent
        mu = 1 + above / below
        rise = (self.ca - above / below * (self.cb + self.exponent * b ** (self.exponent - 1))) / below
        nu = NU_0 / mu
        return nu * flux_density, nu * (1 - b * rise / mu)


@dataclass(frozen=True)
class KneeTailCurve(Curve):
    """A tabulated curve that continues as B = mu0 H + a H^2 + b H + c until the magnetisation is largest.

    The last point of the table is the first of the tail. The magnetisation a H^2 + b H + c is largest at H = -b/(2a);
    beyond it the slope is that of air.
    """

    table: TabulatedCurve
    a: float
    """Below 0. [T m^2/A^2]"""
    b: float
    """Above 0. [T m/A]"""
    c: float
    """[T]"""

    def __post_init__(self) -> None:
        """Refuse a tail that does not start at the end of the table."""
        join, h = self.table.flux_densities[-1], self.table.field_strengths[-1]
        start = mu_0 * h + (self.a * h + self.b) * h + self.c
        if not (self.a < 0 < self.b and h < -self.b / (2 * self.a) and abs(start - join) < 1e-9):
            raise ValueError(f"the tail starts at {start:.6g} T, H = {h:g} A/m; the table ends at {join:.6g} T")

    @property
    def last_flux_density(self) -> float:
        """Flux density at which the magnetisation is largest. [T]"""
        top = -self.b / (2 * self.a)
        return mu_0 * top + self.c + self.b * top / 2

    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        """H [A/m] and dH/dB [m/H] of the table and of its tail at flux densities [T]."""
        join = self.table.last_flux_density
        of_table, slope_of_table = self.table.rising(np.minimum(flux_density, join))
        linear = self.b + mu_0
        # the root of a H^2 + linear H + c - B = 0 with dB/dH = 2 a H + linear = root above 0
        root = np.sqrt(linear**2 - 4 * self.a * (self.c - np.clip(flux_density, join, self.last_flux_density)))
        in_tail = flux_density > join
        return (
            np.where(in_tail, (root - linear) / (2 * self.a), of_table),
            np.where(in_tail, 1 / root, slope_of_table),
        )


def _magnitudes(name: str, values: ArrayLike, unit: str) -> Floats:
    """Values as an array, none below 0 or undefined."""
    array = np.asarray(values, dtype=np.float64)
    if not np.all(array >= 0):
        raise ValueError(f"{name} must be a number of 0 {unit} or above: {array[~(array >= 0)].flat[0]}")
    return array


@dataclass(frozen=True)
class Steel:
    """Magnetic behaviour of a saturating region; its conductivity is that of its material."""

    curve: Curve
    loss_angle: float = 0.0
    """Angle by which B lags H at every amplitude (hysteresis), 0 to below pi/2; nu = nu_eff e^{j angle}. [rad]"""
    stated_permeability: float | None = None
    """Relative permeability of the linear answer; the curve's initial one if not given. [-]"""
    other: Curve | None = None
    """Curve of another steel of the same use, which shows how far the answers depend on the steel."""

    def __post_init__(self) -> None:
        """Refuse values that no passive material has."""
        if not 0 <= self.loss_angle < math.pi / 2:
            raise ValueError(f"loss_angle of a steel must lie from 0 to below pi/2: {self.loss_angle} rad")
        stated = self.stated_permeability
        if stated is not None and not (stated > 0 and math.isfinite(stated)):
            raise ValueError(f"stated_permeability of a steel must be above 0: {stated}")

    @property
    def linear_permeability(self) -> complex:
        """Relative permeability of the linear answer, with the loss angle. [-]"""
        size = self.stated_permeability or self.curve.initial_relative_permeability
        return size * cmath.exp(-1j * self.loss_angle)
