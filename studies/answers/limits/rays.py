"""Where a field falls to a limit for the last time along rays: sampled, bracketed, and closed in on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Floats, Ints
from studies.answers.limits.rectangle import Rays

Field = Callable[[Floats], Floats]
"""Magnitude (n,) of the field at points (n, 2) [m]; the resultant rms flux density [T], or an exposure index [-]."""

NEAR_STEP, FAR_STEP = 1.15, 1.25
"""Ratio of one sampled distance to the one before, near the arrangement and further away than `FAR` diagonals.

Every source lies inside the rectangle, so that the field changes over lengths like the distance itself.
"""
FAR = 4.0
FIRST = 1e-3
"""First sampled distance in diagonals of the rectangle. [-]"""
NEARLY = 0.8
"""A peak among the samples above this share of the limit is looked at more closely. [-]"""
CLOSE_ENOUGH = 1e-10
"""Relative difference of field and limit, or width of a bracket over its distance, at which a crossing is found. [-]"""
MOST_STEPS = 60
"""Steps towards a crossing; five or six are usual, and a bracket that is halved each time needs 35."""
LARGEST_LOGARITHM = 100.0
"""Of a field over its limit: no field, and the field on a line current, count as this far from it. [-]"""
GOLDEN = (np.sqrt(5) - 1) / 2
PEAK_STEPS = 16
"""Golden sections of two steps around a peak, down to 5e-4 of their width: the height is flat there."""
LENGTHS_AT_ONCE = 12
"""Lengths that are sampled before it is asked whether more are needed."""
POINTS_AT_ONCE = 8192
"""Points of one call of the field, so that its arrays stay small."""


def sampled_lengths(diagonal: float, largest: float) -> Floats:
    """Distances along a ray at which the field is sampled: 0, then in steps that grow, the last is the largest. [m]"""
    first, far = min(FIRST * diagonal, largest / 2), min(FAR * diagonal, largest)
    near = np.geomspace(first, far, int(np.ceil(np.log(far / first) / np.log(NEAR_STEP))) + 1)
    beyond = np.geomspace(far, largest, int(np.ceil(np.log(largest / far) / np.log(FAR_STEP))) + 1)
    return np.concatenate([[0.0], near, beyond[1:]])


@dataclass(frozen=True)
class SampledRays:
    """A field sampled along rays."""

    field: Field
    rays: Rays
    lengths: Floats
    """Rising from 0, or from one at which all rays exceed all limits, shape (k,). [m]"""
    values: Floats
    """Shape (rays, k), in the field's unit."""

    def chosen(self, which: Ints) -> SampledRays:
        """Some of the rays, by number."""
        return replace(self, rays=self.rays.chosen(which), values=self.values[which])

    def last_crossings(self, limits: float | Floats) -> Floats:
        """Distance along each ray beyond which the field stays at or under a limit, one or one a ray, shape (n,).

        0 where the field never exceeds the limit, infinite where it still does at the largest distance. The field need
        not fall steadily: the outermost sample above the limit opens the bracket, or a peak between the samples
        further out. [m]
        """
        limit = np.broadcast_to(limits, len(self.values)).astype(np.float64)
        over = self.values > limit[:, None]
        last = np.where(over.any(axis=1), over.shape[1] - 1 - np.argmax(over[:, ::-1], axis=1), -1).astype(np.int64)
        inner = np.where(last >= 0, self.lengths[last], -1.0)
        at_inner = self.values[np.arange(len(last)), last]
        rows, places, heights = self._hidden_peaks(limit, last)
        inner[rows], at_inner[rows] = places, heights  # further out than every sample above the limit
        crossings = np.where(inner < 0, 0.0, np.inf)
        found = np.flatnonzero((inner >= 0) & (inner < self.lengths[-1]))
        outer = np.searchsorted(self.lengths, inner[found], side="right")
        ends = np.stack([inner[found], self.lengths[outer]])
        values = np.stack([at_inner[found], self.values[found, outer]])
        crossings[found] = _crossings(self.field, self.rays.chosen(found), limit[found], ends, values)
        return crossings

    def _hidden_peaks(self, limit: Floats, last: Ints) -> tuple[Ints, Floats, Floats]:
        """Rays, distances and heights of peaks above the limit between samples that are not, beyond the last that is.

        In the order of their distance on each ray.
        """
        before, here, after = self.values[:, :-2], self.values[:, 1:-1], self.values[:, 2:]
        peak = (here >= before) & (here >= after) & (here > NEARLY * limit[:, None])
        peak &= np.arange(1, self.values.shape[1] - 1) > last[:, None]
        rows, columns = np.argwhere(peak).astype(np.int64).T
        rays = self.rays.chosen(rows)
        low, high = self.lengths[columns], self.lengths[columns + 2]
        for _ in range(PEAK_STEPS):
            left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
            rises = magnitudes(self.field, rays.points(left)) < magnitudes(self.field, rays.points(right))
            low, high = np.where(rises, left, low), np.where(rises, high, right)
        places = (low + high) / 2
        heights = magnitudes(self.field, rays.points(places))
        above = heights > limit[rows]
        return rows[above], places[above], heights[above]


