"""Least squares of a survey: every minimum of chi-square, with its covariance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import product

import numpy as np

from fem.arrays import Complexes, Floats, Ints

STARTS = (0.3, 3.0, 30.0)
"""Residual currents that the search starts from, beside none. [% of the largest phase current]"""
ANGLES = 8
SAME = 1e-3
"""Minima are one if no computed reading differs by this share of its uncertainty, no number by a hundredth."""


Spline = Callable[[float, int], Complexes]
"""An array as a function of a number, and its derivative of an order."""


@dataclass(frozen=True)
class Varied:
    """`own` and `residual` of a model as functions of the logarithm of a permeability over the stated one."""

    own: Spline
    residual: Spline
    low: float
    """Ends of the range; 0 is what was stated, within it or not. [-]"""
    high: float


@dataclass(frozen=True)
class Model:
    """The readings as a function of load factors, residual currents and a permeability, all numbers near one.

    Numbers: the load factor of each of c circuits; then real and imaginary part of the residual current of each, in
    `ampere`, if `residual` is not empty; then the logarithm of the permeability over the stated one, if it is `varied`.
    """

    own: Complexes
    """(Bx, By) of each circuit at its stated currents, by frequency, shape (f, q, 2, c). [T]"""
    residual: Complexes
    """Per ampere of residual current, shape (q, 2, c), or (q, 2, 0) if none is fitted. [T/A]"""
    loads: Floats
    """Load of each reading, shape (q,). [-]"""
    axes: Ints
    """0 for the resultant, 1 for x, 2 for y, shape (q,)."""
    ampere: float
    """Unit of residual currents. [A]"""
    varied: Varied | None = None

    @property
    def circuits(self) -> int:
        """Number c of circuits."""
        return int(self.own.shape[3])

    def as_drawn(self) -> Floats:
        """Load factors 1, no residual current, the permeability as stated."""
        others = 2 * self.residual.shape[2] + (self.varied is not None)
        return np.concatenate([np.ones(self.circuits), np.zeros(others)])

    def place_of_residual(self, circuit: int) -> int:
        """Index of the real part of a circuit's residual current."""
        return self.circuits + 2 * circuit

    def residual_current(self, numbers: Floats, circuit: int) -> complex | None:
        """Residual current of a circuit [A]; None if none is fitted."""
        if not self.residual.shape[2]:
            return None
        at = self.place_of_residual(circuit)
        return complex(numbers[at], numbers[at + 1]) * self.ampere

    def fields(self, numbers: Floats) -> Floats:
        """Rms field of each reading, shape (q,). [T]"""
        return self._with_slopes(numbers)[0]

    def slopes(self, numbers: Floats) -> Floats:
        """Derivative of each reading by each number, shape (q, numbers). [T]"""
        return self._with_slopes(numbers)[1]

    def _with_slopes(self, numbers: Floats) -> tuple[Floats, Floats]:
        own, residual = self._maps(numbers, 0)
        field = self._field(own, residual, numbers)
        size = np.sqrt((np.abs(field) ** 2).sum(axis=(0, 2)))
        # d|B| = Re(conj(B) dB)/|B|
        towards = field.conj() / np.maximum(size, 1e-300)[None, :, None]
        by_load = np.einsum("fqi,fqic->qc", towards, own * self.loads[None, :, None, None]).real
        by_current = np.einsum("qi,qic->qc", towards[0], residual * self.ampere)
        both = np.stack([by_current.real, -by_current.imag], axis=2).reshape(len(size), -1)
        slopes = [by_load, both]
        if self.varied is not None:
            turned = self._field(*self._maps(numbers, 1), numbers)
            slopes.append(np.einsum("fqi,fqi->q", towards, turned).real[:, None])
        return size, np.concatenate(slopes, axis=1)

    def _maps(self, numbers: Floats, order: int) -> tuple[Complexes, Complexes]:
        """`own` and `residual` at a permeability, or their derivatives by its logarithm."""
        if self.varied is None:
            return self.own, self.residual
        at = float(np.clip(numbers[-1], self.varied.low, self.varied.high)) if numbers[-1] else 0.0
        if at == 0 and order == 0:
            return self.own, self.residual
        return self.varied.own(at, order), self.varied.residual(at, order)

    def _field(self, own: Complexes, residual: Complexes, numbers: Floats) -> Complexes:
        """Components that each reading is of, by frequency, shape (f, q, 2). [T]"""
        c = self.circuits
        field = (own * self.loads[None, :, None, None]) @ numbers[:c].astype(complex)
        if residual.shape[2]:
            field[0] += (residual * self.ampere) @ (numbers[c : 3 * c : 2] + 1j * numbers[c + 1 : 3 * c : 2])
        return np.asarray(field * np.stack([self.axes != 2, self.axes != 1], axis=1))


