"""Currents of the circuits, with their frequencies and harmonics, as tables."""

from __future__ import annotations

import math
from dataclasses import dataclass

from studies.answers.answers import Answers
from studies.section.spectrum import components, fundamental
from studies.study.circuits import Circuit, FurtherCurrent, further_phase_currents, phase_currents
from studies.study.direct_currents import direct_phase_currents
from studies.study.file import Study
from studies.study.phases import LINES, Harmonic
from studies.text.blocks import Block
from studies.text.table import Column, Table
from studies.text.units import AMPERE, DEGREE, HERTZ, NUMBER, PER_CENT

SEQUENCES = {0: "zero", 1: "positive", 2: "negative"}
"""Sequence of a harmonic of a balanced circuit by its order modulo 3."""
FURTHER_NOTE = (
    "Of any ratio to the fundamental. Common mode: in step in all L phases, back in the PE of the circuit; a net "
    "current returns in bonded metal and the earth as stated, else far away. Conductors are solid here: strands "
    "twisted in layers carry currents of kilohertz a little otherwise."
)
HARMONIC_NOTE = (
    "Of the fundamental: share of each phase's fundamental. Turned by: added to the order's multiple of the phase's "
    "angle. The neutral carries the negative sum of the other phases. Fields of different frequencies are combined as "
    "the root of the sum of their squares, losses are added, and the exposure is the sum of the ratios to the levels."
)


@dataclass(frozen=True)
class CircuitPhase:
    """A phase of a circuit."""

    circuit: Circuit
    phase: str
    current: complex
    """[A]"""
    cables: int
    frequency: float
    """[Hz]"""
    direct: float
    """Direct current. [A]"""


@dataclass(frozen=True)
class HarmonicOrder:
    """A harmonic of a circuit."""

    circuit: Circuit
    order: int
    harmonic: Harmonic
    frequency: float
    """[Hz]"""
    largest: float
    """Largest current of the phases, rms. [A]"""


def current_blocks(result: Answers) -> tuple[Block, ...]:
    """Currents of the circuits, and their harmonics if any."""
    tables = _circuit_table(result), _harmonic_table(result), _further_table(result)
    return (tables[0], *(table for table in tables[1:] if table.rows))


@dataclass(frozen=True)
class FurtherOfCircuit:
    """A current of another frequency in a circuit."""

    circuit: Circuit
    further: FurtherCurrent

    @property
    def currents(self) -> dict[str, complex]:
        """By phase. [A]"""
        return further_phase_currents(self.circuit, self.further)


def _further_table(result: Answers) -> Table[FurtherOfCircuit]:
    columns: tuple[Column[FurtherOfCircuit], ...] = (
        Column("Circuit", lambda f: f.circuit.name),
        Column("Frequency", lambda f: f.further.frequency, HERTZ, stated=True),
        Column("Mode", lambda f: f.further.mode),
        Column("Largest current, rms", lambda f: max(map(abs, f.currents.values())), AMPERE),
        Column("Net current, rms", lambda f: abs(sum(f.currents.values())), AMPERE),
    )
    rows = [
        FurtherOfCircuit(circuit, further) for circuit in result.study.circuits for further in circuit.further_currents
    ]
    return Table("Further currents", columns, rows, FURTHER_NOTE)


def _circuit_table(result: Answers) -> Table[CircuitPhase]:
    study, cables = result.study, result.cross_section.cables
    several = any(circuit.frequency is not None for circuit in study.circuits)
    frequency = Column[CircuitPhase]("Frequency", lambda p: p.frequency, HERTZ, stated=True)
    direct = Column[CircuitPhase]("Direct current", lambda p: p.direct, AMPERE, stated=True)
    columns: tuple[Column[CircuitPhase], ...] = (
        Column("Phase", lambda p: f"{p.circuit.name} {p.phase}"),
        Column("Cable", lambda p: p.circuit.cable),
        Column("Arrangement", lambda p: p.circuit.arrangement),
        Column("Cables", lambda p: p.cables, NUMBER),
        *((frequency,) if several else ()),
        *((direct,) if study.has_direct_currents() else ()),
        Column(("Current, rms", "Angle"), lambda p: p.current, AMPERE, polar=True),
    )
    phases = [
        CircuitPhase(
            *(circuit, phase, current),
            cables=sum((cable.circuit, cable.phase) == (circuit.name, phase) for cable in cables),
            frequency=fundamental(study, circuit),
            direct=direct_phase_currents(circuit.phases, circuit.direct_current)[phase],
        )
        for circuit in study.circuits
        for phase, current in phase_currents(circuit).items()
    ]
    return Table("Circuits" if several else circuit_title(study), columns, phases)


def circuit_title(study: Study) -> str:
    """Title of the table of circuits of one frequency, which it names."""
    return f"Circuits, {study.frequency:g} Hz"


def _harmonic_table(result: Answers) -> Table[HarmonicOrder]:
    columns: tuple[Column[HarmonicOrder], ...] = (
        Column("Circuit", lambda h: h.circuit.name),
        Column("Order", lambda h: h.order, NUMBER),
        Column("Frequency", lambda h: h.frequency, HERTZ, stated=True),
        Column("Of the fundamental", lambda h: h.harmonic.share, PER_CENT),
        Column("Turned by", lambda h: h.harmonic.angle, DEGREE, stated=True),
        Column("Largest current, rms", lambda h: h.largest, AMPERE),
        Column("Sequence", lambda h: _sequence(h.circuit, h.order)),
    )
    study = result.study
    orders = [
        HarmonicOrder(circuit, order, harmonic, frequency, _largest(study, circuit, frequency))
        for circuit in study.circuits
        for order, harmonic in sorted(circuit.harmonics.items())
        for frequency in (order * fundamental(study, circuit),)
    ]
    return Table("Harmonics", columns, orders, HARMONIC_NOTE)


def _largest(study: Study, circuit: Circuit, frequency: float) -> float:
    """Largest current of a circuit at a frequency [Hz]; 0 if its fundamental is 0. [A]"""
    flowing = (
        abs(current)
        for component in components(study)
        if math.isclose(component.frequency, frequency, rel_tol=1e-9)
        for (name, _), current in component.currents.items()
        if name == circuit.name
    )
    return max(flowing, default=0.0)


def _sequence(circuit: Circuit, order: int) -> str | None:
    """Sequence of a harmonic of a circuit of three phases with one magnitude."""
    balanced = set(LINES) <= set(circuit.phases) and isinstance(circuit.current, float)
    return SEQUENCES[order % 3] if balanced else None
