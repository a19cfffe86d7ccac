"""Error estimates from the changes of two meshes, which may cross zero by chance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats

NEIGHBOURS = 0.1
"""Share of the worst error estimate of alike numbers that each of them is given at least. [-]"""


def floored(errors: ArrayLike, values: ArrayLike) -> Floats:
    """Estimates of alike numbers, none better than a share of the worst relative one.

    Numbers that are not finite, and those that are zero, take no part.
    """
    own, size = np.asarray(errors, dtype=np.float64), np.abs(np.asarray(values))
    known = np.isfinite(own) & (size > 0)
    worst = float((own[known] / size[known]).max(initial=0.0))
    result: Floats = np.maximum(own, NEIGHBOURS * worst * size)
    return result


def level_floored(errors: ArrayLike) -> Floats:
    """Estimates of numbers that follow from the same others by sums, none better than a share of the worst."""
    own = np.asarray(errors, dtype=np.float64)
    result: Floats = np.maximum(own, NEIGHBOURS * float(own.max(initial=0.0)))
    return result
