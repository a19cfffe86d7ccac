"""The dense system of the multipoles of round parts: re-expansion from part to part, scattering at each, unit voltages.

With zeta = z - c about the axis c of a part, two kinds of harmonic function occur: those analytic in z (kind 0) and
their conjugates (kind 1).

    At an outer surface of radius b: outgoing (b/zeta)^n and incident (zeta/b)^n.
    At the wall of a bore of radius a: regular (zeta/a)^n, and outgoing (a/zeta)^n from the parts within.

Metal couples terms of equal angular factor e^{jn theta} or e^{-jn theta}, and (zeta/b)^n of kind 0 has the factor of
conj(b/zeta)^n of kind 1: an incident kind 0 returns as an outgoing kind 1. Every expansion is scaled by the radius of
its own surface, so that no coefficient overflows or underflows.

Expansions are moved to another axis by the binomial series (NIST DLMF 4.6.7 [M]; the tests check all of them by the
continuity of the fields at every surface). With zeta' = zeta + s,

    (1/zeta')^m = sum over n >= 0 of (-1)^n binom(n + m - 1, n) zeta^n / s^(n + m)    for |zeta| < |s|,
    zeta'^m     = sum over n <= m of binom(m, n) s^(m - n) zeta^n,
    (1/zeta)^m  = sum over n >= m of binom(n - 1, m - 1) s^(n - m) / zeta'^n          for |zeta'| > |s|,

and a line current by the integrals of its slopes,

    ln|zeta'| = ln|s| - Re sum over n >= 1 of (-zeta/s)^n / n,
    ln|zeta|  = ln|zeta'| - Re sum over n >= 1 of (s/zeta')^n / n.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.linalg import solve as solve_dense
from scipy.special import binom

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.round_metal import Metal, mean_potential_shapes, mean_shapes, scattering
from fem.round_parts import OUTSIDE, RoundLayout

_LINE = mu_0 / (2 * np.pi)  # A of a line current is _LINE i ln(l/r) [H/m]


@dataclass(frozen=True)
class Multipoles:
    """Coefficients of the field for unit voltages on each of N parts, orders n = 1 .. order, kinds 0 and 1.

    layout: The parts and their regions.
    metals: The metal of each part at the frequency.
    reference_radius: Radius of the far circle on which a net current returns. [m]
    order: Highest multipole. [-]
    admittance, shape (N, N): Net currents per unit voltages. [S m]
    enclosed, shape (N, N): Current inside the outer radius of each part, per unit voltage. [S m]
    bore_current, shape (N, N): Current inside the bore of each part, per unit voltage. [S m]
    mean, shape (N, N): Mean of A on the outer surface of each part, per unit voltage. [s]
    outgoing, incident, regular, bore_outgoing, shape (N, 2, order, N): Coefficients at part, kind, n, unit voltage:
        outgoing and incident at the outer surface, regular and outgoing at the surface of the bore. [s]
    """

    layout: RoundLayout
    metals: tuple[Metal, ...]
    reference_radius: float
    order: int
    admittance: Complexes
    enclosed: Complexes
    bore_current: Complexes
    mean: Complexes
    outgoing: Complexes
    incident: Complexes
    regular: Complexes
    bore_outgoing: Complexes


@lru_cache(maxsize=16)
def _outgoing_to_incident_table(order: int) -> Floats:
    """(-1)^n binom(n + m - 1, n) at row n = 0 .. order, column m = 1 .. order. [-]"""
    n, m = np.arange(order + 1)[:, None], np.arange(1, order + 1)[None, :]
    sign = np.where(n % 2 == 0, 1.0, -1.0)
    return sign * binom(n + m - 1, n)


@lru_cache(maxsize=16)
def _regular_to_incident_table(order: int) -> Floats:
    """binom(m, n) at row n = 0 .. order, column m = 1 .. order, 0 below the diagonal. [-]"""
    n, m = np.arange(order + 1)[:, None], np.arange(1, order + 1)[None, :]
    return np.where(n <= m, binom(m, n), 0.0)


def outgoing_to_incident(shift: complex, source: float, target: float, order: int) -> Complexes:
    """Matrix from (source/zeta')^m to (zeta/target)^n, n = 0 .. order, zeta' = zeta + shift; kind 0. [-]"""
    n, m = np.arange(order + 1)[:, None], np.arange(1, order + 1)[None, :]
    result: Complexes = _outgoing_to_incident_table(order) * (target / shift) ** n * (source / shift) ** m
    return result


def regular_to_incident(shift: complex, bore: float, target: float, order: int) -> Complexes:
    """Matrix from (zeta'/bore)^m to (zeta/target)^n, n = 0 .. order, zeta' = zeta + shift; kind 0. [-]"""
    n, m = np.arange(order + 1)[:, None], np.arange(1, order + 1)[None, :]
    lift = (shift / bore) ** np.maximum(m - n, 0)
    result: Complexes = _regular_to_incident_table(order) * lift * (target / bore) ** n
    return result


def outgoing_to_outgoing(shift: complex, source: float, bore: float, order: int) -> Complexes:
    """Matrix from (source/zeta)^m to (bore/zeta')^n, n = 1 .. order, zeta' = zeta + shift; kind 0. [-]"""
    n, m = np.arange(1, order + 1)[:, None], np.arange(1, order + 1)[None, :]
    choose = _regular_to_incident_table(order)[:order, :].T  # binom(row, column): 1 .. order, 0 .. order - 1
    table = np.vstack([np.eye(1, order), choose[: order - 1]])  # binom(n - 1, m - 1)
    lift = (shift / bore) ** np.maximum(n - m, 0)
    result: Complexes = table * lift * (source / bore) ** m
    return result


def solve_multipoles(
    layout: RoundLayout, metals: tuple[Metal, ...], omega: float, reference_radius: float, order: int
) -> Multipoles:
    """Coefficients for unit voltages with multipoles up to one order.

    layout: N parts.
    metals: The metal of each part at the frequency.
    omega: Angular frequency. [rad/s]
    reference_radius: Radius of the far circle on which a net current returns. [m]
    order: Highest multipole. [-]

    The unknowns x are the outgoing coefficients of all parts for each unit current. The outgoing coefficients of a part
    are its response to the incident ones, so that x = S x + T i with the matrices of `_System`.
    u_k = E_k + j w A_k, averaged over the surface of part k, then gives the impedance matrix; its inverse is Y.
    """
    system = _System(layout, metals, reference_radius, order)
    for number in layout.outermost_first():
        system.take_in(number)
    count, kept = len(layout.parts), system.kept
    scattered = system.scattered.reshape(kept, kept + count)
    closed = np.eye(kept) - scattered[:, :kept]  # (1 - S) x = T i
    per_current = solve_dense(closed, scattered[:, kept:], overwrite_a=True, check_finite=False)
    everything = np.vstack([per_current, np.eye(count)])
    admittance = _admittance(metals, system.surface + 1j * omega * (system.mean @ everything))
    per_voltage = everything @ admittance
    return Multipoles(
        layout,
        metals,
        reference_radius,
        order,
        admittance,
        system.enclosed @ admittance,
        system.inside @ admittance,
        system.mean @ per_voltage,
        (per_current @ admittance).reshape(count, 2, order, count),
        system.incident @ per_voltage,
        system.regular @ per_voltage,
        system.bore_outgoing @ per_voltage,
    )


def _admittance(metals: tuple[Metal, ...], impedance: Complexes) -> Complexes:
    """Inverse of the impedance matrix; a part that does not conduct has a row and a column of 0. [S m]"""
    carries = [number for number, metal in enumerate(metals) if metal.conductivity > 0]
    admittance = np.zeros(impedance.shape, dtype=np.complex128)
    admittance[np.ix_(carries, carries)] = np.linalg.inv(impedance[np.ix_(carries, carries)])
    return admittance


class _System:
    """Fields at every surface as rows over the unknowns: the outgoing coefficients of all parts, then N currents.

    Rows are built from the outermost part inwards, as the field in a bore depends on the wall of its tube.
    """

    def __init__(self, layout: RoundLayout, metals: tuple[Metal, ...], reference_radius: float, order: int) -> None:
        count = len(layout.parts)
        self.layout, self.metals, self.reference_radius, self.order = layout, metals, reference_radius, order
        self.kept = 2 * count * order
        """Columns of the outgoing coefficients; those of the N currents follow."""
        width = self.kept + count
        self.enclosed, self.inside = _enclosed_currents(layout)
        self.incident = np.zeros((count, 2, order, width), dtype=np.complex128)
        self.regular, self.bore_outgoing = np.zeros_like(self.incident), np.zeros_like(self.incident)
        self.scattered = np.zeros_like(self.incident)
        """Outgoing coefficients of each part as its response to the incident ones."""
        self.mean = np.zeros((count, width), dtype=np.complex128)
        """Mean of A on each outer surface."""
        self.bore_mean = np.zeros_like(self.mean)
        self.surface = np.zeros((count, count), dtype=np.complex128)
        """Mean of E on each outer surface, over the currents alone. [ohm/m]"""

    def take_in(self, number: int) -> None:
        """Fill the rows of a part; the rows of the tube whose bore holds it must be filled."""
        home = self.layout.regions[number]
        self._own_current(number, home)
        for other in self.layout.members(home):
            if other != number:
                self._from_neighbour(number, other, home)
        if home != OUTSIDE:
            self._from_bore(number, home)
        for member in self.layout.members(number):
            self._from_member(number, member)
        self._scatter(number)
        self._through_metal(number)

    def _own_current(self, number: int, home: int) -> None:
        """A = mu0 i/(2 pi) ln(length/b) on the part's own surface."""
        length, b = self._length(home), self.layout.parts[number].outer_radius
        self.mean[number, self.kept :] += _LINE * np.log(length / b) * self.enclosed[number]

    def _from_neighbour(self, number: int, other: int, home: int) -> None:
        """Multipoles and current of another part in the same air, expanded about this part.

        A = -mu0 i/(2 pi) ln|zeta'| has the terms mu0 i/(2 pi) Re (-zeta/s)^n / n: half in each kind.
        """
        shift, b = self._shift(other, number), self.layout.parts[number].outer_radius
        moved = outgoing_to_incident(shift, self.layout.parts[other].outer_radius, b, self.order)
        self.mean[number, self.kept :] += _LINE * np.log(self._length(home) / abs(shift)) * self.enclosed[other]
        for kind, matrix, of_current in _both_kinds(moved, self._logarithm(-b / shift)):
            self.mean[number, self._columns(other, kind)] += matrix[0]
            self.incident[number, kind][:, self._columns(other, kind)] += matrix[1:]
            self.incident[number, kind][:, self.kept :] += of_current[:, None] * self.enclosed[other]

    def _from_bore(self, number: int, home: int) -> None:
        """The field that the wall of the tube around this part makes in its bore, expanded about this part."""
        self.mean[number] += self.bore_mean[home]
        part, tube = self.layout.parts[number], self.layout.parts[home]
        moved = regular_to_incident(self._shift(home, number), tube.inner_radius, part.outer_radius, self.order)
        for kind, matrix in ((0, moved), (1, moved.conj())):
            self.mean[number] += matrix[0] @ self.regular[home, kind]
            self.incident[number, kind] += matrix[1:] @ self.regular[home, kind]

    def _from_member(self, number: int, member: int) -> None:
        """Multipoles and current of a part in this tube's bore, expanded outwards about the tube's axis.

        A = -mu0 i/(2 pi) ln|zeta| has the terms mu0 i/(2 pi) Re (s/zeta')^n / n: half in each kind.
        """
        shift, a = self._shift(number, member), self.layout.parts[number].inner_radius
        moved = outgoing_to_outgoing(shift, self.layout.parts[member].outer_radius, a, self.order)
        for kind, matrix, of_current in _both_kinds(moved, self._logarithm(shift / a)):
            self.bore_outgoing[number, kind][:, self._columns(member, kind)] += matrix
            self.bore_outgoing[number, kind][:, self.kept :] += of_current[:, None] * self.enclosed[member]

    def _scatter(self, number: int) -> None:
        """Response of the metal to the fields at its two surfaces; the angular factor is kept, so the kind changes."""
        metal = scattering(self.metals[number], self.order)
        for kind in (0, 1):
            alpha, delta = self.incident[number, kind], self.bore_outgoing[number, 1 - kind]
            self.regular[number, kind] = metal.gamma_alpha[:, None] * alpha + metal.gamma_delta[:, None] * delta
            self.scattered[number, 1 - kind] = metal.beta_alpha[:, None] * alpha + metal.beta_delta[:, None] * delta

    def _through_metal(self, number: int) -> None:
        """Mean of A on the wall of the bore, and mean of E = J/sigma = (curl H)/sigma on the outer surface."""
        part, metal = self.layout.parts[number], self.metals[number]
        enclosed, inside = self.enclosed[number], self.inside[number]
        if part.inner_radius > 0:
            step = mean_potential_shapes(metal, np.array([part.inner_radius]))[:, 0]
            self.bore_mean[number] = self.mean[number]
            self.bore_mean[number, self.kept :] += step[0] * enclosed + step[1] * inside
        if metal.conductivity > 0:
            curl = mean_shapes(metal, np.array([part.outer_radius]))[1][:, 0] / (2 * np.pi * metal.conductivity)
            self.surface[number] = curl[0] * enclosed + curl[1] * inside

    def _logarithm(self, ratio: complex) -> Complexes:
        """Terms of a line current in each kind, per ampere: half of mu0/(2 pi) ratio^n / n, n = 1 .. order. [H/m]"""
        n = np.arange(1, self.order + 1)
        return np.asarray(_LINE / 2 * ratio**n / n, dtype=np.complex128)

    def _columns(self, part: int, kind: int) -> slice:
        """Columns of the outgoing coefficients of one part and kind."""
        start = (2 * part + kind) * self.order
        return slice(start, start + self.order)

    def _length(self, home: int) -> float:
        """Length in ln(length/r) of the potential of a current in a region: the radius at which A is taken as 0. [m]"""
        return self.reference_radius if home == OUTSIDE else self.layout.parts[home].inner_radius

    def _shift(self, dashed: int, plain: int) -> complex:
        """s in zeta' = zeta + s, with zeta' about the axis of one part and zeta about the axis of the other. [m]"""
        return complex(*self.layout.parts[plain].centre) - complex(*self.layout.parts[dashed].centre)


def _both_kinds(matrix: Complexes, row: Complexes) -> tuple[tuple[int, Complexes, Complexes], ...]:
    """Kind 0 as given and kind 1 as its conjugate."""
    return (0, matrix, row), (1, matrix.conj(), row.conj())


def _enclosed_currents(layout: RoundLayout) -> tuple[Floats, Floats]:
    """Currents inside each outer radius and inside each bore, as sums over the parts' currents. [-]"""
    count = len(layout.parts)
    enclosed, inside = np.eye(count), np.zeros((count, count))
    for number in range(count):
        home = layout.regions[number]
        while home != OUTSIDE:
            enclosed[home, number] = inside[home, number] = 1.0
            home = layout.regions[home]
    return enclosed, inside
