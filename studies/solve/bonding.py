"""Cross-bonded screens: the current that is left if three minor sections do not cancel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fem.arrays import Complexes
from fem.solve import UnitFields
from fem.ties import Tie, tie_voltages
from studies.section.parts import CrossBond, CrossSection


def ties_with_cross_bonds(section: CrossSection, fields: UnitFields) -> tuple[Tie, ...]:
    """Ties of a section with the currents of its cross-bonded screens.

    Loop s of a cross bond runs through the parts s, s + 1, s + 2 of the three minor sections, all of one length. With
    the impedance matrix Z of the screens and the voltages e that the phases induce in them, the voltage of each loop
    along the run is sum_m e_{s+m} + sum_m (P_m' Z P_m i)_s. All loops of a bond share this voltage; their currents sum
    to zero or return through an impedance. In one circuit sum_m e_{s+m} is the same for all loops: without a return
    there is no current. The parts are given the currents of the first minor section.
    """
    if not section.cross_bonds:
        return section.ties
    names, ties = fields.part_names, section.ties
    ports = [next(k for k, tie in enumerate(ties) if tie.parts == (part,)) for part in _parts(section.cross_bonds)]
    given = np.array([[tie.current] for tie in ties], dtype=np.complex128)
    induced = tie_voltages(fields.admittance, names, ties, given)[ports, 0]
    unit = np.zeros((len(ties), len(ports)), dtype=np.complex128)
    unit[ports, np.arange(len(ports))] = 1.0
    impedance = tie_voltages(fields.admittance, names, ties, unit)[ports]
    currents = loop_currents(impedance, induced, [bond.impedance for bond in section.cross_bonds])
    found = list(ties)
    for port, current in zip(ports, currents, strict=True):
        found[port] = replace(ties[port], current=complex(current))
    return tuple(found)


def loop_currents(impedance: Complexes, induced: Complexes, returns: Sequence[complex | None]) -> Complexes:
    """Current of each loop of cross-bonded screens, three to a bond.

    impedance, shape (3 bonds, 3 bonds): Impedance matrix of the screens. [ohm/m]
    induced, shape (3 bonds,): Voltage of each screen without current. [V/m]
    returns: Impedance for the return of the sum of each bond's loop currents; None if they sum to zero. [ohm/m]
    """
    bonds = len(returns)
    size = 3 * bonds
    total, series = np.zeros(size, dtype=np.complex128), np.zeros((size, size), dtype=np.complex128)
    for shift in range(3):
        place = np.array([3 * (s // 3) + (s % 3 + shift) % 3 for s in range(size)])  # screen of loop s
        total += induced[place]
        series += impedance[np.ix_(place, place)]
    shared = np.kron(np.eye(bonds), np.ones((3, 1)))  # the voltage that the loops of a bond share
    system = np.block([[series, -shared], [shared.T, np.zeros((bonds, bonds))]])
    scale = np.abs(series).max()
    system[:size, size:] *= scale  # comparable numbers for the pivots
    system[size:, :size] *= scale
    for bond, closing in enumerate(returns):
        if closing is not None:  # V + 3 z sum i = 0 over the three sections
            system[size + bond, :size] *= 3 * closing / scale
            system[size + bond, size + bond] = scale
    right = np.concatenate([-total, np.zeros(bonds)])
    return np.linalg.solve(system, right)[:size]


def _parts(cross_bonds: tuple[CrossBond, ...]) -> list[str]:
    return [part for bond in cross_bonds for part in bond.parts]
