"""Twisted cables and other runs in space: polylines that turn about their path."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from studies.section.course import FAR, Frames, frames_of
from studies.section.parts import CrossSection
from studies.study.course import TREFOIL, Course, OtherRun
from studies.study.phases import currents_of

CHORDS = 12
"""Chords of a turn of a twist. [-]"""
WIDENED = ((math.pi / CHORDS) / math.sin(math.pi / CHORDS)) ** 2
"""Radius of their corners over that of the twist: the field of the chords is then that of the curve to 1e-5 [D]."""
TURNS, TAPERED = 30, 10
"""Turns of a twist that goes on beyond an end of the path, and those over which it then shrinks to nothing.

A twist that stops has the field of its open end; one that shrinks slowly has none, as if it went on for ever.
"""


@dataclass(frozen=True)
class Bundle:
    """Cables as polylines that follow a path, each corner belonging to a piece of it."""

    lines: Floats
    """Corners of each cable, shape (m, k + 1, 3). [m]"""
    pieces: Ints
    """Piece of the path of each chord, shape (k,)."""
    names: tuple[str, ...]
    """Circuit and phase of each cable, or those of another run."""


def twisted(frames: Frames, centre: Floats, offsets: Floats, lay_length: float, names: tuple[str, ...]) -> Bundle:
    """Cables at offsets (m, 2) [m] from a centre (2,) [m] that turn once in each lay length. [m]"""
    path = frames.lines(centre[None])[0]
    path[0] += (FAR - (TURNS + TAPERED) * lay_length) * frames.starts_far * frames.along[0]
    path[-1] -= (FAR - (TURNS + TAPERED) * lay_length) * frames.ends_far * frames.along[-1]
    lengths = np.linalg.norm(np.diff(path, axis=0), axis=1)
    counts = np.ceil(lengths / lay_length * CHORDS).astype(int)
    pieces = np.repeat(np.arange(len(lengths)), counts)
    own = np.concatenate([np.arange(count) / count for count in counts])
    start = np.concatenate([[0.0], np.cumsum(lengths)])
    place = np.append(start[pieces] + own * lengths[pieces], start[-1])
    ends = np.append(pieces, len(lengths) - 1)
    middle = path[ends] + (place - start[ends])[:, None] * frames.along[ends]
    near = np.full(len(place), np.inf)
    if frames.starts_far:
        near = np.minimum(near, place)
    if frames.ends_far:
        near = np.minimum(near, start[-1] - place)
    size = WIDENED * np.sin(np.pi / 2 * np.minimum(near / (TAPERED * lay_length), 1.0)) ** 2
    turn = np.exp(2j * np.pi * place / lay_length)
    around = size * turn * (offsets[:, :1] + 1j * offsets[:, 1:])
    across = around.real[..., None] * frames.right[ends] + around.imag[..., None] * frames.upward[ends]
    return Bundle(middle + across, pieces, names)


def straight(frames: Frames, places: Floats, names: tuple[str, ...]) -> Bundle:
    """Cables at places (m, 2) [m] of a path that do not turn."""
    return Bundle(frames.lines(places), np.arange(len(frames.along)), names)


def own_twists(course: Course, frames: Frames, section: CrossSection) -> tuple[Bundle, ...]:
    """The twisted circuits of a cross-section, about the mean of their axes."""
    found = []
    for circuit, lay_length in course.twisted.items():
        cables = [cable for cable in section.cables if cable.circuit == circuit]
        axes = np.array([cable.axis for cable in cables])
        names = tuple(f"{cable.label}.conductor" for cable in cables)
        found.append(twisted(frames, axes.mean(axis=0), axes - axes.mean(axis=0), lay_length, names))
    return tuple(found)


def other_bundle(run: OtherRun) -> Bundle:
    """The cables of another run, straight or twisted."""
    frames = frames_of(Course(path=run.path))
    places = formation(run)
    if run.lay_length is None:
        return straight(frames, places, run.phases)
    return twisted(frames, places.mean(axis=0), places - places.mean(axis=0), run.lay_length, run.phases)


def other_currents(run: OtherRun) -> Complexes:
    """Rms phasors of another run's cables, those of a phase in parallel sharing equally, shape (m,). [A]"""
    currents = currents_of(run.phases, run.current)
    return np.array([currents[phase] / run.phases.count(phase) for phase in run.phases])


def formation(run: OtherRun) -> Floats:
    """Axes of another run about its path, shape (m, 2). [m]"""
    count = len(run.phases)
    if run.arrangement == TREFOIL:
        angles = np.radians([210.0, 330.0, 90.0])
        return run.spacing / math.sqrt(3) * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    across = run.spacing * (np.arange(count) - (count - 1) / 2)
    return np.stack([across, np.zeros(count)], axis=1)
