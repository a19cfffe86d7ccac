"""Least distance from an arrangement beyond which its field stays at or under a limit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Floats
from studies.answers.limits.rays import Field, SampledRays, sample, sampled_lengths
from studies.answers.limits.rectangle import Rectangle, perimeter_rays, side_rays
from studies.answers.limits.rows import DIRECTIONS, MET, NOT_EXCEEDED, NOT_MET, OVERALL

LARGEST_DISTANCE = 1000.0
"""From the rectangle; what is not met within it is not looked for further out. [m]"""
CORNER_RAYS = 16
"""Rays in the quarter turn about each corner."""
SIDE_RAYS = (16, 96)
"""Fewest and most rays of a side, even so that one is in its middle."""
RAYS_PER_HEIGHT = 8
"""Rays of a side on a length like the shorter side of the rectangle."""
CANDIDATES = 4
"""Peaks of the distance around the rectangle, the largest first, between whose neighbours rays are added."""
REFINEMENTS, SUBDIVISIONS = 3, 5
"""The place of the largest distance is found to 1/5^3 of the space between two rays."""
NO_SHORTER = 0.9
"""What lies below this share of the largest distance found is left out in its refinement. [-]"""
LARGEST_ERROR = 0.9
"""The error of a point where fields cancel, over what little is left, is no measure of the field elsewhere. [-]"""


@dataclass(frozen=True)
class LimitDistance:
    """Where the field falls to the limit, in one direction or furthest of all."""

    direction: str
    """right, up, left or down: along the ray from the middle of that side; overall: the largest of all directions."""
    state: str
    """met; not exceeded: nowhere outside the rectangle; not met: the limit is exceeded at the largest distance too."""
    from_outline_m: float | None
    """Least distance from the rectangle; 0 where the limit is not exceeded, None where it is not met."""
    error_m: float | None
    """Of both distances, from the field's relative error; None where it makes it unsure that the limit is met."""
    from_centre_m: float | None
    """Distance of the same point from the middle of the rectangle; None where the limit is not exceeded or not met."""
    point_m: tuple[float, float] | None
    """None where there is none."""


@dataclass(frozen=True)
class LimitDistances:
    """Distances at which one limit is met."""

    limit_t: float
    sides: tuple[LimitDistance, ...]
    """right, up, left, down."""
    overall: LimitDistance


RelativeError = float | Callable[[Floats], Floats]
"""Relative error estimate of a field: one for all, or (n,) at points (n, 2) [m]. [-]"""


@dataclass(frozen=True)
class Surroundings:
    """A field sampled around an arrangement, for any number of limits."""

    rectangle: Rectangle
    largest_distance: float
    """[m]"""
    straight: SampledRays
    """Out of the middle of each side."""
    around: SampledRays
    """All round."""
    places: Floats
    """Of these rays around the rectangle, shape (n,)."""


def surroundings(
    field: Field,
    rectangle: Rectangle,
    highest: float,
    largest_distance: float = LARGEST_DISTANCE,
    sampled: Field | None = None,
) -> Surroundings:
    """Sample a field around an arrangement; the arguments are those of `limit_distances`.

    `highest`: the highest limit that will be asked for; what lies within its distance, error included, is left out.
    `sampled`: the field at many points at once, which opens the brackets; `field` then closes them.
    """
    _require_positive("largest_distance", largest_distance)
    lengths, places = sampled_lengths(rectangle.diagonal, largest_distance), _places(rectangle)
    enough = highest / (1 - LARGEST_ERROR)
    both = [
        sample(sampled or field, rays, lengths, enough)
        for rays in (side_rays(rectangle), perimeter_rays(rectangle, places))
    ]
    straight, around = (replace(own, field=field) for own in both)
    return Surroundings(rectangle, largest_distance, straight, around, places)


def limit_distances(
    field: Field,
    rectangle: Rectangle,
    limit: float,
    relative_error: RelativeError = 0.0,
    largest_distance: float = LARGEST_DISTANCE,
) -> LimitDistances:
    """Distances beyond which a field stays at or under a limit.

    `field`: resultant rms flux density [T] (n,) at points (n, 2) [m], called outside the rectangle and on it.
    `rectangle`: encloses every solid that carries current; distances count from it. [m]
    `limit`: rms flux density, above 0. [T]
    `relative_error`: estimate of the relative error e of the field, from 0 to below 1, or it at points. [-]
    `largest_distance`: from the rectangle; nothing is said beyond. [m]

    The distances are straight out of the middle of each side, and overall: the point furthest from the rectangle at
    which the limit is exceeded in any direction. [m]

    The outermost crossing counts, found to better than 1e-4 of the distance. The error is the larger of the two changes
    of the distance when the field is (1 + e) and (1 - e) times what it is, e as it is at the crossing. With an exposure
    index as the field and 1 as the limit the same distances hold for an index.
    """
    _require_positive("limit", limit)
    return distances_in(surroundings(field, rectangle, limit, largest_distance), limit, relative_error)


