"""A load at the end of a route: voltage drop, unbalance and current balance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from studies.formulas.unbalance import (
    largest_deviation_unbalance,
    negative_sequence_unbalance,
    sequence_components,
    zero_sequence_unbalance,
)
from studies.section.lines import ports_of
from studies.section.run_parts import Route, line_state, tied_impedance

CLOSED = 1e-9
"""Sum of the phase currents over the largest, up to which a circuit without neutral can carry them. [-]"""


@dataclass(frozen=True)
class CurrentLoad:
    """A load of given currents, at any voltage."""

    currents: tuple[complex, complex, complex]
    """Rms phasors of L1, L2, L3; the supply voltage of L1 is at angle 0. [A]"""


@dataclass(frozen=True)
class ImpedanceLoad:
    """A star of constant impedances, its centre on the neutral where the circuit has one, else free."""

    impedances: tuple[complex, complex, complex]
    """Of L1, L2, L3, none of them zero. [ohm]"""


Load = CurrentLoad | ImpedanceLoad


@dataclass(frozen=True)
class Delivered:
    """Voltages and currents at the load."""

    supply_voltages: Complexes
    """To neutral at the start of L1, L2, L3, shape (3,). [V]"""
    load_voltages: Complexes
    """To neutral at the end: to the neutral conductor there, or without one to the supply's neutral point by way of the
    far earth. Shape (3,). [V]"""
    currents: Complexes
    """Of L1, L2, L3, shape (3,). [A]"""
    neutral_current: complex
    """[A]"""

    @property
    def drops(self) -> Floats:
        """Fall of the magnitude of each phase's voltage to neutral, shape (3,). [V]"""
        fall: Floats = np.abs(self.supply_voltages) - np.abs(self.load_voltages)
        return fall

    @property
    def line_voltages(self) -> Floats:
        """Magnitudes of L1-L2, L2-L3, L3-L1 at the load, shape (3,). [V]"""
        return _line_voltages(self.load_voltages)

    @property
    def relative_line_drops(self) -> Floats:
        """Fall of the line to line voltages over those of the supply, shape (3,). [-]"""
        start = _line_voltages(self.supply_voltages)
        share: Floats = 1 - self.line_voltages / start
        return share

    @property
    def line_phasors(self) -> Complexes:
        """L1-L2, L2-L3, L3-L1 at the load, shape (3,). [V]"""
        return _line_phasors(self.load_voltages)

    @property
    def sequence_ratios(self) -> Complexes:
        """V0/V1 and V2/V1 at the load, shape (2,). [-]"""
        zero, positive, negative = sequence_components(self.load_voltages)
        ratios: Complexes = np.array([zero, negative]) / positive
        return ratios

    @property
    def current_ratio(self) -> complex:
        """I2/I1. [-]"""
        _, positive, negative = sequence_components(self.currents)
        return complex(negative / positive)

    @property
    def negative_sequence(self) -> float:
        """|V2|/|V1| at the load. [-]"""
        return float(negative_sequence_unbalance(self.load_voltages))

    @property
    def zero_sequence(self) -> float:
        """|V0|/|V1| at the load. [-]"""
        return float(zero_sequence_unbalance(self.load_voltages))

    @property
    def largest_deviation(self) -> float:
        """Largest deviation of a line voltage from the mean of the three, over the mean (NEMA MG 1). [-]"""
        return float(largest_deviation_unbalance(self.line_voltages))

    @property
    def current_unbalance(self) -> float:
        """|I2|/|I1|. [-]"""
        return float(negative_sequence_unbalance(self.currents))

    @property
    def loss(self) -> float:
        """Power lost between the supply and the load. [W]

        Of a circuit without neutral the power against the far earth; other circuits in the run add what they induce.
        """
        lost = np.sum((self.supply_voltages - self.load_voltages) * self.currents.conj())
        return float(lost.real)


def balanced_voltages(line_voltage: float) -> Complexes:
    """Voltages to neutral of a balanced supply, L1 at angle 0, for a line to line voltage [V], shape (3,). [V]"""
    if not (np.isfinite(line_voltage) and line_voltage > 0):
        raise ValueError(f"line_voltage must be finite and above 0 V: {line_voltage}")
    phasors: Complexes = line_voltage / np.sqrt(3) * np.exp(-2j * np.pi / 3 * np.arange(3))
    return phasors


