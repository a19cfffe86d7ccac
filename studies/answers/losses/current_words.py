"""What the circuits carry, with their frequencies and harmonics, as blocks."""

from __future__ import annotations

import math

from studies.answers.answers import Answers
from studies.section.spectrum import components, fundamental
from studies.study.file import Circuit, Study, phase_currents
from studies.study.phases import LINES
from studies.text.blocks import Block
from studies.text.grid import Grid, Head
from studies.text.numbers import MINUS, NONE, angle, fixed, percent, significant
from studies.text.units import AMPERE

SEQUENCES = {0: "zero", 1: "positive", 2: "negative"}
"""Sequence of a harmonic of a balanced circuit by its order modulo 3."""


def current_blocks(result: Answers) -> tuple[Block, ...]:
    """Currents of the circuits, and their harmonics if any."""
    study = result.study
    several = any(circuit.frequency is not None for circuit in study.circuits)
    columns = [Head("Phase"), Head("Cable"), Head("Arrangement"), Head("Cables", "–")]
    columns += [Head("Frequency", "Hz")] if several else []
    columns += [Head("Current, rms", "A"), Head("Angle", "°")]
    rows = []
    for circuit in study.circuits:
        own = [cable for cable in result.cross_section.cables if cable.circuit == circuit.name]
        for phase, current in phase_currents(circuit).items():
            count = str(sum(cable.phase == phase for cable in own))
            row = [f"{circuit.name} {phase}", circuit.cable, circuit.arrangement, count]
            row += [f"{fundamental(study, circuit):g}"] if several else []
            row += [significant(abs(current), AMPERE), angle(current)]
            rows.append(tuple(row))
    title = "Circuits" if several else circuit_title(study)
    table = Grid(title, tuple(columns), tuple(rows))
    return (table, _harmonic_table(result)) if any(circuit.harmonics for circuit in study.circuits) else (table,)


def circuit_title(study: Study) -> str:
    """Title of the table of circuits of one frequency, which it names."""
    return f"Circuits, {study.frequency:g} Hz"


def _harmonic_table(result: Answers) -> Grid:
    rows = []
    for circuit in result.study.circuits:
        base = fundamental(result.study, circuit)
        for order, harmonic in sorted(circuit.harmonics.items()):
            flowing = (
                abs(current)
                for component in components(result.study)
                if math.isclose(component.frequency, order * base, rel_tol=1e-9)
                for (name, _), current in component.currents.items()
                if name == circuit.name
            )
            largest = max(flowing, default=0.0)  # nothing flows where the fundamental is zero
            rows.append(
                (
                    circuit.name,
                    str(order),
                    f"{order * base:g}",
                    percent(harmonic.share, signed=False),
                    fixed(math.degrees(harmonic.angle), 1).replace("-", MINUS),
                    significant(largest, AMPERE),
                    _sequence(circuit, order),
                )
            )
    return Grid(
        "Harmonics",
        (
            Head("Circuit"),
            Head("Order", "–"),
            Head("Frequency", "Hz"),
            Head("Of the fundamental", "%"),
            Head("Turned by", "°"),
            Head("Largest current, rms", "A"),
            Head("Sequence"),
        ),
        tuple(rows),
        "Each phase carries this share of its fundamental at the order's multiple of its angle, turned by the angle "
        "given; the neutral carries what the other phases leave. Fields of different frequencies are combined as the "
        "root of the sum of their squares, losses are added, exposure is the sum of the ratios to the levels.",
    )


def _sequence(circuit: Circuit, order: int) -> str:
    """Sequence of a harmonic of a circuit of three phases with one magnitude."""
    balanced = set(LINES) <= set(circuit.phases) and isinstance(circuit.current, float)
    return SEQUENCES[order % 3] if balanced else NONE