def distances_in(sampled: Surroundings, limit: float, relative_error: RelativeError = 0.0) -> LimitDistances:
    """Distances beyond which a sampled field stays at or under a limit, see `limit_distances`."""
    _require_positive("limit", limit)
    if not callable(relative_error) and not 0 <= relative_error < 1:
        raise ValueError(f"relative_error must be from 0 to below 1: {relative_error!r}")
    rectangle, straight = sampled.rectangle, sampled.straight
    crossings = _with_bounds(straight, straight.last_crossings(limit), limit, relative_error)
    sides = tuple(
        _distance(side, rectangle, straight, k, (crossings[0][k], crossings[1][k], crossings[2][k]), limit)
        for k, side in enumerate(DIRECTIONS)
    )
    overall = _overall(rectangle, sampled.around, sampled.places, limit, relative_error)
    return LimitDistances(limit, sides, overall)


def _distance(
    direction: str,
    rectangle: Rectangle,
    sampled: SampledRays,
    which: int,
    crossings: tuple[float, float, float],
    limit: float,
) -> LimitDistance:
    """The result on one ray from its crossings of the limit, of the limit over 1 + e, and over 1 - e."""
    here, upper, lower = (float(crossing) for crossing in crossings)
    if math.isinf(here):
        return LimitDistance(direction, NOT_MET, None, None, None, None)
    error = max(upper - here, here - lower) if math.isfinite(upper) else None
    if here == 0:
        return LimitDistance(direction, NOT_EXCEEDED, 0.0, error, None, None)
    x, y = sampled.rays.origins[which] + here * sampled.rays.directions[which]
    away = float(np.hypot(*(np.array([x, y]) - rectangle.centre)))
    return LimitDistance(direction, MET, here, error, away, (float(x), float(y)))


def _with_bounds(
    sampled: SampledRays, here: Floats, limit: float, relative_error: RelativeError
) -> tuple[Floats, Floats, Floats]:
    """Crossings of a limit, known already, and those of a field that is larger and smaller by its error there."""
    reached = np.where(np.isfinite(here), here, sampled.lengths[-1])
    error = relative_error(sampled.rays.points(reached)) if callable(relative_error) else relative_error
    error = np.clip(np.broadcast_to(error, len(here)), 0.0, LARGEST_ERROR)
    both = sampled.chosen(np.tile(np.arange(len(here)), 2)).last_crossings(
        limit / np.concatenate([1 + error, 1 - error])
    )
    upper, lower = np.split(both, 2)
    return here, upper, lower


def _overall(
    rectangle: Rectangle, around: SampledRays, places: Floats, limit: float, relative_error: RelativeError
) -> LimitDistance:
    """The result of the place from which the limit is furthest."""
    lengths = around.last_crossings(limit)
    best = int(np.argmax(lengths))
    # what may be furthest within the error: nearly the longest, or any where the limit is nowhere exceeded
    longest = np.flatnonzero(lengths >= NO_SHORTER * lengths[best])
    bounds = _with_bounds(around.chosen(longest), lengths[longest], limit, relative_error)
    upper, lower = (float(bound.max()) for bound in bounds[1:])
    result = _distance(OVERALL, rectangle, around, best, (float(lengths[best]), upper, lower), limit)
    if result.state == MET:
        place, length = _refined(rectangle, around, places, lengths, limit)
        ray = replace(around, rays=perimeter_rays(rectangle, np.array([place])))
        refined = _distance(OVERALL, rectangle, ray, 0, (length, length, length), limit)
        result = replace(refined, error_m=result.error_m)
    return result


def _refined(
    rectangle: Rectangle, around: SampledRays, places: Floats, lengths: Floats, limit: float
) -> tuple[float, float]:
    """Place and length of the largest distance: rays are set closer and closer about the largest peaks."""
    peaks = np.flatnonzero((lengths >= np.roll(lengths, 1)) & (lengths >= np.roll(lengths, -1)))
    chosen = peaks[np.argsort(-lengths[peaks], kind="stable")[:CANDIDATES]]
    gaps = np.mod(np.diff(places, append=places[0] + 8), 8)
    gap = np.maximum(gaps, np.roll(gaps, 1))[chosen]
    middle, top = places[chosen], lengths[chosen]
    nothing_shorter = NO_SHORTER * top.max()
    beyond = np.concatenate([[nothing_shorter], around.lengths[around.lengths > nothing_shorter]])
    offsets = np.arange(-SUBDIVISIONS, SUBDIVISIONS + 1) / SUBDIVISIONS
    for _ in range(REFINEMENTS):
        tried = middle[:, None] + gap[:, None] * offsets
        closer = sample(around.field, perimeter_rays(rectangle, tried.ravel()), beyond)
        reached = closer.last_crossings(limit).reshape(tried.shape)
        at = np.argmax(reached, axis=1)
        row = np.arange(len(chosen))
        better = reached[row, at] > top
        middle, top = np.where(better, tried[row, at], middle), np.where(better, reached[row, at], top)
        gap = gap / SUBDIVISIONS
    winner = int(np.argmax(top))
    return float(middle[winner]), float(top[winner])


def _places(rectangle: Rectangle) -> Floats:
    """Places around a rectangle that are looked at, rising from 0 to below 8, shape (n,)."""
    sides = 2 * rectangle.half
    fewest, most = SIDE_RAYS
    finest = sides.min() / RAYS_PER_HEIGHT
    parts = []
    for step in range(8):
        count = CORNER_RAYS
        if step % 2 == 0:
            length = sides[1 if step % 4 == 0 else 0]
            count = int(np.clip(2 * np.ceil(length / finest / 2), fewest, most)) if finest > 0 else most
        parts.append(step + np.arange(count) / count)
    return np.concatenate(parts)


def _require_positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be finite and above 0: {value!r}")
