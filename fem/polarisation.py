"""Magnitudes of a rotating field: resultant, and the axes of its ellipse (IEC 61786-1)."""

from __future__ import annotations

import numpy as np

from fem.arrays import Complexes, Floats


def resultant(field: Complexes) -> Floats:
    """Resultant rms magnitude sqrt(|Bx|^2 + |By|^2) of rms phasors (..., 2), in the same unit, shape (...)."""
    magnitude: Floats = np.sqrt(np.sum(np.abs(field) ** 2, axis=-1))
    return magnitude


def axes(field: Complexes) -> tuple[Floats, Floats]:
    """Rms magnitudes along the major and minor axes of the ellipse of rms phasors (..., 2), in the same unit.

    major, minor = sqrt((|Bx|^2 + |By|^2 +- |Bx^2 + By^2|)/2); major^2 + minor^2 is the resultant squared.
    """
    total = np.sum(np.abs(field) ** 2, axis=-1)
    linear = np.abs(np.sum(field**2, axis=-1))
    return np.sqrt((total + linear) / 2), np.sqrt(np.maximum(total - linear, 0) / 2)
