"""A thick plate in one dimension, its surface field given: over time with the true curve, and with an effective one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import solve_banded

from fem.arrays import Complexes, Floats
from fem.effective import effective_reluctivity
from fem.magnetisation import Curve
from fem.mixing import Mixing
from fem.nonlinear import LOAD_LINE
from tests.fem.time_domain import march

Number = TypeVar("Number", np.float64, np.complex128)


@dataclass(frozen=True)
class Plate:
    """Linear elements from the surface x = 0 inwards; the surface field is H0 sin wt, the back is free of field."""

    curve: Curve
    conductivity: float  # [S/m]
    surface_field: float  # peak [A/m]
    depth: float  # thick enough that nothing reaches the back [m]
    frequency: float = 50.0  # [Hz]
    elements: int = 200

    @property
    def omega(self) -> float:
        """Angular frequency. [rad/s]"""
        return 2 * math.pi * self.frequency

    @property
    def size(self) -> float:
        """Length of an element. [m]"""
        return self.depth / self.elements

    def equations(
        self, state: Floats, rate: Floats, time: float, rate_by_state: float
    ) -> tuple[Floats, sparse.csc_matrix]:
        """Weak form int H(A') v' + int sigma dA/dt v = H0 v(0), B = A' up to sign."""
        slope = np.diff(state) / self.size
        b = np.abs(slope)
        h = np.sign(slope) * self.curve.field_strength(b)
        stiff = self.curve.slope(b) / self.size
        residual = self.masses(rate)
        residual[1:] += h
        residual[:-1] -= h
        residual[0] -= self.surface_field * math.sin(self.omega * time)
        mass = self.conductivity * self.size * rate_by_state
        middle = np.zeros(len(state))
        middle[1:] += stiff + mass / 3
        middle[:-1] += stiff + mass / 3
        beside = mass / 6 - stiff
        bands = np.stack([np.append(beside, 0.0), middle, np.append(0.0, beside)])
        matrix = sparse.dia_matrix((bands, (-1, 0, 1)), shape=(len(state), len(state)))
        return residual, matrix.tocsc()

    def loss(self, rate: Floats) -> float:
        """Joule loss per surface area for rates of A at the nodes. [W/m^2]"""
        return float(rate @ self.masses(rate))

    def masses(self, rate: NDArray[Number]) -> NDArray[Number]:
        """Int sigma v dA/dt for rates of A at the nodes, per test function v."""
        weight = self.conductivity * self.size / 6
        result = np.zeros_like(rate)
        result[1:] += weight * (2 * rate[1:] + rate[:-1])
        result[:-1] += weight * (2 * rate[:-1] + rate[1:])
        return result


def loss_over_time(plate: Plate, steps: int, half_cycles: int, order: int = 2) -> Floats:
    """Mean loss of the plate in each half cycle, from the field of an effective reluctivity. [W/m^2]"""
    mean = np.zeros(half_cycles)
    step = math.pi / plate.omega / steps
    start = effective(plate, "equal-peak").imag  # the surface field is a sine
    for n, (_, _, rate) in enumerate(march(plate, start, step, steps * half_cycles, order)):
        mean[n // steps] += plate.loss(rate) / steps
    return mean


def effective_loss(plate: Plate, rule: str) -> float:
    """Loss of the plate with the effective reluctivity of a rule. [W/m^2]"""
    potential = effective(plate, rule)
    return plate.omega**2 * float((potential.conj() @ plate.masses(potential)).real) / 2


def effective(plate: Plate, rule: str) -> Complexes:
    """Potential at the nodes, peak phasors, with the effective reluctivity of a rule. [Wb/m]"""
    table = effective_reluctivity(plate.curve, rule)
    log_nu, mixing = np.full(plate.elements, math.log(plate.curve.slope(0.0))), Mixing()
    for _ in range(300):
        potential = _phasor(plate, np.exp(log_nu))
        b = np.abs(np.diff(potential)) / plate.size
        residual = np.log(table.reluctivity(b)) - log_nu
        weights = b**2 * np.exp(log_nu)
        weights /= weights.sum()
        if weights @ np.abs(residual) < 1e-6:
            return potential
        target = np.log(table.on_load_line(b, np.exp(log_nu), LOAD_LINE))
        log_nu = log_nu + mixing.step(log_nu, target - log_nu, weights)
    raise AssertionError(f"no effective reluctivity found by {rule}: residual {weights @ np.abs(residual)}")


def _phasor(plate: Plate, nu: Floats) -> Complexes:
    """Potential at the nodes, peak phasors, for a reluctivity of each element. [Wb/m]"""
    mass = 1j * plate.omega * plate.conductivity * plate.size
    bands = np.zeros((3, plate.elements + 1), dtype=np.complex128)
    bands[1, 1:] += nu / plate.size + mass / 3
    bands[1, :-1] += nu / plate.size + mass / 3
    bands[0, 1:] = bands[2, :-1] = mass / 6 - nu / plate.size
    right = np.zeros(plate.elements + 1)
    right[0] = plate.surface_field
    potential: Complexes = solve_banded((1, 1), bands, right)
    return potential
