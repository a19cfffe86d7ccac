"""Cables that pass through plates, the places of their holes, and errors of these."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from fem.arrays import Floats
from studies.section.parts import PlacedCable
from studies.study.file import Study
from studies.study.plates import ONE_EACH, Plate
from studies.text.problems import Problem, choice_of


def cables_through(plate: Plate, cables: Sequence[PlacedCable]) -> tuple[PlacedCable, ...]:
    """The cables that a plate names, or all."""
    named = plate.of
    return tuple(cable for cable in cables if named is None or cable.circuit in named or cable.label in named)


def hole_places(plate: Plate, cables: Sequence[PlacedCable]) -> Floats:
    """Where the cables pass through, about the mean of all, shape (n, 2). [m]"""
    if plate.spacing is not None:
        places = np.array([(k * plate.spacing, 0.0) for k in range(len(cables))])
    else:
        places = np.array([cable.axis for cable in cables], dtype=np.float64)
    return np.asarray(places - places.mean(axis=0))


def hole_problems(study: Study, cables: Sequence[PlacedCable]) -> list[Problem]:
    """Names of no cable, and holes that are too small or overlap."""
    return [problem for plate in study.plates for problem in _of_plate(study, plate, cables)]


def _of_plate(study: Study, plate: Plate, cables: Sequence[PlacedCable]) -> Iterator[Problem]:
    key = f'plates "{plate.name}"'
    known = [*dict.fromkeys(cable.circuit for cable in cables), *(cable.label for cable in cables)]
    strange = [name for name in plate.of or () if name not in known]
    for name in strange:
        yield study.problem(f"{key} → of", "is no circuit or cable", choice_of(name, known), f'"{name}"')
    through = cables_through(plate, cables)
    if strange or not through:
        return
    places, radius = hole_places(plate, through), plate.hole_diameter / 2
    shown = f'"{2e3 * radius:.4g} mm"'
    if plate.openings == ONE_EACH:
        widest = max(cable.layers.outer_radius for cable in through)
        if radius < widest:
            right = f"{2e3 * widest:.4g} mm or more"
            yield study.problem(f"{key} → hole_diameter", "is smaller than a cable through it", right, shown)
        nearest = min((math.dist(a, b) for k, a in enumerate(places) for b in places[k + 1 :]), default=math.inf)
        if nearest <= 2 * radius:
            wrong = f"is not below the distance of two holes, {1e3 * nearest:.4g} mm: they overlap"
            right = 'spacing = "80 mm", holes further apart than the cables of the run, or openings = "one for all"'
            yield study.problem(f"{key} → hole_diameter", wrong, right, shown)
        return
    reach = float(max(np.hypot(*at) + cable.layers.outer_radius for at, cable in zip(places, through, strict=True)))
    if radius < reach:
        right = f"{2e3 * reach:.4g} mm or more"
        yield study.problem(f"{key} → hole_diameter", "does not hold all cables as they lie in the run", right, shown)
