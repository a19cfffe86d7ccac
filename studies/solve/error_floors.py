"""Error estimates from the changes of two meshes, which may cross zero by chance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats

NEIGHBOURS = 0.1
"""Least relative error estimate of a number, as a share of the worst among numbers of its kind. [-]"""


def floored(errors: ArrayLike, values: ArrayLike) -> Floats:
    """Estimates of numbers of one kind, none below a share of the worst relative one.

    Numbers that are zero or not finite are ignored.
    """
    own, size = np.asarray(errors, dtype=np.float64), np.abs(np.asarray(values))
    known = np.isfinite(own) & (size > 0)
    worst = float((own[known] / size[known]).max(initial=0.0))
    result: Floats = np.maximum(own, NEIGHBOURS * worst * size)
    return result


def level_floored(errors: ArrayLike) -> Floats:
    """Estimates of sums of the same numbers, none below a share of the worst."""
    own = np.asarray(errors, dtype=np.float64)
    return np.maximum(own, NEIGHBOURS * float(own.max(initial=0.0)))
