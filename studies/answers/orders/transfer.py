"""One solution for every phase order: conductor admittances, and fields of unit conductor currents."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.solve import UnitFields
from fem.ties import Tie, drive
from studies.section.parts import CrossSection
from studies.solve.bonding import ties_with_cross_bonds

Labels = NDArray[np.int8]

CHUNK = 1024
"""Orders judged at a time: their arrays stay in the processor's cache."""


@dataclass(frozen=True)
class Transfer:
    """Linear maps from the currents of the conductors; screens, trays and bonds are eliminated."""

    names: tuple[str, ...]
    """The n conductors with a given current; those whose current a bond decides are eliminated."""
    impedance: Complexes
    """u = Z i of the conductors, all else open or bonded as the study says, shape (n, n). [ohm/m]"""
    admittance: Complexes
    """Its inverse, shape (n, n). [S m]"""
    field: Complexes
    """(Bx, By) at points per ampere, shape (q, 2, n). [T/A]"""


def transfer(section: CrossSection, fields: UnitFields, points: Floats) -> Transfer:
    """The maps of a solution, with the field at points (q, 2) [m]."""
    given = {part for phase in section.phases for part in section.ties[phase.tie].parts}
    names = tuple(part.name for part in section.conductors() if part.name in given)
    phase_ties = {phase.tie for phase in section.phases}
    rest = tuple(tie for k, tie in enumerate(section.ties) if k not in phase_ties)
    probe = FieldProbe(fields)
    places = [fields.part_names.index(name) for name in names]
    impedance = np.zeros((len(names), len(names)), dtype=np.complex128)
    field = np.zeros((len(points), 2, len(names)), dtype=np.complex128)
    for k, name in enumerate(names):
        unit = (*(Tie((one,), current=float(one == name)) for one in names), *rest)
        ties = ties_with_cross_bonds(replace(section, ties=unit), fields)
        voltages = drive(fields.admittance, fields.part_names, ties).voltages
        impedance[:, k] = voltages[places]
        if len(points):
            field[:, :, k] = probe.flux_density(fields.potential(voltages), points)
    return Transfer(names, impedance, np.asarray(np.linalg.inv(impedance), dtype=np.complex128), field)


@dataclass(frozen=True)
class Judged:
    """State of the conductors in a batch of orders."""

    currents: Complexes
    """Of each conductor, shape (n, orders). [A]"""
    voltages: Complexes
    """Of each phase, shape (phases, orders). [V/m]"""


def judge_orders(maps: Transfer, labels: Labels, phase_currents: Complexes) -> Judged:
    """Currents and voltages of orders.

    labels: Index of the phase of each conductor; conductors of one phase are in parallel, shape (orders, n).
    phase_currents: Net current of each phase, shape (phases,). [A]
    """
    orders, n = labels.shape
    currents = np.empty((n, orders), dtype=np.complex128)
    voltages = np.empty((len(phase_currents), orders), dtype=np.complex128)
    alone = n == len(phase_currents)
    for first in range(0, orders, CHUNK):
        some = slice(first, first + CHUNK)
        state = _alone if alone else _shared
        currents[:, some], voltages[:, some] = state(maps, np.ascontiguousarray(labels[some].T), phase_currents)
    return Judged(currents, voltages)


def squared_field(field: Complexes, currents: Complexes) -> Floats:
    """Square of the resultant rms of maps (q, 2, n) [T/A] and currents (n, orders) [A], shape (q, orders). [T^2]"""
    q, _, n = field.shape
    both = field.reshape(2 * q, n) @ currents
    parts = both.view(np.float64).reshape(q, 2, currents.shape[1], 2)
    squared: Floats = np.einsum("qion,qion->qo", parts, parts)
    return squared


def _alone(maps: Transfer, labels: Labels, phase_currents: Complexes) -> tuple[Complexes, Complexes]:
    """Currents and voltages where no conductor has a parallel one."""
    currents = phase_currents[labels]
    voltages = np.empty_like(currents)
    np.put_along_axis(voltages, labels.astype(np.intp), maps.impedance @ currents, axis=0)
    return currents, voltages


def _shared(maps: Transfer, labels: Labels, phase_currents: Complexes) -> tuple[Complexes, Complexes]:
    """Currents and voltages where conductors of one phase share its current: P' Y P u = i of the phases."""
    n, orders = labels.shape
    phases = len(phase_currents)
    member = (labels[:, None] == np.arange(phases)[:, None]).astype(np.float64)  # P of each order
    flat = member.reshape(n, phases * orders)
    pooled = np.empty((n, phases, orders), dtype=np.complex128)  # Y P
    pooled.real = (maps.admittance.real @ flat).reshape(pooled.shape)
    pooled.imag = (maps.admittance.imag @ flat).reshape(pooled.shape)
    tied = np.empty((phases, phases, orders), dtype=np.complex128)
    for a in range(phases):
        own = np.flatnonzero(member[:, a].any(axis=1))  # conductors of the same circuit
        tied[a] = np.einsum("ko,kbo->bo", member[own, a], pooled[own])
    voltages = _eliminated(tied, np.repeat(phase_currents[:, None], orders, axis=1))
    return np.einsum("kbo,bo->ko", pooled, voltages), voltages


def _eliminated(matrix: Complexes, right: Complexes) -> Complexes:
    """Solutions of many small systems (p, p, orders) u = (p, orders), both of which are spent.

    Without pivoting, which is stable here: the real part of an admittance matrix is positive definite.
    """
    p = len(matrix)
    for k in range(p):
        inverse = 1 / matrix[k, k]
        for row in range(k + 1, p):
            factor = matrix[row, k] * inverse
            matrix[row, k + 1 :] -= factor * matrix[k, k + 1 :]
            right[row] -= factor * right[k]
    for k in reversed(range(p)):
        for column in range(k + 1, p):
            right[k] -= matrix[k, column] * right[column]
        right[k] /= matrix[k, k]
    return right
