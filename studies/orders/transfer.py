"""What one solve says of every phase order: conductor admittances, and fields of unit conductor currents."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.field import FieldProbe
from fem.mesh import Complexes, Floats
from fem.solve import UnitFields
from fem.ties import Tie, membership, tie_voltages
from studies.cross_section import CrossSection
from studies.parts import CONDUCTOR

Labels = NDArray[np.int8]


@dataclass(frozen=True)
class Transfer:
    """Linear maps from the currents of the conductors; screens, trays and bonds are eliminated."""

    names: tuple[str, ...]
    """The n conductors."""
    circuit: tuple[int, ...]
    """Index of each conductor's circuit."""
    admittance: Complexes
    """i = Y u of the conductors, all else open or bonded as the study says, shape (n, n). [S m]"""
    field: Complexes
    """(Bx, By) at the receptors per ampere, shape (r, 2, n). [T/A]"""


def transfer(section: CrossSection, fields: UnitFields, receptors: Floats) -> Transfer:
    """The maps of a solution, with the field at receptors (r, 2) [m]."""
    conductors = [part for part in section.parts if part.kind == CONDUCTOR]
    names = [part.name for part in conductors]
    of_conductors = set(names)
    single = [Tie((name,)) for name in names]
    rest = [tie for tie in section.ties if not of_conductors.intersection(tie.parts)]
    ties = (*single, *rest)
    n = len(names)
    unit = np.eye(len(ties), n, dtype=np.complex128)
    impedance = tie_voltages(fields.admittance, fields.part_names, ties, unit)
    voltages = membership(fields.part_names, ties) @ impedance  # parts' voltages of unit conductor currents
    probe = FieldProbe(fields)
    columns = [probe.flux_density(fields.potential(voltages[:, k]), receptors) for k in range(n)]
    circuits = list(dict.fromkeys(part.cable.circuit for part in conductors if part.cable))
    return Transfer(
        tuple(names),
        tuple(circuits.index(part.cable.circuit) for part in conductors if part.cable),
        np.asarray(np.linalg.inv(impedance[:n]), dtype=np.complex128),
        np.stack(columns, axis=-1) if columns else np.zeros((0, 2, n), dtype=np.complex128),
    )


@dataclass(frozen=True)
class Judged:
    """Numbers of a batch of orders."""

    currents: Complexes
    """Of each conductor, shape (orders, n). [A]"""
    voltages: Complexes
    """Of each phase, shape (orders, phases). [V/m]"""
    field: Floats
    """Resultant rms at each receptor, shape (orders, r). [T]"""


def judge(maps: Transfer, labels: Labels, phase_currents: Complexes) -> Judged:
    """Currents, voltages and fields of orders.

    Parameters
    ----------
    maps : Transfer
        What one solve says.
    labels : ndarray (orders, n) of int
        Index of the phase of each conductor; conductors of one phase are in parallel.
    phase_currents : ndarray (phases,)
        Net current of each phase. [A]
    """
    orders, n = labels.shape
    phases = len(phase_currents)
    member = (labels[:, :, None] == np.arange(phases)).astype(np.complex128)  # (orders, n, phases)
    flat = member.transpose(1, 0, 2).reshape(n, orders * phases)
    pooled = (maps.admittance @ flat).reshape(n, orders, phases).transpose(1, 0, 2)  # Y P
    tied = np.matmul(member.transpose(0, 2, 1), pooled)
    voltages = np.linalg.solve(tied, np.broadcast_to(phase_currents, (orders, phases))[:, :, None])[:, :, 0]
    currents = np.matmul(pooled, voltages[:, :, None])[:, :, 0]
    r = maps.field.shape[0]
    field = (currents @ maps.field.reshape(2 * r, n).T).reshape(orders, r, 2)
    return Judged(currents, np.asarray(voltages, dtype=np.complex128), np.sqrt(np.sum(np.abs(field) ** 2, axis=2)))
