"""The air of a zone, a little away from cables and metal, in which limits are judged; B is highest on its outline."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from fem.arrays import Floats, Ints
from geometry.clearance import polygon
from studies.section.parts import PlacedCable, StudyPart

CLEARANCES = (5e-3, 2e-3, 5e-4)
"""Distance from cables and metal at which the air of a zone begins; smaller if this leaves no air. [m]

The centre of a field sensor cannot come nearer [P]. On the surface itself B is unbounded at sharp corners of steel.
"""
STEP = 0.2
"""Distance between samples over the distance of the nearest metal. [-]

At x from its highest place, |B| of a line at a distance d falls as 1/sqrt(1 + (x/d)^2), |B| of a group without net
current as the square of this, and |B| of two opposing groups as its cube: half a step away it is at most 1.5 % lower.
"""
BOW = 0.01
"""Of chords of the outline, over the clearance. [-]"""
EDGES = ("lower", "right", "upper", "left")


@dataclass(frozen=True)
class ZoneAir:
    """The air of a rectangle."""

    low: Floats
    """[m]"""
    high: Floats
    """[m]"""
    clearance: float
    """From cables and metal. [m]"""
    solids: Mapping[str, shapely.Geometry]
    """Cables and metal in the rectangle or nearer to it than the clearance."""
    shape: shapely.Geometry
    """The rectangle without cables, metal and the clearance around them."""

    def where(self, point: Floats) -> str:
        """Edge of the zone, cable or metal at a point (2,) [m] of the outline."""
        here, reach = shapely.Point(point), 1.5 * self.clearance
        nearest = min(self.solids, key=lambda name: self.solids[name].distance(here), default="")
        if nearest and self.solids[nearest].distance(here) < reach:
            return f"{1e3 * self.clearance:g} mm from {nearest}"
        gaps = (point[1] - self.low[1], self.high[0] - point[0], self.high[1] - point[1], point[0] - self.low[0])
        least = 1e-3 * float(np.min(self.high - self.low))
        on = [edge for edge, gap in zip(EDGES, gaps, strict=True) if gap <= least]
        on.sort(key=lambda edge: edge in ("left", "right"))
        return f"{' '.join(on)} {'corner' if len(on) > 1 else 'edge'} of the zone" if on else "within the zone"


def air_of(cables: Sequence[PlacedCable], parts: Sequence[StudyPart], low: Floats, high: Floats) -> ZoneAir | None:
    """The air of a rectangle with corners (2,) [m] among cables and metal; None if these fill it.

    Cables count as solid with insulation and jacket: no person or instrument is inside.
    """
    box = shapely.box(*low, *high)
    solids = {f"cable {c.label}": shapely.Point(c.axis).buffer(c.layers.outer_radius, 64) for c in cables}
    solids |= {part.name: polygon(part.shape) for part in parts if part.cable is None}
    for clearance in CLEARANCES:
        near = {name: solid for name, solid in solids.items() if solid.distance(box) < clearance}
        grown = [solid.buffer(clearance) for solid in near.values()]
        shape = box.difference(shapely.union_all(grown)).simplify(BOW * clearance) if grown else box
        if shape.area > 0:
            return ZoneAir(low, high, clearance, near, shape)
    return None


def outline_samples(air: ZoneAir, distance: Callable[[Floats], Floats], step: float = STEP) -> list[Floats]:
    """Points around each ring of the air's outline, in order, the first repeated as the last, shape (q, 2) each. [m]

    In air without sources Bx and By are harmonic; therefore |Bx|^2 + |By|^2 is highest on the outline.

    distance: Distance of points (q, 2) [m] from the nearest metal, shape (q,). [m]
    step: Largest distance between samples over that distance. [-]
    """
    rings = []
    for line in shapely.get_parts(shapely.get_rings(shapely.get_parts(air.shape))):
        ring: Floats = shapely.get_coordinates(line)
        while True:
            length = np.linalg.norm(np.diff(ring, axis=0), axis=1)
            away = np.maximum(distance((ring[1:] + ring[:-1]) / 2), air.clearance / 2)
            pieces = np.ceil(np.minimum(length / (step * away), 8)).astype(np.int64)
            if pieces.max() <= 1:
                break
            ring = _divided(ring, pieces)
        rings.append(ring)
    return rings


def highest_on(
    rings: list[Floats], field: Callable[[Floats], Floats], share: float, rounds: int
) -> tuple[Floats, Floats]:
    """Places and values of the peaks of a field on rings, the highest first.

    rings, list of (q, 2): Samples in order, closed. [m]
    field: Magnitude (n,) at points (n, 2) [m].
    share: Peaks of the samples below this share of the highest are left out. [-]
    rounds: How often the spacing of the samples around a peak is divided by four.
    """
    triples, values = [], []
    for ring in rings:
        own = field(ring[:-1])
        peak = np.flatnonzero((own >= np.roll(own, 1)) & (own >= np.roll(own, -1)))
        triples.append(np.stack([ring[peak - 1 + (len(ring) - 1) * (peak == 0)], ring[peak], ring[peak + 1]], axis=1))
        values.append(own[peak])
    found, value = np.concatenate(triples), np.concatenate(values)
    found = found[value >= share * value.max()]
    for _ in range(rounds):
        shares = np.arange(4)[:, None] / 4
        pieces = [found[:, k, None] + shares * (found[:, k + 1] - found[:, k])[:, None] for k in (0, 1)]
        closer = np.concatenate([*pieces, found[:, 2:]], axis=1)
        at = np.clip(field(closer.reshape(-1, 2)).reshape(len(found), -1).argmax(axis=1), 1, 7)
        found = closer[np.arange(len(found))[:, None], at[:, None] + np.arange(-1, 2)]
    places = found[:, 1]
    magnitude = field(places)
    order = np.argsort(-magnitude, kind="stable")
    return places[order], magnitude[order]


def _divided(ring: Floats, pieces: Ints) -> Floats:
    """A ring with each of its straight pieces divided into a number of equal ones."""
    start = np.repeat(np.arange(len(pieces)), pieces)
    within = np.arange(len(start)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    along = within / pieces[start]
    points = ring[start] + along[:, None] * (ring[start + 1] - ring[start])
    return np.vstack([points, ring[-1:]])
