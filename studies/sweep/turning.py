"""Transposition along the run: at each joint every phase of a circuit takes the place of the next one.

Parallel cables of a phase go together; N and PE stay where they are. Circuits that are transposed together turn at the
same joints, all by one phase.
"""

from __future__ import annotations

from collections.abc import Iterable

from studies.consistency.findings import labels_of
from studies.dotted_keys import Tree
from studies.phases import LINES
from studies.problems import choice_of
from studies.text.printable import shortened

NEXT = dict(zip(LINES, (*LINES[1:], LINES[0]), strict=True))
"""Each phase with the one that takes its place in the next section."""
EXAMPLE = 'transpose = ["F1"]'


def turned(phases: Iterable[str]) -> tuple[str, ...]:
    """The labels of the places in the next section."""
    return tuple(NEXT.get(phase, phase) for phase in phases)


def cyclic_orders(phases: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """The labels of the places in each of the three sections."""
    second = turned(phases)
    return phases, second, turned(second)


def transposed_sections(data: Tree, circuits: Iterable[str]) -> tuple[Tree, ...]:
    """The study's tables in each of three equal sections of a run on which some circuits are transposed."""
    names = set(circuits)
    sections = [data]
    for _ in range(len(LINES) - 1):
        entries = [_turned_circuit(own) if own.get("name") in names else own for own in circuits_of(sections[-1])]
        sections.append({**sections[-1], "circuits": entries})
    return tuple(sections)


def transpose_problem(value: object, data: Tree) -> tuple[str, str] | None:
    """What is wrong with the circuits that a variant transposes, and what would be right; None where nothing is."""
    if not isinstance(value, list) or not value or not all(isinstance(name, str) for name in value):
        return "is empty" if value == [] else "is not a list of circuits", EXAMPLE
    known = {str(own.get("name")): own for own in circuits_of(data)}
    three_phase = [name for name, own in known.items() if set(LINES) <= set(labels_of(own))]
    for number, name in enumerate(value):
        if name not in known:
            return f'names "{shortened(name)}", which is no circuit', choice_of(name, three_phase or known)
        if name in value[:number]:
            return f'names "{shortened(name)}" twice', "each circuit once"
        if name not in three_phase:
            return f'names "{name}", which has not all of {", ".join(LINES)}', "circuits with three phases" + (
                f", {choice_of(name, three_phase)}" if three_phase else "; this study has none"
            )
    return None


def circuits_of(data: Tree) -> list[Tree]:
    """The circuits of a study's tables, as far as they are tables."""
    circuits = data.get("circuits")
    return [circuit for circuit in circuits if isinstance(circuit, dict)] if isinstance(circuits, list) else []


def _turned_circuit(circuit: Tree) -> Tree:
    changed = dict(circuit)
    if isinstance(circuit.get("phases"), list):
        changed["phases"] = list(turned(circuit["phases"]))
    layers = circuit.get("drawn_on")
    if isinstance(layers, dict):  # the layers of a drawing are the places
        changed["drawn_on"] = dict(zip(turned(layers), layers.values(), strict=True))
    return changed
