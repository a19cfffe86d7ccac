"""The highest field of a place while some circuits are off: those that run may no longer cancel each other's field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.ties import drive
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.solution import Solution

MOST_CIRCUITS = 8
"""Of more circuits only one is taken to be off, not every choice of several. [-]"""


def solved_circuits(solution: Solution) -> tuple[str, ...]:
    """The circuits of a solution, in the order of the study; those of all frequencies are the same."""
    return tuple(dict.fromkeys(phase.circuit for phase in solution.section.phases))


def fields_of_circuits(solution: Solution, points: Floats) -> Complexes:
    """(Bx, By) of each circuit with the others off, but all metal in place, at points (q, 2) [m], shape (c, q, 2). [T]

    Their sum is the field of the study. Saturating steel keeps the permeability that all circuits together give it.
    """
    section, fields = solution.section, solution.solved.fields
    probe, found = FieldProbe(fields), []
    for circuit in solved_circuits(solution):
        on = {phase.tie for phase in section.phases if phase.circuit == circuit}
        carrying = {phase.tie for phase in section.phases} - on
        ties = tuple(replace(tie, current=0.0) if k in carrying else tie for k, tie in enumerate(section.ties))
        only = ties_with_cross_bonds(replace(section, ties=ties), fields)
        found.append(
            probe.flux_density(fields.potential(drive(fields.admittance, fields.part_names, only).voltages), points)
        )
    return np.stack(found)


def highest_with_some_off(circuits: Sequence[str], fields: Sequence[Complexes]) -> tuple[float, str] | None:
    """Highest resultant of some circuits alone at one point [T], and which are off, in words; None of one circuit.

    fields, shape (c, 2) each: (Bx, By) of each circuit at the point, one array for each frequency. [T]
    """
    best: tuple[float, tuple[int, ...]] | None = None
    for off in _choices(len(circuits)):
        on = np.ones(len(circuits))
        on[list(off)] = 0.0
        then = float(np.sqrt(sum(np.sum(np.abs(on @ own) ** 2) for own in fields)))
        if best is None or then > best[0]:
            best = then, off
    return None if best is None else (best[0], " and ".join(circuits[k] for k in best[1]))


def _choices(count: int) -> Iterator[tuple[int, ...]]:
    """Circuits that may be off, never all."""
    most = count - 1 if count <= MOST_CIRCUITS else 1
    for size in range(1, most + 1):
        yield from combinations(range(count), size)
