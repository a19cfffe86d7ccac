"""Errors of loops: wires inside cables or metal, and twists through them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.clearance import polygon
from studies.section.parts import PlacedCable, StudyPart
from studies.study.file import Study
from studies.text.problems import Problem


def loop_problems(study: Study, cables: tuple[PlacedCable, ...], parts: Sequence[StudyPart]) -> list[Problem]:
    """The wires of a loop lie in air, and those of a twisted one turn in air."""
    problems = []
    for loop in study.loops:
        middle, across = np.mean(loop.wires, axis=0), math.dist(*loop.wires)
        turned = shapely.Point(middle).buffer(across / 2) if loop.lay_length is not None else None
        for number, wire in enumerate(loop.wires, 1):
            within = body_at(cables, parts, shapely.Point(wire))
            if within is not None:
                wrong, right = f"has wire {number} inside {within}", "both wires outside cables and metal"
                problems.append(study.problem(f'loops "{loop.name}" → wires', wrong, right))
                turned = None
        if turned is not None and (within := body_at(cables, parts, turned)) is not None:
            wrong = f"turns through {within} once in each lay length"
            right = "a place further away, or no lay_length: only wires in air can be twisted"
            problems.append(study.problem(f'loops "{loop.name}" → lay_length', wrong, right))
    return problems


def body_at(cables: Sequence[PlacedCable], parts: Sequence[StudyPart], place: BaseGeometry) -> str | None:
    """The first cable or metal, in words, that a point or an area [m] touches; None in air."""
    for cable in cables:
        if shapely.Point(cable.axis).distance(place) <= cable.layers.outer_radius:
            return f"cable {cable.label}"
    return next((part.name for part in parts if part.cable is None and polygon(part.shape).intersects(place)), None)