@dataclass(frozen=True)
class Minimum:
    """One minimum of chi-square."""

    numbers: Floats
    chi_square: float
    covariance: Floats | None
    """Of the numbers; None if the readings leave some of them open."""


def minima(model: Model, measured: Floats, spread: Floats, alike: float) -> tuple[Minimum, ...]:
    """The best minimum, then every other whose chi-square is larger by less than `alike`.

    measured, spread, shape (q,): Readings and their standard uncertainties. [T]
    """
    found: list[Minimum] = []
    for start in _starts(model):
        numbers, chi_square = _least(model, measured, spread, start)
        minimum = Minimum(numbers, chi_square, _covariance(_slopes(model, spread, numbers)))
        if not any(_same(model, minimum, other, spread) for other in found):
            found.append(minimum)
    found.sort(key=lambda minimum: minimum.chi_square)
    return tuple(minimum for minimum in found if minimum.chi_square <= found[0].chi_square + alike)


def _least(model: Model, measured: Floats, spread: Floats, start: Floats) -> tuple[Floats, float]:
    """The minimum that is reached from a start, and its chi-square."""
    from scipy.optimize import least_squares  # takes 0.1 s to load, and few studies have a survey

    bounds = np.full((2, len(start)), [[-np.inf], [np.inf]])
    if model.varied is not None:
        bounds[:, -1] = model.varied.low, model.varied.high
        start = np.append(start[:-1], np.clip(start[-1], *(bounds[:, -1] + (1e-6, -1e-6))))
    solved = least_squares(
        partial(_deviations, model, measured, spread),
        start,
        jac=partial(_slopes, model, spread),
        bounds=(bounds[0], bounds[1]),
        method="lm" if len(measured) >= len(start) and model.varied is None else "trf",
        xtol=1e-10,
        ftol=1e-10,
    )
    numbers = solved.x
    if numbers[0] < 0:  # all currents reversed: the same field
        linear = len(numbers) - (model.varied is not None)
        numbers = np.concatenate([-numbers[:linear], numbers[linear:]])
    return numbers, float(2 * solved.cost)


def _deviations(model: Model, measured: Floats, spread: Floats, numbers: Floats) -> Floats:
    return (model.fields(numbers) - measured) / spread


def _slopes(model: Model, spread: Floats, numbers: Floats) -> Floats:
    return model.slopes(numbers) / spread[:, None]


def information(model: Model, numbers: Floats, covariance: Floats) -> Floats:
    """Variance of each reading by the uncertainty of the fitted numbers, shape (q,). [T^2]"""
    slopes = model.slopes(numbers)
    return np.asarray(np.einsum("qa,ab,qb->q", slopes, covariance, slopes))


def _starts(model: Model) -> list[Floats]:
    """As drawn, and residual currents of several sizes and angles in each circuit alone."""
    drawn = model.as_drawn()
    starts = [drawn]
    if model.varied is not None:
        starts += [np.append(drawn[:-1], end) for end in (model.varied.low, model.varied.high)]
    for circuit, size, turn in product(range(model.residual.shape[2]), STARTS, range(ANGLES)):
        at, angle = model.place_of_residual(circuit), 2 * np.pi * turn / ANGLES
        start = drawn.copy()
        start[at : at + 2] = size * np.cos(angle), size * np.sin(angle)
        starts.append(start)
    return starts


def _covariance(slopes: Floats) -> Floats | None:
    normal = slopes.T @ slopes
    if np.linalg.cond(normal) > 1e12:
        return None
    return np.asarray(np.linalg.inv(normal))


def _same(model: Model, one: Minimum, other: Minimum, spread: Floats) -> bool:
    apart = np.abs(model.fields(one.numbers) - model.fields(other.numbers)) / spread
    moved = np.abs(one.numbers - other.numbers).max() / np.abs(other.numbers).max()
    return bool(apart.max() < SAME and moved < 0.01)
