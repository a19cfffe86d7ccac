"""Magnetic field over time with a true magnetisation curve: the reference for effective reluctivities.

Diagonally implicit Runge-Kutta steps that are L-stable and stiffly accurate (the air has no rate), Newton's method in
each stage, run until a half cycle repeats the one before with the opposite sign.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from fem.arrays import Complexes, Floats
from fem.magnetisation import Curve
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS, gradients_at, shape_values
from fem.solve import UnitFields
from fem.ties import Drive

G2 = 1 - math.sqrt(0.5)
G3 = 0.43586652150845899942  # root of g^3 - 3 g^2 + 3 g/2 - 1/6
TABLEAUX = {
    1: np.array([[1.0]]),
    2: np.array([[G2, 0.0], [1 - G2, G2]]),
    3: np.array(
        [
            [G3, 0.0, 0.0],
            [(1 - G3) / 2, G3, 0.0],
            [-(6 * G3**2 - 16 * G3 + 1) / 4, (6 * G3**2 - 20 * G3 + 5) / 4, G3],
        ]
    ),
}
"""R. Alexander, Diagonally implicit Runge-Kutta methods for stiff ODEs, SIAM J. Numer. Anal. 14(6):1006, 1977 [M];
the orders are measured by the tests."""


NEWTON = 1e-5
"""Relative correction that is the last one: the next would have its square. [-]"""


class System(Protocol):
    """Equations f(state, rate, time) = 0."""

    def equations(
        self, state: Floats, rate: Floats, time: float, rate_by_state: float
    ) -> tuple[Floats, sparse.csc_matrix]:
        """Residual, and its derivative by the state where the rate moves with it by a factor [1/s]."""


def march(system: System, state: Floats, step: float, steps: int, order: int) -> Iterator[tuple[float, Floats, Floats]]:
    """Time [s], state and rate after each step."""
    tableau = TABLEAUX[order]
    gamma = tableau[0, 0]
    rate = np.zeros_like(state)
    for n in range(steps):
        rates: list[Floats] = []
        for row in range(len(tableau)):
            base = state + step * sum((a * k for a, k in zip(tableau[row], rates, strict=False)), np.zeros_like(state))
            time = (n + tableau[row].sum()) * step
            rate = _stage(system, base, rate, time, step * gamma)
            rates.append(rate)
        state = base + step * gamma * rate
        yield (n + 1) * step, state, rate


def _stage(system: System, base: Floats, rate: Floats, time: float, reach: float) -> Floats:
    """Rate k with f(base + reach k, k, time) = 0, by Newton's method."""
    residual, matrix = system.equations(base + reach * rate, rate, time, 1 / reach)
    first = None
    for _ in range(40):
        correction = splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.001, options={"SymmetricMode": True}
        ).solve(-residual)
        size = float(np.linalg.norm(correction)) / max(float(np.linalg.norm(base + reach * rate)), 1e-300)
        first = first or size
        if size < NEWTON:
            return rate + correction / reach
        share, before = 1.0, np.linalg.norm(residual)
        while True:
            trial = rate + share * correction / reach
            residual, matrix = system.equations(base + reach * trial, trial, time, 1 / reach)
            if share < 0.02 or np.linalg.norm(residual) < before:  # a full step may leap across the knee of the curve
                break
            share /= 2
        rate = trial
    raise AssertionError(f"Newton's method did not converge at {time} s: corrections {first} to {size}")


@dataclass(frozen=True)
class Cycle:
    """Periodic steady state."""

    losses: Floats
    """Mean Joule loss of the steel in each half cycle run; the last one counts. [W/m]"""
    fundamental: Complexes
    """Rms phasor of the fundamental of A at the nodes, shape (p,). [Wb/m]"""
    peaks: Floats
    """Peak over the cycle of B, mean square over each triangle of the steel. [T]"""
    mismatch: float
    """Largest |A(t + T/2) + A(t)| over the largest |A|. [-]"""


