"""Transposition: at each joint L1 moves to the place of L2, L2 to that of L3, and L3 to that of L1.

Parallel cables of a phase go together; N and PE keep their places. A variant of a comparison and sections written by
hand are the same run: both go through `studies.answers.route`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from studies.section.parts import CrossSection
from studies.study.phases import LINES

DIRECTION = "at each joint L1 moves to the place of L2, L2 to that of L3 and L3 to that of L1"
"""Direction of every transposition, in words."""
THIRDS = len(LINES)
"""Sections of a run on which each phase has each place once."""
UNIT_LENGTH = 300.0
"""Length of a transposed run if the study has no route; numbers per metre do not depend on it. [m]"""


def turned(labels: Sequence[str], steps: int) -> tuple[str, ...]:
    """A phase order in which each of L1, L2, L3 has gone on by some phases, L1 to the place of L2; N and PE stay."""
    return tuple(LINES[(LINES.index(label) - steps) % 3] if label in LINES else label for label in labels)


def cyclic_orders(labels: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The labels of the places in each of the three sections of a transposed run."""
    return tuple(turned(labels, steps) for steps in range(THIRDS))


def equal_thirds(labels: Mapping[str, Sequence[str]], length: float) -> list[dict[str, object]]:
    """The `[[route]]` tables of a run [m] on which some circuits, by the labels of their places, are transposed."""
    return [
        {
            "length": f"{length / THIRDS!r} m",
            "phases": {name: list(turned(own, steps)) for name, own in labels.items()},
        }
        for steps in range(THIRDS)
    ]


def relabelled(section: CrossSection, phases: Mapping[str, Sequence[str]]) -> CrossSection:
    """The same cross-section with other labels of its cables, circuit by circuit in the order of their positions.

    The currents of the phases stay with their labels; conductors that are parts of a bond stay as they are.
    """
    cables = tuple(replace(cable, phase=phases[cable.circuit][cable.position - 1]) for cable in section.cables)
    of = {(cable.circuit, cable.position): cable for cable in cables}
    parts = tuple(
        part if part.cable is None else replace(part, cable=of[part.cable.circuit, part.cable.position])
        for part in section.parts
    )
    given = {name for phase in section.phases for name in section.ties[phase.tie].parts}
    ties = list(section.ties)
    for phase in section.phases:
        own = [
            part.name
            for part in parts
            if part.name in given
            and part.cable is not None
            and (part.cable.circuit, part.cable.phase) == (phase.circuit, phase.phase)
        ]
        ties[phase.tie] = replace(ties[phase.tie], parts=tuple(own))
    return replace(section, cables=cables, parts=parts, ties=tuple(ties))
