"""What drives the parts: given currents, open parts, bonds and parallel parts, as small dense algebra."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.mesh import Complexes, Floats


@dataclass(frozen=True)
class Tie:
    """Parts that share one voltage per metre.

    One part with a current is a driven part, with no current an open one; several are parallel (their currents sum
    to a given current) or bonded (they sum to zero, or return through an impedance).
    """

    parts: tuple[str, ...]
    current: complex = 0.0
    """Sum of the parts' currents. [A]"""
    impedance: complex | None = None
    """Where given, the sum is not given but returns through this series impedance. [ohm/m]"""


@dataclass(frozen=True)
class Drive:
    """State of all parts."""

    voltages: Complexes
    """u of each part, shape (N,). [V/m]"""
    currents: Complexes
    """i of each part, shape (N,). [A]"""


def membership(part_names: Sequence[str], ties: Sequence[Tie]) -> Floats:
    """Matrix of ones where a part belongs to a tie, shape (N, ties); each part must belong to exactly one."""
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
    """Admittance matrix of the ties, with the impedances of those that have one, shape (ties, ties). [S m]"""
    member = membership(part_names, ties)
    series = np.diag([0j if tie.impedance is None else 1 / tie.impedance for tie in ties])
    tied: Complexes = member.T @ admittance @ member + series
    return tied


def drive(admittance: Complexes, part_names: Sequence[str], ties: Sequence[Tie]) -> Drive:
    """Voltages and currents of all parts.

    Parameters
    ----------
    admittance : ndarray (N, N)
        Y of the parts. [S m]
    part_names : sequence of str
        Their names.
    ties : sequence of Tie
        A partition of the parts.
    """
    totals = np.array([0.0 if tie.impedance is not None else tie.current for tie in ties], dtype=np.complex128)
    shared = np.linalg.solve(tied_admittance(admittance, part_names, ties), totals)
    voltages = membership(part_names, ties) @ shared
    return Drive(voltages, admittance @ voltages)


def impedance_matrix(
    admittance: Complexes, part_names: Sequence[str], ties: Sequence[Tie], ports: Sequence[int]
) -> Complexes:
    """Impedance matrix of some ties with no net current in the others, shape (ports, ports). [ohm/m]

    Notes
    -----
    Y + 1/Z of the ties is inverted whole; leaving out the rows and columns of undriven ties of the inverse is the
    elimination (Kron reduction) of parts without net current.
    """
    inverse = np.linalg.inv(tied_admittance(admittance, part_names, ties))
    return np.asarray(inverse[np.ix_(ports, ports)], dtype=np.complex128)
