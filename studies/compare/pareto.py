"""The cases that no other beats: for two quantities at once, nothing is better in one and as good in the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Flags


def non_dominated(first: ArrayLike, second: ArrayLike, higher: Sequence[bool] = (False, False)) -> Flags:
    """Which of some cases no other case dominates in two quantities.

    Parameters
    ----------
    first, second : array_like (n,)
        The two quantities of each case; nan where a case has none. [any unit]
    higher : sequence of bool
        Whether higher is better, for each quantity.

    Returns
    -------
    free : ndarray (n,)
        True where no case is as good or better in both and better in one. Equal cases do not dominate each other; a
        case without one of the quantities is False and dominates none.
    """
    a, b = (np.asarray(values, dtype=np.float64) for values in (first, second))
    if a.ndim != 1 or a.shape != b.shape:
        raise ValueError(f"the two quantities are not lists of one length: {a.shape} and {b.shape}")
    a, b = (-values if turned else values for values, turned in zip((a, b), higher, strict=True))
    free = np.zeros(len(a), dtype=np.bool_)
    known = np.flatnonzero(~(np.isnan(a) | np.isnan(b)))
    order = known[np.lexsort((b[known], a[known]))]
    least: float | None = None  # least second quantity of all cases with a smaller first
    k = 0
    while k < len(order):
        same = order[k:][a[order[k:]] == a[order[k]]]  # sorted by the second quantity
        k += len(same)
        best = float(b[same[0]])
        if least is None or best < least:
            free[same] = b[same] == best
            least = best
    return free