def _crossings(field: Field, rays: Rays, limit: Floats, ends: Floats, values: Floats) -> Floats:
    """Where the field crosses a limit on each of n rays, by the method of Anderson and Bjorck.

    ends, values, shape (2, n): A distance with the field above the limit and one further out with the field at or under
    it [m], and the field there. The logarithm of the field is nearly a straight line between them. [m]
    """
    low, high = np.array(ends)
    above, under = _logarithms(values / limit)
    place: Floats = high.copy()
    kept_side = np.zeros(len(limit))
    open_ = np.flatnonzero(under < 0)
    for _ in range(MOST_STEPS):
        if len(open_) == 0:
            break
        a, b, x, y = low[open_], high[open_], above[open_], under[open_]
        tried = np.clip(b - y * (b - a) / (y - x), a, b)
        place[open_] = tried
        found = _logarithms(magnitudes(field, rays.chosen(open_).points(tried)) / limit[open_])
        inside = found > 0
        again = kept_side[open_] == np.where(inside, 1.0, -1.0)  # the same end moves twice: the other counts less
        share = 1 - found / np.where(inside, x, y)
        weight = np.where(again, np.where(share > 0, share, 0.5), 1.0)
        low[open_], above[open_] = np.where(inside, tried, a), np.where(inside, found, x * weight)
        high[open_], under[open_] = np.where(inside, b, tried), np.where(inside, y * weight, found)
        kept_side[open_] = np.where(inside, 1.0, -1.0)
        done = (np.abs(found) < CLOSE_ENOUGH) | (high[open_] - low[open_] < CLOSE_ENOUGH * high[open_])
        open_ = open_[~done]
    return place


def _logarithms(ratio: Floats) -> Floats:
    """Logarithms of a field over its limit, finite where there is no field or an infinite one."""
    with np.errstate(divide="ignore"):
        return np.clip(np.log(ratio), -LARGEST_LOGARITHM, LARGEST_LOGARITHM)


def sample(field: Field, rays: Rays, lengths: Floats, enough: float = np.inf) -> SampledRays:
    """Sample a field along rays at lengths (k,) [m].

    `enough`: from outside inwards, until the field exceeds this on all rays; smaller lengths are then left out.
    """
    pieces: list[Floats] = []
    first = len(lengths)
    while first > 0 and not (pieces and pieces[0][:, 0].min() > enough):
        some = lengths[max(first - LENGTHS_AT_ONCE, 0) : first]
        points = rays.origins[:, None] + some[:, None] * rays.directions[:, None]
        pieces.insert(0, magnitudes(field, points.reshape(-1, 2)).reshape(len(rays.origins), len(some)))
        first -= len(some)
    return SampledRays(field, rays, lengths[first:], np.hstack(pieces))


def magnitudes(field: Field, points: Floats) -> Floats:
    """The field at points (n, 2), refused where it is no magnitude; infinite on a line current is one."""
    if len(points) == 0:
        return np.empty(0)
    parts = []
    for first in range(0, len(points), POINTS_AT_ONCE):
        some = points[first : first + POINTS_AT_ONCE]
        parts.append(np.asarray(field(some), dtype=np.float64))
        if parts[-1].shape != (len(some),):
            raise ValueError(f"the field must have the shape ({len(some)},) at as many points: {parts[-1].shape}")
    values = np.concatenate(parts)
    wrong = np.flatnonzero(~(values >= 0))
    if len(wrong):
        x, y = points[wrong[0]]
        raise ValueError(f"the field must be 0 or above everywhere; at ({x:g} m, {y:g} m) it is {values[wrong[0]]:g}")
    return values
