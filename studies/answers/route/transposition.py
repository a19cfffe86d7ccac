"""Gain of transposing the phases: the same run with none, one, two or five transpositions at equal distances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes
from fem.ties import Tie
from studies.answers.phases.compute import sequence_matrix
from studies.answers.route.supply import Delivered, Load, deliver
from studies.formulas.unbalance import z_deviation
from studies.section.lines import RunSection, SectionMaps, ports_of, route_of
from studies.section.run_parts import Route, tied_impedance
from studies.section.turning import turned

COUNTS = (0, 1, 2, 5)
"""Numbers of transpositions compared. [-]"""


@dataclass(frozen=True)
class Transposed:
    """One row: a run with some transpositions at equal parts."""

    transpositions: int
    at: tuple[float, ...]
    """Distances of the transpositions from the start. [m]"""
    impedance: Complexes
    """Of L1, L2, L3 over the whole run, shape (3, 3). [ohm]"""
    delivered: Delivered

    @property
    def phase_impedances(self) -> Complexes:
        """u/i of each phase with balanced currents, shape (3,). [ohm]"""
        i = np.exp(-2j * np.pi / 3 * np.arange(3))
        of_phases: Complexes = self.impedance @ i / i
        return of_phases

    @property
    def z_deviation(self) -> float:
        """`z_deviation` of u/i of the phases with balanced currents. [-]"""
        z = self.phase_impedances
        return float(z_deviation(z)) if np.all(np.isfinite(z)) else float("nan")

    @property
    def deviations(self) -> Complexes:
        """Of u/i of each phase from the mean of the three, over the mean, shape (3,). [-]"""
        z = self.phase_impedances
        of_phases: Complexes = z / z.mean() - 1
        return of_phases

    @property
    def coupling_ratio(self) -> complex:
        """Z21/Z11. [-]"""
        z = self.sequence_impedance
        return complex(z[2, 1] / z[1, 1])

    @property
    def sequence_impedance(self) -> Complexes:
        """In the order 0, 1, 2, shape (3, 3). [ohm]"""
        return sequence_matrix(self.impedance)

    @property
    def coupling(self) -> float:
        """|Z21|/|Z11|: negative sequence voltage of a positive sequence current. [-]"""
        return abs(self.coupling_ratio)


def transposed_route(
    maps: SectionMaps,
    circuit: str,
    length: float,
    transpositions: int,
    currents: Mapping[tuple[str, str], complex] | None = None,
    bonds: Sequence[Tie] = (),
) -> Route:
    """A run [m] of one cross-section, at each of some equally spaced places every phase of a circuit going on by one.

    Parallel cables of a phase go together to the places of the next phase; N and PE stay, and so do other circuits.
    """
    if transpositions < 0:
        raise ValueError(f"transpositions must be 0 or above: {transpositions}")
    parts, own = transpositions + 1, maps.labels(circuit)
    run_sections = [RunSection(length / parts, maps, {circuit: turned(own, k)}) for k in range(parts)]
    return route_of(run_sections, currents, bonds)


def compare_transpositions(
    maps: SectionMaps,
    circuit: str,
    length: float,
    supply_voltages: Complexes,
    load: Load,
    counts: Sequence[int] = COUNTS,
    currents: Mapping[tuple[str, str], complex] | None = None,
    bonds: Sequence[Tie] = (),
) -> tuple[Transposed, ...]:
    """A row for each number of transpositions.

    maps: The cross-section, with the circuit's study order in the first part.
    circuit: The circuit that is transposed, with L1, L2, L3.
    length: Length of the run. [m]
    supply_voltages: Voltages to neutral at the start, shape (3,). [V]
    counts: Numbers of transpositions. [-]
    currents: Currents of the other circuits. [A]
    bonds: Lines that are joined at both ends of the run, as in `route_of`.

    Two transpositions, or five, give each phase the same length in each position: the matrix is circulant, for the
    matrix of each part is symmetric, and balanced currents have equal impedances. One transposition does not.
    """
    rows = []
    for count in counts:
        route = transposed_route(maps, circuit, length, count, currents, bonds)
        at = tuple(float(place) for place in route.ends()[1:-1])
        impedance = tied_impedance(route, ports_of(route, circuit))
        rows.append(Transposed(count, at, impedance, deliver(route, circuit, supply_voltages, load)))
    return tuple(rows)
