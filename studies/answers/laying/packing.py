"""Cables, or cleats of three, out of place side by side: pushed apart until none overlaps another or enters metal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from geometry.shapes import Shape, boundary_loops
from studies.section.parts import CrossSection

STEPS = 4
"""Steps in which the cables are moved; each is pushed apart, so that none steps over another or over a wall."""
ROUNDS = 200
"""Most rounds of a step."""
LEFT = 5e-6
"""Overlap that may be left. [m]"""
REACH = 5.0
"""Farthest move that is looked at, over the spread. [-]"""


@dataclass(frozen=True)
class Ground:
    """What holds the cables: one another, and the outlines of the metal about them."""

    axes: Complexes
    """As drawn, x + j y, shape (n,). [m]"""
    radii: Floats
    """Over all, shape (n,). [m]"""
    pairs: tuple[tuple[int, int, float], ...]
    """Cables that may meet, with the least distance of their axes. [m]"""
    walls: tuple[Complexes, ...]
    """Straight pieces of outlines near each cable, start and end, shape (w, 2) each. [m]"""

    def packed(self, moves: Complexes, first: Complexes | float = 0.0, bodies: Ints | None = None) -> Complexes:
        """The moves (s, n) [m] after pushing apart: each pair by halves along its line, each cable off a wall.

        first, shape (s, n): Moves that they follow on. [m]
        bodies, shape (n,): Of each cable the number of its body, that of cables in a row, which are pushed together.
        Returns moves, shape (s, n): From the places as drawn. [m]
        """
        numbers = np.arange(len(self.axes)) if bodies is None else bodies
        places = self.axes + first + np.zeros_like(moves)
        for _ in range(STEPS):
            places = self._apart(places + moves / STEPS, numbers)
        return places - self.axes

    def _apart(self, places: Complexes, bodies: Ints) -> Complexes:
        of_body = [slice(int(own[0]), int(own[-1]) + 1) for own in (np.flatnonzero(bodies == one) for one in bodies)]
        pairs = [pair for pair in self.pairs if bodies[pair[0]] != bodies[pair[1]]]
        places = places.copy()
        busy = np.arange(len(places))
        for _ in range(ROUNDS):
            own = places[busy]
            worst = np.zeros(len(own))
            for i, j, least in pairs:
                line = own[:, j] - own[:, i]
                away = np.abs(line)
                overlap = np.maximum(least - away, 0.0)
                push = overlap / 2 * line / np.maximum(away, 1e-12)
                own[:, of_body[i]] -= push[:, None]
                own[:, of_body[j]] += push[:, None]
                worst = np.maximum(worst, overlap)
            for k, walls in enumerate(self.walls):
                for start, end in walls:
                    line = own[:, k] - _nearest(own[:, k], start, end)
                    away = np.abs(line)
                    inside = np.maximum(self.radii[k] - away, 0.0)
                    own[:, of_body[k]] += (inside * line / np.maximum(away, 1e-12))[:, None]
                    worst = np.maximum(worst, inside)
            places[busy] = own
            busy = busy[worst > LEFT]
            if len(busy) == 0:
                break
        return places


def _nearest(points: Complexes, start: complex, end: complex) -> Complexes:
    """Nearest points of a straight piece to points (s,). [m]"""
    along = end - start
    share = np.clip(((points - start) * np.conj(along)).real / abs(along) ** 2, 0.0, 1.0)
    return np.asarray(start + share * along)


def _loops(shape: Shape) -> tuple[Floats, ...]:
    """Outlines of a solid, the outer one first, shape (m, 2) each. [m]"""
    outer, inner = boundary_loops(shape)
    return outer, *inner


def ground_of(section: CrossSection, spread: float) -> Ground:
    """What holds the cables of a cross-section, for moves of a spread [m].

    Cables that touch or overlap as drawn, and metal that they touch, may stay as near as they are drawn.
    """
    axes = np.array([complex(*cable.axis) for cable in section.cables])
    radii = np.array([cable.layers.outer_radius for cable in section.cables])
    reach = 2 * REACH * spread
    pairs = []
    for i in range(len(axes)):
        for j in range(i + 1, len(axes)):
            least, away = radii[i] + radii[j], abs(axes[j] - axes[i])
            if away < least + reach:
                pairs.append((i, j, min(least, away)))
    loops = [
        np.array([complex(*point) for point in loop])
        for part in section.parts
        if part.cable is None
        for loop in _loops(part.shape)
    ]
    pieces = np.concatenate([np.column_stack([loop, np.roll(loop, -1)]) for loop in loops] or [np.zeros((0, 2))])
    walls, kept = [], radii.copy()
    for k, axis in enumerate(axes):
        away = np.array([abs(axis - _nearest(np.array([axis]), *piece)[0]) for piece in pieces])
        near = away < radii[k] + reach / 2
        kept[k] = min(radii[k], away.min(initial=np.inf))
        walls.append(pieces[near])
    return Ground(axes, kept, tuple(pairs), tuple(walls))
