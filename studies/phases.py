"""Phase labels, and the phasor currents that a circuit's phases carry."""

import cmath
import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

PHASE_ANGLES: Mapping[str, float | None] = MappingProxyType(
    {"L1": 0.0, "L2": -2 * math.pi / 3, "L3": 2 * math.pi / 3, "N": None, "PE": None}
)
"""Allowed phase labels with their angle in a balanced positive sequence, L2 = a^2 L1, L3 = a L1. [rad]"""

NO_CURRENT_NEEDED = ("N", "PE")
"""Labels that carry no net current unless one is stated."""

LINES = ("L1", "L2", "L3")


class PhaseCurrent(NamedTuple):
    """Rms current of one phase label: magnitude [A] and angle [rad], None for the angle of the balanced circuit."""

    magnitude: float
    angle: float | None = None


def distinct(phases: Sequence[str]) -> tuple[str, ...]:
    """The labels in order of their first appearance; repeats are parallel cables of one phase."""
    return tuple(dict.fromkeys(phases))


def balanced_angles(phases: Sequence[str]) -> dict[str, float | None] | None:
    """Angle of each label where one magnitude says it all, or None where it does not.

    Parameters
    ----------
    phases : sequence of str
        Labels of the circuit's cables.

    Returns
    -------
    angles : dict of str to float or None
        Angle of the phase current; None for a label without net current. [rad]

    Notes
    -----
    L1, L2 and L3, with or without N and PE: balanced positive sequence, N and PE without net current. Exactly two
    labels, or two besides PE: go and return, the second opposite to the first.
    """
    labels = distinct(phases)
    working = labels if len(labels) == 2 else tuple(label for label in labels if label != "PE")
    if len(working) == 2:
        angles: dict[str, float | None] = {working[0]: 0.0, working[1]: math.pi}
    elif set(LINES) <= set(labels):
        angles = {label: PHASE_ANGLES[label] for label in LINES}
    else:
        return None
    return {label: angles.get(label) for label in labels}


def angle_without_statement(label: str, phases: Sequence[str]) -> float | None:
    """Angle [rad] of a current stated without one: as in the balanced circuit; None where there is none."""
    angles = balanced_angles(phases)
    return PHASE_ANGLES.get(label) if angles is None else angles.get(label)


def currents_of(phases: Sequence[str], current: float | Mapping[str, PhaseCurrent]) -> dict[str, complex]:
    """Net current of each phase label.

    Parameters
    ----------
    phases : sequence of str
        Labels of the circuit's cables.
    current : float or mapping of str to PhaseCurrent
        Rms magnitude of all phases [A], or of each label [A] with its angle [rad], None for the balanced one.

    Returns
    -------
    currents : dict of str to complex
        Rms phasors in the order of first appearance; shared by the parallel cables of a label. [A]
    """
    labels = distinct(phases)
    if isinstance(current, Mapping):
        stray = [label for label in current if label not in labels]
        missing = [label for label in labels if label not in current and label not in NO_CURRENT_NEEDED]
        if stray or missing:
            raise ValueError(f"phases and currents do not match: without phase {stray}, without current {missing}")
        return {label: _phasor(label, phases, current.get(label, PhaseCurrent(0.0))) for label in labels}
    angles = balanced_angles(phases)
    if angles is None:
        raise ValueError(f"one magnitude does not say what the phases {', '.join(labels)} carry; state each")
    return {label: 0j if angle is None else cmath.rect(current, angle) for label, angle in angles.items()}


def _phasor(label: str, phases: Sequence[str], current: PhaseCurrent) -> complex:
    if current.magnitude == 0:
        return 0j
    angle = angle_without_statement(label, phases) if current.angle is None else current.angle
    if angle is None:
        raise ValueError(f"the current of {label} needs an angle")
    return cmath.rect(current.magnitude, angle)
