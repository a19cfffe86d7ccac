"""Values of a field of several frequencies: rms, peak and peak to peak, of a component or of the worst direction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from studies.study.stated_limits import MAJOR_AXIS, PEAK_TO_PEAK, RESULTANT, RMS, X

DIRECTIONS = 720
"""Directions over half a turn: the field of the worst one is at most 3e-6 above that of the nearest."""
TIMES = 128
"""Instants in a period of the highest harmonic: a crest between two of them is at most 3e-4 of it higher."""
BETWEEN = 3.1e-4
"""That share, 1 - cos(pi/128). [-]"""
PHASES, CLOSER, ROUNDS = 12, 3, 3
"""Phases that are tried, how often about the best ones, each four times closer, and rounds of several unknowns."""
CHUNK = 4_000_000
"""Numbers that are held at a time."""


@dataclass(frozen=True)
class Tone:
    """The field of one frequency."""

    frequency: float
    """[Hz]"""
    base: float
    """Fundamental in step with it; the frequency itself if its phase to all others is open. [Hz]"""
    field: Complexes
    """(Bx, By), rms phasors, shape (2,). [T]"""


def field_value(tones: Sequence[Tone], value: str, component: str) -> float:
    """A value of the field of some tones. [T]

    tones: Those of one base are in step, with the phases of their phasors; bases are at the worst phase to each other.
    value: rms, peak or peak to peak.
    component: resultant, major axis, x or y.

    rms of the major axis: root of the largest eigenvalue of the sum of Re B B^H. Peaks of x and y, and of the direction
    in which they are largest, n: sum over the bases of max over time of n . B(t). The largest magnitude of the vector
    over time is its peak in that direction, so that resultant and major axis have one peak.
    """
    fields = np.array([tone.field for tone in tones]).reshape(-1, 2)
    if value == RMS:
        second = np.real(np.einsum("fi,fj->ij", fields, fields.conj()))
        square = {RESULTANT: second.trace(), MAJOR_AXIS: np.linalg.eigvalsh(second)[-1], X: second[0, 0]}
        return float(np.sqrt(max(float(square.get(component, second[1, 1])), 0.0)))
    if component in (RESULTANT, MAJOR_AXIS):
        angle = np.pi * np.arange(DIRECTIONS) / DIRECTIONS
        directions = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    else:
        directions = np.array([[1.0, 0.0] if component == X else [0.0, 1.0]])
    ends = [_ends(own, directions) for own in _by_base(tones).values()]
    high, low = np.sum([end[0] for end in ends], axis=0), np.sum([end[1] for end in ends], axis=0)
    return float((high - low).max() if value == PEAK_TO_PEAK else np.maximum(high, -low).max())


def worst_tones(
    tones: Sequence[Tone], added: Sequence[Complexes], value: Callable[[Sequence[Tone]], float]
) -> list[Tone]:
    """Tones with further fields of unknown phases, at the phases at which a value of them is largest.

    added: Of each tone (Bx, By) of what is added, shape (k, 2). [T]
    value: Of the tones. It is within 1e-4 of its largest with one unknown; of several, each is turned in its turn.
    """
    unknown = [(number, own) for number, every in enumerate(added) for own in every]
    phases = np.zeros(len(unknown))

    def turned(k: int, phase: float) -> list[Tone]:
        found = list(tones)
        for (number, own), at in zip(unknown, [*phases[:k], phase, *phases[k + 1 :]], strict=True):
            found[number] = replace(found[number], field=found[number].field + np.exp(1j * at) * own)
        return found

    for k in [*range(len(unknown))] * (1 if len(unknown) == 1 else ROUNDS):
        tried, step = 2 * np.pi * np.arange(PHASES) / PHASES, 2 * np.pi / PHASES
        for _ in range(CLOSER):
            phases[k] = tried[int(np.argmax([value(turned(k, phase)) for phase in tried]))]
            tried, step = phases[k] + step * np.linspace(-1, 1, 9), step / 4
    return turned(0, phases[0]) if unknown else list(tones)


def _by_base(tones: Sequence[Tone]) -> Mapping[float, list[Tone]]:
    groups: dict[float, list[Tone]] = {}
    for tone in tones:
        groups.setdefault(tone.base, []).append(tone)
    return groups


def _ends(tones: Sequence[Tone], directions: Floats) -> tuple[Floats, Floats]:
    """Largest and smallest value over time of the field in directions (d, 2), shape (d,) each. [T]"""
    along = np.array([tone.field for tone in tones]) @ directions.T  # (tones, d)
    if len(tones) == 1:
        crest = np.sqrt(2) * np.abs(along[0])
        return crest, -crest
    orders = np.array([round(tone.frequency / tone.base) for tone in tones])
    count = TIMES * int(orders.max())
    high, low = np.full(len(directions), -np.inf), np.full(len(directions), np.inf)
    step = max(CHUNK // len(directions), 1)
    for start in range(0, count, step):
        phase = 2 * np.pi * np.arange(start, min(start + step, count)) / count
        turning = np.sqrt(2) * np.exp(1j * np.outer(phase, orders))
        wave = turning.real @ along.real - turning.imag @ along.imag
        high, low = np.maximum(high, wave.max(axis=0)), np.minimum(low, wave.min(axis=0))
    return high, low
