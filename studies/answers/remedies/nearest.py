"""The nearest place further away at which a receptor's limit is kept, from the solved field."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.compute import LARGEST_DISTANCE, outer_rectangle
from studies.answers.limits.judged_field import JudgedField, field_against
from studies.study.file import Study

SAMPLES = 400
"""Places along the line, each further than the last by the same factor."""
HALVINGS = 40
GRID = 1e-3
"""Coordinates are rounded outwards to this. [m]"""
LEAST_STEP = 1e-3
"""[m]"""


@dataclass(frozen=True)
class NearestPlace:
    """A place that keeps the limit, as does all beyond it on the line."""

    at: tuple[float, float]
    """[m]"""
    distance_m: float
    """From the receptor as stated."""
    b_rms_t: float
    b_rms_error_t: float


def nearest_place(study: Study, whole: JudgedField, place: ReceptorResult) -> NearestPlace | None:
    """On the line from the middle of all cables and metal through the receptor; None if not within a kilometre.

    whole: The field of the study, with its net currents.

    Field and error estimate together are compared with the limit, as in the verdict.
    """
    limit = next(receptor.limit for receptor in study.receptors if receptor.name == place.name)
    assert limit is not None
    field, level = field_against(limit, whole)
    start = np.array([place.x_m, place.y_m])
    out = start - np.asarray(outer_rectangle(whole.solutions[0].section).centre)
    length = float(np.linalg.norm(out))
    direction = out / length if length > 0 else np.array([0.0, 1.0])

    def over(distances: Floats) -> Floats:
        value, error = field.value_and_error(start + distances[:, None] * direction)
        return np.asarray(value + error - level)

    distances = np.concatenate([[0.0], np.geomspace(LEAST_STEP, LARGEST_DISTANCE, SAMPLES)])
    above = np.flatnonzero(over(distances) > 0)
    if len(above) == 0 or above[-1] == len(distances) - 1:
        return None
    low, high = distances[above[-1]], distances[above[-1] + 1]
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if over(np.array([middle]))[0] > 0 else (low, middle)
    x, y = (_outwards(c, d) for c, d in zip(start + high * direction, direction, strict=True))
    value, error = whole.value_and_error(np.array([[x, y]]))
    moved = math.hypot(x - place.x_m, y - place.y_m)
    return NearestPlace((x, y), moved, float(value[0]), float(error[0]))


def _outwards(coordinate: float, direction: float) -> float:
    steps = coordinate / GRID
    near = round(steps)
    if abs(steps - near) < 1e-6:
        return near * GRID
    return (math.ceil(steps) if direction > 0 else math.floor(steps)) * GRID
