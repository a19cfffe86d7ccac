"""The rectangle around circles, from which limit distances count."""

import numpy as np
from numpy.typing import ArrayLike

from studies.answers.limits.rectangle import Rectangle


def around(centres: ArrayLike, radius: float) -> Rectangle:
    """Least upright rectangle around circles of one radius [m]; centres (m, 2). [m]"""
    c = np.asarray(centres, dtype=float)
    (x0, y0), (x1, y1) = c.min(axis=0) - radius, c.max(axis=0) + radius
    return Rectangle((float(x0), float(y0)), (float(x1), float(y1)))
