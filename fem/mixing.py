"""Acceleration of a fixed point from the last few steps and residuals (Anderson mixing)."""

from __future__ import annotations

from collections import deque

import numpy as np

from fem.arrays import Floats

REMEMBERED = 8
"""Differences of past iterates that a step uses; more did not save solves on strongly saturated steel."""
LARGEST_STEP = 1.5
"""Largest change of any unknown in one step; the unknowns are logarithms."""


class Mixing:
    """Steps towards x = g(x) for a vector x of logarithms.

    D. G. Anderson, Iterative procedures for nonlinear integral equations, J. ACM 12:547-560, 1965 [C]
    """

    def __init__(self) -> None:
        """Start without past steps."""
        self._past: deque[tuple[Floats, Floats]] = deque(maxlen=REMEMBERED + 1)

    def step(self, state: Floats, residual: Floats, weights: Floats) -> Floats:
        """Step from a state x (n,) with the residual g(x) - x (n,).

        state, residual, shape (n,): x and g(x) - x. [-]
        weights, shape (n,): Weight of each residual in the least-squares fit, 0 or above. [-]
        """
        self._past.append((state, residual))
        states, residuals = (np.diff(np.array(series), axis=0).T for series in zip(*self._past, strict=True))
        scale = np.sqrt(weights)[:, None]
        shares = np.linalg.lstsq(scale * residuals, scale[:, 0] * residual, rcond=1e-8)[0]
        step = residual - (residuals + states) @ shares
        limited: Floats = np.clip(step, -LARGEST_STEP, LARGEST_STEP)
        return limited
