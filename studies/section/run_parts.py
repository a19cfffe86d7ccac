"""A route: lines from end to end, and sections in which each line has its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.ties import Tie, drive, impedance_matrix, membership, tie_voltages


@dataclass(frozen=True)
class JointTie(Tie):
    """A bond that is joined at the ends of the run and at every joint; its impedance is per metre. [ohm/m]"""


@dataclass(frozen=True)
class RunPart:
    """A part of the run with one cross-section and one order."""

    length: float
    """0 or above. [m]"""
    impedance: Complexes
    """Series impedance of the places of the cross-section, all other parts eliminated, shape (n, n). [ohm/m]"""
    places: tuple[int, ...]
    """Place of each line of the route, all different."""
    name: str = ""
    field: Complexes | None = None
    """(Bx, By) at the receptors of the section per ampere in each place, shape (r, 2, n). [T/A]"""

    def __post_init__(self) -> None:
        """Refuse a section that cannot be."""
        count = self.impedance.shape[0]
        if not (np.isfinite(self.length) and self.length >= 0):
            raise ValueError(f"length of a section must be finite and 0 m or above: {self.length}")
        if self.impedance.shape != (count, count) or not np.all(np.isfinite(self.impedance)):
            raise ValueError(f"impedance of a section must be finite and square: shape {self.impedance.shape}")
        if len(set(self.places)) < len(self.places) or not set(self.places) <= set(range(count)):
            raise ValueError(f"places of the lines must be different numbers from 0 to {count - 1}: {self.places}")
        if self.field is not None and (self.field.ndim != 3 or self.field.shape[1:] != (2, count)):
            raise ValueError(f"field of a section must have shape (receptors, 2, {count}): {self.field.shape}")

    def line_impedance(self) -> Complexes:
        """Series impedance per metre in the order of the route's lines, shape (lines, lines). [ohm/m]"""
        rows = np.array(self.places, dtype=np.int64)
        return self.impedance[np.ix_(rows, rows)]


@dataclass(frozen=True)
class Route:
    """Lines from the supply to the load, the ties at the two ends, and the sections between."""

    lines: tuple[str, ...]
    ties: tuple[Tie, ...]
    """Lines that are joined at both ends of the run, and there only, with their current; a line alone is a tie too.
    An impedance of a tie is that of the whole return. [ohm]"""
    sections: tuple[RunPart, ...]
    joint_ties: tuple[JointTie, ...] = ()
    """All other lines: those that are joined at every joint as well."""

    def __post_init__(self) -> None:
        """Refuse a route without length, and sections with other lines."""
        if not self.length > 0:
            raise ValueError("a route needs sections with a length above 0 m")
        for number, section in enumerate(self.sections, 1):
            if len(section.places) != len(self.lines):
                raise ValueError(f"section {number} has places for {len(section.places)} of {len(self.lines)} lines")

    @property
    def length(self) -> float:
        """Length of the whole run. [m]"""
        return float(sum(section.length for section in self.sections))

    def ends(self) -> Floats:
        """Distances of the ends of the sections from the start, shape (sections + 1,). [m]"""
        return np.concatenate([[0.0], np.cumsum([section.length for section in self.sections])])

    def through(self) -> list[int]:
        """Numbers of the lines that run through all joints, each with one current from end to end."""
        joined = {name for tie in self.joint_ties for name in tie.parts}
        return [number for number, name in enumerate(self.lines) if name not in joined]


@dataclass(frozen=True)
class RunState:
    """Currents and voltage drops of the lines of a route."""

    voltages: Complexes
    """Drop of each line over the whole run, shape (lines,). [V]"""
    currents: Complexes
    """Of each line in each section, shape (sections, lines); the same in all but for lines of a `JointTie`. [A]"""


def section_currents(route: Route, section: RunPart) -> Complexes:
    """Currents of all lines of a section per ampere in each line that runs through, shape (lines, through). [-]

    Lines of a `JointTie` share the voltage of the section, so that each section is a run of its own for them.
    """
    through = route.through()
    if not route.joint_ties:
        return np.eye(len(through), dtype=np.complex128)
    ties = (*(Tie((route.lines[k],)) for k in through), *route.joint_ties)
    admittance = np.asarray(np.linalg.inv(section.line_impedance()), dtype=np.complex128)
    unit = np.eye(len(ties), len(through), dtype=np.complex128)
    voltages = membership(route.lines, ties) @ tie_voltages(admittance, route.lines, ties, unit)
    currents: Complexes = admittance @ voltages
    currents[through] = np.eye(len(through))
    return currents


def run_impedance(route: Route) -> Complexes:
    """Series impedance of the lines that run through, over the whole run, shape (through, through). [ohm]

    Sum over the sections of length times the impedance per metre, its rows and columns in the order of the lines, the
    lines that are joined at the joints eliminated section by section.
    """
    through = route.through()
    parts = [
        section.length * (section.line_impedance() @ section_currents(route, section))[through]
        for section in route.sections
    ]
    total: Complexes = np.sum(parts, axis=0)
    return total


def tied_impedance(route: Route, ports: Sequence[int]) -> Complexes:
    """Series impedance of some ties over the whole run with no net current in the others, shape (ports, ports). [ohm]

    Lines of a tie share the voltage between the ends of the run, not that of each section: screens that are turned at
    joints, and parallel cables that change places, are joined at the ends only.
    """
    return impedance_matrix(_admittance(route), _names_through(route), route.ties, ports)


def line_state(route: Route, currents: Mapping[int, complex] | None = None) -> RunState:
    """Currents of all lines and their voltage drops over the whole run.

    currents: Net current of some ties in place of their own. [A]
    """
    given = currents or {}
    ties = [
        Tie(tie.parts, given.get(number, tie.current), tie.impedance) for number, tie in enumerate(route.ties)
    ]  # zero net current if a bond has none
    state, through = drive(_admittance(route), _names_through(route), ties), route.through()
    flowing = np.array([section_currents(route, section) @ state.currents for section in route.sections])
    lengths = np.array([section.length for section in route.sections])
    voltages: Complexes = lengths @ section_drops(route, flowing)
    voltages[through] = state.voltages
    return RunState(voltages, flowing)


def _names_through(route: Route) -> list[str]:
    return [route.lines[k] for k in route.through()]


def _admittance(route: Route) -> Complexes:
    """Admittance matrix of the lines that run through, over the whole run, shape (through, through). [S]"""
    return np.asarray(np.linalg.inv(run_impedance(route)), dtype=np.complex128)


def section_drops(route: Route, currents: Complexes) -> Complexes:
    """Voltage drop per metre of every line in each section, currents and drops of shape (sections, lines). [V/m]"""
    return np.array([part.line_impedance() @ own for part, own in zip(route.sections, currents, strict=True)])


def section_powers(route: Route, currents: Complexes) -> Complexes:
    """Complex power that enters each line per metre of each section, shape (sections, lines). [VA/m]

    conj(i) (Z i) by line. The sum over the lines is the loss of the section, of its lines and of all other metal, and
    its reactive power.
    """
    return section_drops(route, currents) * currents.conj()
