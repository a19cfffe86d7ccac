"""Where the field of a case falls to its limits: contours on the map of its result, few enough points to be kept."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from contourpy import contour_generator

from fem.arrays import Floats
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.result import Result

MOST_POINTS = 60
"""Points of one line."""
DECIMALS = 4
"""Digits behind the point of a coordinate. [m]"""
Line = tuple[tuple[float, float], ...]
Contours = Mapping[float, tuple[Line, ...]]
"""Lines on which the field equals a limit [T], points in metres."""


def limit_contours(result: Result) -> dict[float, tuple[Line, ...]]:
    """The contour of each limit of a flux density on the map of a result; none of an index of several frequencies."""
    if result.map is None:
        return {}
    places: tuple[ReceptorResult | ZoneResult, ...] = (*result.receptors, *result.zones)
    several = any(len(one.spectrum) > 1 for one in result.receptors)
    limits = sorted(
        {one.limit_t for one in places if one.limit_t is not None and not (several and one.limit_name is not None)}
    )
    generator = contour_generator(result.map.x_m, result.map.y_m, result.map.b_rms_t)
    return {limit: tuple(_thinned(np.asarray(line)) for line in generator.lines(limit)) for limit in limits}


def _thinned(line: Floats) -> Line:
    chosen = np.unique(np.linspace(0, len(line) - 1, min(len(line), MOST_POINTS)).round().astype(int))
    return tuple((round(float(x), DECIMALS), round(float(y), DECIMALS)) for x, y in line[chosen])
