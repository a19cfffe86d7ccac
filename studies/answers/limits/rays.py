"""Where a field falls to a limit for the last time along rays: sampled, bracketed and bisected."""

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
HALVINGS = 12
"""Of a bracket no wider than a quarter of its distance: its last width is 6e-5 of that, a straight line within it
leaves 1e-9. [-]"""
GOLDEN = (np.sqrt(5) - 1) / 2
PEAK_STEPS = 16
"""Golden sections of two steps around a peak, down to 5e-4 of their width: the height is flat there."""
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
    """Rising from 0, shape (k,). [m]"""
    values: Floats
    """Shape (rays, k), in the field's unit."""

    def chosen(self, which: Ints) -> SampledRays:
        """Some of the rays, by number."""
        return replace(self, rays=self.rays.chosen(which), values=self.values[which])

    def last_crossings(self, limits: float | Floats) -> Floats:
        """Distance along each ray beyond which the field stays at or under a limit, one or one a ray, shape (n,).

        Notes
        -----
        0 where the field never exceeds the limit, infinite where it still does at the largest distance. The field need
        not fall steadily: the outermost sample above the limit opens the bracket, or a peak between the samples
        further out. A straight line through the ends of the bisected bracket gives the distance. [m]
        """
        limit = np.broadcast_to(limits, len(self.values)).astype(np.float64)
        over = self.values > limit[:, None]
        last = np.where(over.any(axis=1), over.shape[1] - 1 - np.argmax(over[:, ::-1], axis=1), -1).astype(np.int64)
        inner = np.where(last >= 0, self.lengths[last], -1.0)
        rows, places = self._hidden_peaks(limit, last)
        np.maximum.at(inner, rows, places)
        crossings = np.where(inner < 0, 0.0, np.inf)
        found = np.flatnonzero((inner >= 0) & (inner < self.lengths[-1]))
        low = inner[found]
        high = self.lengths[np.searchsorted(self.lengths, low, side="right")]
        rays, wanted = self.rays.chosen(found), limit[found]
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            above = magnitudes(self.field, rays.points(middle)) > wanted
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        over_by, under_by = (abs(magnitudes(self.field, rays.points(end)) - wanted) for end in (low, high))
        with np.errstate(invalid="ignore"):  # infinite on a line current
            share = np.nan_to_num(over_by / np.maximum(over_by + under_by, np.finfo(float).tiny), nan=1.0)
        crossings[found] = low + share * (high - low)
        return crossings

    def _hidden_peaks(self, limit: Floats, last: Ints) -> tuple[Ints, Floats]:
        """Rays and distances of peaks above the limit between samples that are not, beyond the last that is."""
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
        above = magnitudes(self.field, rays.points(places)) > limit[rows]
        return rows[above], places[above]


def sample(field: Field, rays: Rays, lengths: Floats) -> SampledRays:
    """Sample a field along rays at lengths (k,) [m]."""
    points = rays.origins[:, None] + lengths[:, None] * rays.directions[:, None]
    values = magnitudes(field, points.reshape(-1, 2))
    return SampledRays(field, rays, lengths, values.reshape(len(rays.origins), len(lengths)))


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
