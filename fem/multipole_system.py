"""The dense system of the multipoles of round parts: re-expansion from part to part, scattering at each, unit voltages.

With zeta = z - c two kinds of harmonic function occur, analytic in z (kind 0) and their conjugates (kind 1):

    at an outer surface of radius b: outgoing (b/zeta)^n and incident (zeta/b)^n,
    at the wall of a bore of radius a: regular (zeta/a)^n and outgoing, from the parts within, (a/zeta)^n.

Metal couples those of equal angular factor e^{jn theta} or e^{-jn theta}: an incident kind 0 returns as an outgoing
kind 1. Every expansion is scaled by the radius of its own surface, so that no coefficient over- or underflows.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.constants import mu_0
from scipy.linalg import solve as solve_dense
from scipy.special import binom

from fem.arrays import Complexes, Floats
from fem.round_metal import Metal, mean_potential_shapes, mean_shapes, scattering
from fem.round_parts import OUTSIDE, RoundLayout

_LINE = mu_0 / (2 * np.pi)  # A of a line current is _LINE i ln(l/r) [H/m]


@dataclass(frozen=True)
class Multipoles:
    """Coefficients of the field for unit voltages on each of N parts, orders n = 1 .. order, kinds 0 and 1.

    Parameters
    ----------
    layout : RoundLayout
        The parts and their regions.
    metals : tuple of Metal
        The metal of each part at the frequency.
    reference_radius : float
        Radius of the far circle on which a net current returns. [m]
    order : int
        Highest multipole. [-]
    admittance : ndarray, shape (N, N)
        Net currents per unit voltages. [S m]
    enclosed : ndarray, shape (N, N)
        Current inside the outer radius of each part, per unit voltage. [S m]
    bore_current : ndarray, shape (N, N)
        Current inside the bore of each part, per unit voltage. [S m]
    mean : ndarray, shape (N, N)
        Mean of A on the outer surface of each part, per unit voltage. [s]
    outgoing, incident, regular, bore_outgoing : ndarray, shape (N, 2, order, N)
        Coefficients at part, kind, n, unit voltage: outgoing and incident at the outer surface, regular and outgoing
        at the surface of the bore. [s]
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
    n, m = np.arange(order + 1)[:, None], np.arange(1, order + 1)[None, :]
    sign = np.where(n % 2 == 0, 1.0, -1.0)
    table: Floats = sign * binom(n + m - 1, n)
    return table


@lru_cache(maxsize=16)
def _regular_to_incident_table(order: int) -> Floats:
    n, m = np.arange(order + 1)[:, None], np.arange(1, order + 1)[None, :]
    table: Floats = np.where(n <= m, binom(m, n), 0.0)
    return table


def outgoing_to_incident(shift: complex, source: float, target: float, order: int) -> Complexes:
    """Matrix from (source/zeta')^m to (target/zeta)^-n, n = 0 .. order, zeta' = zeta + shift; kind 0. [-]"""
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
    choose = _regular_to_incident_table(order)[:order, :].T  # binomial(row, column) of 1 .. order over 0 .. order - 1
    table = np.vstack([np.eye(1, order), choose[: order - 1]])  # binomial(n - 1, m - 1)
    lift = (shift / bore) ** np.maximum(n - m, 0)
    result: Complexes = table * lift * (source / bore) ** m
    return result


def _axis(layout: RoundLayout, number: int) -> complex:
    return complex(*layout.parts[number].centre)


