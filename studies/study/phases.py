"""Phase labels, and the phasor currents that a circuit's phases carry."""

import cmath
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from studies.study.quantities import QuantityError
from studies.text.problems import choice_of

PHASE_ANGLES: Mapping[str, float | None] = MappingProxyType(
    {"L1": 0.0, "L2": -2 * math.pi / 3, "L3": 2 * math.pi / 3, "N": None, "PE": None}
)
"""Allowed phase labels with their angle in a balanced positive sequence, L2 = a^2 L1, L3 = a L1. [rad]"""

NO_CURRENT_NEEDED = ("N", "PE")
"""Labels that need no stated current: N returns the sum of the others, PE carries none."""

PHASE_COLOURS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "light-to-dark": MappingProxyType(
            {"L1": "#f3d27a", "L2": "#dd8f55", "L3": "#3f6c9b", "N": "#eceff1", "PE": "#689a7a"}
        ),
        # line conductors brown, black, grey; neutral blue; protective green-and-yellow: IEC 60445 [M]
        "iec-60445": MappingProxyType(
            {"L1": "#8b5a2b", "L2": "#26282b", "L3": "#9098a0", "N": "#b5daf7", "PE": "#b7c92f"}
        ),
    }
)
"""Fill of a conductor in the figures by its phase, by the name of the scheme; the phases of one differ in grey too."""

LINES = ("L1", "L2", "L3")
OTHER_LINES = ("ABC", "RST", "UVW", "123")
"""What others call the phases L1, L2, L3, one sign each."""


def right_label(word: str, known: Iterable[str] = PHASE_ANGLES) -> str:
    """The label to write in place of a word that is none: L2 for S, as R, S, T are L1, L2, L3."""
    words = tuple(known)
    for signs in OTHER_LINES:
        at = signs.find(word.strip().upper())
        if len(word.strip()) == 1 and at >= 0 and LINES[at] in words:
            return f'"{LINES[at]}"; phases {", ".join(signs)} are written {", ".join(LINES)}'
    return choice_of(word, words)


def respelt(labels: Sequence[object]) -> tuple[list[str], str] | None:
    """Labels of a list as they are written here, and what others call them; None if it has no two such labels."""
    for signs in OTHER_LINES:
        meant = {**dict(zip(signs, LINES, strict=True)), **{label: label for label in PHASE_ANGLES}}
        words = [str(label).strip().upper() for label in labels]
        if sum(word in signs for word in words) > 1 and all(word in meant for word in words):
            return [meant[word] for word in words], ", ".join(signs)
    return None


class PhaseCurrent(NamedTuple):
    """Rms current of one phase label: magnitude [A] and angle [rad], None for the angle of the balanced circuit."""

    magnitude: float
    angle: float | None = None


class Harmonic(NamedTuple):
    """A harmonic of a circuit: share of each phase's fundamental [-], and the angle it is turned by [rad]."""

    share: float
    angle: float = 0.0


LOWEST_ORDER, HIGHEST_ORDER = 2, 50
"""Orders of harmonics that a study may state."""


def harmonic_order(key: object) -> int:
    """The order that a key of a table of harmonics stands for; a key that is none is a `QuantityError`."""
    right = f"a whole number from {LOWEST_ORDER} to {HIGHEST_ORDER}"
    order = key if isinstance(key, int) and not isinstance(key, bool) else None
    if isinstance(key, str) and re.fullmatch(r"[1-9][0-9]{0,8}", key):
        order = int(key)
    if order is None:
        raise QuantityError("is no order of a harmonic", right)
    if not LOWEST_ORDER <= order <= HIGHEST_ORDER:
        raise QuantityError(f"is outside the orders {LOWEST_ORDER} to {HIGHEST_ORDER}", right)
    return order


def without_path(order: int, phases: Sequence[str]) -> bool:
    """Whether a harmonic of this order has no path: in step in three phases, without a neutral to return by."""
    return order % 3 == 0 and set(LINES) <= set(phases) and "N" not in phases


def distinct(phases: Sequence[str]) -> tuple[str, ...]:
    """The labels in order of their first appearance; repeats are parallel cables of one phase."""
    return tuple(dict.fromkeys(phases))


def balanced_angles(phases: Sequence[str]) -> dict[str, float | None] | None:
    """Angle [rad] of the current of each label, None for one without net current; None if one magnitude says not all.

    L1, L2 and L3, with or without N and PE: balanced positive sequence, N and PE without net current. Exactly two
    labels, or two besides PE: go and return, the second opposite to the first, or the neutral to the other.
    """
    labels = distinct(phases)
    working = labels if len(labels) == 2 else tuple(label for label in labels if label != "PE")
    if len(working) == 2:
        go, back = reversed(working) if working[0] == "N" else working  # a neutral returns, wherever it lies
        angles: dict[str, float | None] = {go: 0.0, back: math.pi}
    elif set(LINES) <= set(labels):
        angles = {label: PHASE_ANGLES[label] for label in LINES}
    else:
        return None
    return {label: angles.get(label) for label in labels}


def angle_without_statement(label: str, phases: Sequence[str]) -> float | None:
    """Angle [rad] of a current stated without one: as in the balanced circuit; None if there is none."""
    angles = balanced_angles(phases)
    return PHASE_ANGLES.get(label) if angles is None else angles.get(label)


def currents_of(phases: Sequence[str], current: float | Mapping[str, PhaseCurrent]) -> dict[str, complex]:
    """Net rms phasor of each phase label, in the order of first appearance; its parallel cables share it. [A]

    One magnitude [A] means a balanced positive sequence, or go and return for two labels. In a table of currents, an N
    without one carries minus the sum of those stated, that of a PE included; a PE without one carries none.
    """
    labels = distinct(phases)
    if isinstance(current, Mapping):
        stray = [label for label in current if label not in labels]
        missing = [label for label in labels if label not in current and label not in NO_CURRENT_NEEDED]
        if stray or missing:
            raise ValueError(f"phases and currents do not match: without phase {stray}, without current {missing}")
        stated = {label: _phasor(label, phases, entry) for label, entry in current.items()}
        return {label: stated.get(label, _returned(stated) if label == "N" else 0j) for label in labels}
    angles = balanced_angles(phases)
    if angles is None:
        raise ValueError(f"one magnitude does not say what the phases {', '.join(labels)} carry; state each")
    return {label: 0j if angle is None else cmath.rect(current, angle) for label, angle in angles.items()}


def _returned(stated: Mapping[str, complex]) -> complex:
    """Current that a neutral returns for the others, exactly 0 if they balance. [A]"""
    total = sum(stated.values(), 0j)
    # angles are rounded: a balanced sum is 1e-16 of its terms
    return 0j if abs(total) <= 1e-12 * sum(map(abs, stated.values())) else -total


def _phasor(label: str, phases: Sequence[str], current: PhaseCurrent) -> complex:
    if current.magnitude == 0:
        return 0j
    angle = angle_without_statement(label, phases) if current.angle is None else current.angle
    if angle is None:
        raise ValueError(f"the current of {label} needs an angle")
    return cmath.rect(current.magnitude, angle)