def current_load(power: float, power_factor: float, line_voltage: float, leading: bool = False) -> CurrentLoad:
    """Balanced load of constant current that takes its power at the nominal voltage.

    power: Active power of the three phases together, above 0. [W]
    power_factor: cos phi, above 0 and at most 1. [-]
    line_voltage: Nominal line to line voltage. [V]
    leading: Whether the current leads.
    """
    voltages = balanced_voltages(line_voltage)
    one, two, three = (_apparent(power, power_factor, leading) / 3 / voltages).conj()
    return CurrentLoad((complex(one), complex(two), complex(three)))


def impedance_load(power: float, power_factor: float, line_voltage: float, leading: bool = False) -> ImpedanceLoad:
    """Balanced load of constant impedance that takes its power at the nominal voltage; parameters of `current_load`."""
    z = complex(
        abs(balanced_voltages(line_voltage)[0]) ** 2 / (_apparent(power, power_factor, leading) / 3).conjugate()
    )
    return ImpedanceLoad((z, z, z))


def deliver(route: Route, circuit: str, supply_voltages: Complexes, load: Load) -> Delivered:
    """Voltages and currents at the load of a circuit.

    route: The run; ties of other circuits carry the currents that the route gives them.
    circuit: The circuit, with L1, L2, L3 and perhaps N.
    supply_voltages: Voltages to neutral at the start, shape (3,). [V]

    V_load = V_supply - Z i - the voltage induced by the other circuits. With a neutral conductor the drops are those of
    the loops of phase and neutral; without one the currents sum to zero, and the centre of a star of impedances is
    free. Exact.
    """
    phases = ports_of(route, circuit)
    has_neutral = any(f"{circuit} N" in tie.parts for tie in route.ties)
    ports = [*phases, *(ports_of(route, circuit, ("N",)) if has_neutral else [])]
    impedance = tied_impedance(route, ports)
    induced = _induced(route, ports)
    # currents of the ports from those of the phases: the neutral returns them
    spread = np.vstack([np.eye(3), -np.ones((1, 3))]) if has_neutral else np.eye(3)
    loop: Complexes = spread.T @ impedance @ spread
    source: Complexes = supply_voltages - spread.T @ induced
    i = _currents(load, loop, source, has_neutral)
    return Delivered(supply_voltages, source - loop @ i, i, complex(-i.sum()) if has_neutral else 0j)


def _currents(load: Load, loop: Complexes, source: Complexes, has_neutral: bool) -> Complexes:
    if isinstance(load, CurrentLoad):
        i: Complexes = np.array(load.currents, dtype=np.complex128)
        if not has_neutral and abs(i.sum()) > CLOSED * np.abs(i).max():
            raise ValueError(f"without a neutral the currents must sum to zero, they sum to {abs(i.sum()):.6g} A")
        return i
    whole = loop + np.diag(np.array(load.impedances, dtype=np.complex128))
    if has_neutral:
        return np.asarray(np.linalg.solve(whole, source), dtype=np.complex128)
    ones = np.ones((3, 1))
    # the last unknown is the voltage of the star's centre
    system = np.block([[whole, ones], [ones.T, np.zeros((1, 1))]])
    return np.asarray(np.linalg.solve(system, np.append(source, 0))[:3], dtype=np.complex128)


def _induced(route: Route, ports: list[int]) -> Complexes:
    """Drop over the run in the ports from the currents of all other ties, shape (ports,). [V]"""
    state = line_state(route, dict.fromkeys(ports, 0j))
    first = [route.lines.index(route.ties[port].parts[0]) for port in ports]
    drops: Complexes = state.voltages[np.array(first, dtype=np.int64)]
    return drops


def _apparent(power: float, power_factor: float, leading: bool) -> complex:
    """Complex power of the three phases. [VA]"""
    if not (np.isfinite(power) and power > 0):
        raise ValueError(f"power must be finite and above 0 W: {power}")
    if not 0 < power_factor <= 1:
        raise ValueError(f"power_factor must be above 0 and at most 1: {power_factor}")
    reactive = power * np.sqrt(1 / power_factor**2 - 1)
    return complex(power, -reactive if leading else reactive)


def _line_phasors(voltages: Complexes) -> Complexes:
    phasors: Complexes = voltages - np.roll(voltages, -1)
    return phasors


def _line_voltages(voltages: Complexes) -> Floats:
    return np.abs(_line_phasors(voltages))