class Section:
    """A meshed section with given currents in its parts, some of whose regions follow curves."""

    def __init__(self, fields: UnitFields, curves: Mapping[str, Curve], currents: Complexes) -> None:
        """Take a solved section for its mesh and matrices; currents are rms phasors of the parts (N,). [A]"""
        mesh, assembly = fields.mesh, fields.assembly
        self.size, self.omega, self._currents = len(mesh.points), fields.omega, currents
        regions = [mesh.names.index(name) for name in curves]
        self.steel = np.flatnonzero(np.isin(mesh.regions, regions))
        self._curves = [
            (np.flatnonzero(mesh.regions[self.steel] == k), curve)
            for k, curve in zip(regions, curves.values(), strict=True)
        ]
        elsewhere = fields.reluctivity.copy()
        elsewhere[self.steel] = 0
        self._linear = (assembly.stiffness(elsewhere).real + assembly.exterior.matrix(self.size).real).tocsr()
        self._mass, self._vectors = assembly.mass, sparse.csr_matrix(assembly.part_vectors)
        self._conductances = assembly.part_vectors.sum(axis=0)
        self._nodes = mesh.triangles[self.steel]
        self._gradients, jacobian = gradients_at(mesh.points[self._nodes][:, None], QUADRATURE_POINTS)
        self._weights = QUADRATURE_WEIGHTS * jacobian
        self._values = shape_values(QUADRATURE_POINTS)
        self._rows = np.repeat(self._nodes, 6, axis=1).ravel()
        self._columns = np.tile(self._nodes, (1, 6)).ravel()
        self._part = fields.part_of_region()[mesh.regions[self.steel]]
        self._sigma = np.array([material.conductivity for material in fields.materials])[mesh.regions[self.steel]]

    def equations(
        self, state: Floats, rate: Floats, time: float, rate_by_state: float
    ) -> tuple[Floats, sparse.csc_matrix]:
        """Field equation of the nodes and current of the parts, whose voltages stand behind the potentials."""
        a, u = state[: self.size], state[self.size :]
        slope, nu, excess = self._magnetic(a)
        forces = np.einsum("tq,tqni,tqi->tn", self._weights * nu, self._gradients, slope)
        along = np.einsum("tqni,tqi->tqn", self._gradients, slope)
        stiff = np.einsum("tq,tqni,tqmi->tnm", self._weights * nu, self._gradients, self._gradients)
        stiff += np.einsum("tq,tqn,tqm->tnm", self._weights * excess, along, along)
        magnetic = sparse.csr_matrix((stiff.ravel(), (self._rows, self._columns)), shape=self._linear.shape)
        field = self._linear @ a + self._mass @ rate[: self.size] - self._vectors @ u
        np.add.at(field, self._nodes, forces)
        given = math.sqrt(2) * (self._currents * np.exp(1j * self.omega * time)).real
        current = self._conductances * u - self._vectors.T @ rate[: self.size] - given
        top = self._linear + magnetic + rate_by_state * self._mass
        below = -self._vectors.T.tocsr()
        parts = sparse.csr_matrix(np.diag(self._conductances / rate_by_state))
        matrix = sparse.csc_matrix(sparse.bmat([[top, -self._vectors], [below, parts]]))
        return np.concatenate([field, current / rate_by_state]), matrix

    def loss(self, state: Floats, rate: Floats) -> float:
        """Joule loss in the steel. [W/m]"""
        electric = state[self.size :][self._part][:, None] - rate[self._nodes] @ self._values.T
        return float(np.sum(self._weights * self._sigma[:, None] * electric**2))

    def flux_density(self, state: Floats) -> Floats:
        """B at the quadrature points of the steel, shape (n, q). [T]"""
        slope = np.einsum("tqni,tn->tqi", self._gradients, state[self._nodes])
        magnitude: Floats = np.linalg.norm(slope, axis=2)
        return magnitude

    def mean_square(self, values: Floats) -> Floats:
        """Root of the mean square over each triangle of the steel, (n, q) to (n,)."""
        mean: Floats = np.sqrt(np.sum(self._weights * values**2, axis=1) / self._weights.sum(axis=1))
        return mean

    def _magnetic(self, a: Floats) -> tuple[Floats, Floats, Floats]:
        """Slope of A, H/B, and (dH/dB - H/B)/B^2 at the quadrature points."""
        slope = np.einsum("tqni,tn->tqi", self._gradients, a[self._nodes])
        b = np.linalg.norm(slope, axis=2)
        nu, differential = np.empty_like(b), np.empty_like(b)
        for own, curve in self._curves:
            nu[own], differential[own] = curve.reluctivity(b[own]), curve.slope(b[own])
        return slope, nu, np.where(b > 1e-12, (differential - nu) / np.maximum(b, 1e-12) ** 2, 0.0)


def steady_cycle(
    section: Section, start: Complexes, drive: Drive, steps: int, half_cycles: int, order: int = 3
) -> Cycle:
    """Run half cycles of so many steps from a phasor solution (p,) [Wb/m] towards the periodic state."""
    period = 2 * math.pi / section.omega
    step = period / 2 / steps
    first = math.sqrt(2) * np.concatenate([start, drive.voltages]).real
    mean = np.zeros(half_cycles)
    history = np.zeros((2, steps, section.size))
    peaks = np.zeros_like(section.flux_density(first))
    for n, (_, state, rate) in enumerate(march(section, first, step, steps * half_cycles, order)):
        half, k = divmod(n, steps)
        mean[half] += section.loss(state, rate) / steps
        history[half % 2, k] = state[: section.size]
        if half == half_cycles - 1:
            peaks = np.maximum(peaks, section.flux_density(state))
    last = history[(half_cycles - 1) % 2]
    times = (np.arange(steps) + 1 + (half_cycles - 1) * steps) * step
    fundamental = math.sqrt(2) / steps * (np.exp(-1j * section.omega * times) @ last)
    return Cycle(
        mean, fundamental, section.mean_square(peaks), float(np.abs(history[0] + history[1]).max() / np.abs(last).max())
    )
