"""Drive of the parts by given currents, open parts, bonds and parallel parts, as small dense algebra."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats


@dataclass(frozen=True)
class Tie:
    """Parts that share one voltage per metre.

    One part with a current is driven, one without a current is open. Several parts are parallel (their currents sum to
    a given current) or bonded (their currents sum to zero, or return through an impedance).
    """

    parts: tuple[str, ...]
    current: complex = 0.0
    """Sum of the currents of the parts. [A]"""
    impedance: complex | None = None
    """Series impedance, 0 included, through which the sum returns; the sum is then not given. [ohm/m]"""


@dataclass(frozen=True)
class Drive:
    """State of all parts."""

    voltages: Complexes
    """u of each part, shape (N,). [V/m]"""
    currents: Complexes
    """i of each part, shape (N,). [A]"""


def membership(part_names: Sequence[str], ties: Sequence[Tie]) -> Floats:
    """1 at row i, column k if part i belongs to tie k, shape (N, ties); each part must belong to exactly one tie."""
    matrix = np.zeros((len(part_names), len(ties)))
    for g, tie in enumerate(ties):
        for part in tie.parts:
            if part not in part_names:
                raise ValueError(f"tie names a part that does not exist: {part!r}")
            matrix[part_names.index(part), g] += 1
    wrong = [name for name, count in zip(part_names, matrix.sum(axis=1), strict=True) if count != 1]
    if wrong:
        raise ValueError(f"each part must belong to exactly one tie: {', '.join(wrong)}")
    return matrix


def tied_admittance(admittance: Complexes, part_names: Sequence[str], ties: Sequence[Tie]) -> Complexes:
    """Admittance matrix of the ties without their series impedances, shape (ties, ties). [S m]"""
    member = membership(part_names, ties)
    return member.T @ admittance @ member


def tie_voltages(
    admittance: Complexes, part_names: Sequence[str], ties: Sequence[Tie], currents: Complexes
) -> Complexes:
    """Voltage of each tie for given sums of currents.

    admittance, shape (N, N): Y of the parts. [S m]
    ties: A partition of the parts.
    currents, shape (ties, k): Sum of the currents of each tie; ignored if the tie returns through an impedance. [A]
    Returns voltages, shape (ties, k): [V/m]

    i = Y u with i given, or u + z i = 0 if the sum returns through z.
    """
    tied = tied_admittance(admittance, part_names, ties)
    returns = np.array([tie.impedance is not None for tie in ties])
    series = np.array([tie.impedance or 0.0 for tie in ties], dtype=np.complex128)
    system = np.where(returns, series, 1.0)[:, None] * tied + np.diag(returns.astype(np.complex128))
    # rows are in siemens or plain numbers; they are scaled so that pivots can be compared
    scale = np.abs(system).max(axis=1)[:, None]
    given = np.where(returns[:, None], 0.0, currents)
    return np.linalg.solve(system / scale, given / scale)


def drive(admittance: Complexes, part_names: Sequence[str], ties: Sequence[Tie]) -> Drive:
    """Voltages and currents of all parts.

    admittance, shape (N, N): Y of the parts. [S m]
    ties: A partition of the parts.
    """
    totals = np.array([[tie.current] for tie in ties], dtype=np.complex128)
    voltages = membership(part_names, ties) @ tie_voltages(admittance, part_names, ties, totals)[:, 0]
    return Drive(voltages, admittance @ voltages)


def impedance_matrix(
    admittance: Complexes, part_names: Sequence[str], ties: Sequence[Tie], ports: Sequence[int]
) -> Complexes:
    """Impedance matrix of some ties with no net current in the others, shape (ports, ports). [ohm/m]

    Column k holds the voltages of the ports for one ampere in port k alone. This is the elimination (Kron reduction) of
    ties without net current and of ties that return through an impedance.
    """
    unit = np.zeros((len(ties), len(ports)), dtype=np.complex128)
    unit[list(ports), np.arange(len(ports))] = 1.0
    voltages = tie_voltages(admittance, part_names, ties, unit)
    return np.asarray(voltages[list(ports)], dtype=np.complex128)