def solve_multipoles(
    layout: RoundLayout, metals: tuple[Metal, ...], omega: float, reference_radius: float, order: int
) -> Multipoles:
    """Coefficients for unit voltages with multipoles up to one order.

    Parameters
    ----------
    layout : RoundLayout
        N parts.
    metals : tuple of Metal
        The metal of each part at the frequency.
    omega : float
        Angular frequency. [rad/s]
    reference_radius : float
        Radius of the far circle on which a net current returns. [m]
    order : int
        Highest multipole. [-]

    Returns
    -------
    multipoles : Multipoles
        The coefficients.

    Notes
    -----
    Unknowns are the outgoing coefficients of all parts for each unit current. What is incident on a part, what is
    regular in a bore and the mean of A on each surface are rows over these unknowns and the currents, built from the
    outermost part inwards; scattering at each outer surface closes the system. u_k = E_k + j w A_k, averaged over the
    surface of part k, then gives the impedance matrix and its inverse.
    """
    count = len(layout.parts)
    kept = 2 * count * order  # columns of the outgoing coefficients; those of the N currents follow
    enclosed, inside = _enclosed_currents(layout)
    incident = np.zeros((count, 2, order, kept + count), dtype=np.complex128)
    regular, bore_outgoing = np.zeros_like(incident), np.zeros_like(incident)
    mean = np.zeros((count, kept + count), dtype=np.complex128)
    bore_mean = np.zeros_like(mean)
    surface = np.zeros((count, count), dtype=np.complex128)  # E on the outer surfaces per current
    rows = np.zeros((count, 2, order, kept + count), dtype=np.complex128)
    n = np.arange(1, order + 1)

    def columns(part: int, kind: int) -> slice:
        start = (2 * part + kind) * order
        return slice(start, start + order)

    for number in layout.outermost_first():
        part, metal, home = layout.parts[number], metals[number], layout.regions[number]
        length = reference_radius if home == OUTSIDE else layout.parts[home].inner_radius
        b = part.outer_radius
        mean[number, kept:] += _LINE * np.log(length / b) * enclosed[number]
        for other in layout.members(home):
            if other == number:
                continue
            shift = _axis(layout, number) - _axis(layout, other)
            shifted = outgoing_to_incident(shift, layout.parts[other].outer_radius, b, order)
            logarithm = _LINE / 2 * (-b / shift) ** n / n
            mean[number, kept:] += _LINE * np.log(length / abs(shift)) * enclosed[other]
            for kind, matrix, log_row in ((0, shifted, logarithm), (1, shifted.conj(), logarithm.conj())):
                mean[number, columns(other, kind)] += matrix[0]
                incident[number, kind][:, columns(other, kind)] += matrix[1:]
                incident[number, kind][:, kept:] += log_row[:, None] * enclosed[other]
        if home != OUTSIDE:
            mean[number] += bore_mean[home]
            shifted = regular_to_incident(
                _axis(layout, number) - _axis(layout, home), layout.parts[home].inner_radius, b, order
            )
            for kind, matrix in ((0, shifted), (1, shifted.conj())):
                mean[number] += matrix[0] @ regular[home, kind]
                incident[number, kind] += matrix[1:] @ regular[home, kind]
        for member in layout.members(number):
            shift = _axis(layout, member) - _axis(layout, number)
            a = part.inner_radius
            shifted = outgoing_to_outgoing(shift, layout.parts[member].outer_radius, a, order)
            logarithm = _LINE / 2 * (shift / a) ** n / n
            for kind, matrix, log_row in ((0, shifted, logarithm), (1, shifted.conj(), logarithm.conj())):
                bore_outgoing[number, kind][:, columns(member, kind)] += matrix
                bore_outgoing[number, kind][:, kept:] += log_row[:, None] * enclosed[member]
        metal_scatters = scattering(metal, order)
        for kind in (0, 1):
            at_surface, in_bore = incident[number, kind], bore_outgoing[number, 1 - kind]
            regular[number, kind] = (
                metal_scatters.gamma_alpha[:, None] * at_surface + metal_scatters.gamma_delta[:, None] * in_bore
            )
            rows[number, 1 - kind] = (
                metal_scatters.beta_alpha[:, None] * at_surface + metal_scatters.beta_delta[:, None] * in_bore
            )
        if part.inner_radius > 0:
            step = mean_potential_shapes(metal, np.array([part.inner_radius]))[:, 0]
            bore_mean[number] = mean[number]
            bore_mean[number, kept:] += step[0] * enclosed[number] + step[1] * inside[number]
        if metal.conductivity > 0:
            curl = mean_shapes(metal, np.array([b]))[1][:, 0] / (2 * np.pi * metal.conductivity)
            surface[number] = curl[0] * enclosed[number] + curl[1] * inside[number]

    flat = rows.reshape(kept, kept + count)
    per_current = solve_dense(np.eye(kept) - flat[:, :kept], flat[:, kept:], overwrite_a=True, check_finite=False)
    everything = np.vstack([per_current, np.eye(count)])
    impedance = surface + 1j * omega * (mean @ everything)
    carries = [number for number, metal in enumerate(metals) if metal.conductivity > 0]
    admittance = np.zeros((count, count), dtype=np.complex128)
    admittance[np.ix_(carries, carries)] = np.linalg.inv(impedance[np.ix_(carries, carries)])
    per_voltage = everything @ admittance
    return Multipoles(
        layout,
        metals,
        reference_radius,
        order,
        admittance,
        enclosed @ admittance,
        inside @ admittance,
        mean @ per_voltage,
        (per_current @ admittance).reshape(count, 2, order, count),
        incident @ per_voltage,
        regular @ per_voltage,
        bore_outgoing @ per_voltage,
    )


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
