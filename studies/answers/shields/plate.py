"""Shielding factor of a plate without edges, by the exact spectrum of line currents."""

from __future__ import annotations

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from geometry.shapes import Point
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.verdicts import Limited
from studies.closed_forms.validity import outside_of
from studies.formulas.formula import Limit
from studies.formulas.infinite_plate import plate_field
from studies.formulas.line_field import line_field
from studies.section.parts import is_of
from studies.solve.solution import Solution

WIDE = Limit(
    "plate beside cables and place / distance between them across it",
    lambda room, across: room / across,
    "the field passes round its edges",
    least=3,
)
"""A factor of 3 is then 1 % too high, one of 12 by 5 %; the share grows with the factor. [D]"""


def factor_without_edges(
    solutions: tuple[Solution, ...], name: str, plate: tuple[float, float, float, Point], place: Limited
) -> tuple[float | None, tuple[str, ...]]:
    """Field of the line currents over that beyond an endless plate, and why it does not hold here.

    solutions: With the plate, one for each frequency.
    name: Name of the plate.
    plate: Width and thickness [m], turn [rad] and middle [m].
    Returns factor, outside: No factor at a zone, whose highest field moves, nor unless all cables are on one side of
        the plate and the place beyond it.
    """
    if not isinstance(place, ReceptorResult):
        return None, ()
    width, thickness, turned, middle = plate
    along = np.array([np.cos(turned), np.sin(turned)])

    def seen(points: Floats) -> Floats:
        from_middle = points - np.array(middle)
        return np.stack([from_middle @ along, from_middle @ np.array([-along[1], along[0]])], axis=1)

    lines, at = seen(solutions[0].model.axes), seen(np.array([[place.x_m, place.y_m]]))
    side = np.sign(lines[0, 1])
    lines, at = lines * (1, side) - (0, thickness / 2), at * (1, side) - (0, thickness / 2)  # near face at 0
    if lines[:, 1].min() <= 0 or at[0, 1] > -thickness:
        return None, ()
    without = with_it = 0.0
    for solution in solutions:
        part = next(part for part in solution.section.parts if is_of(part.name, name))
        mu, sigma = abs(complex(part.material.relative_permeability)), part.material.conductivity
        currents = solution.model.currents
        beyond = plate_field(at, lines, currents, thickness, sigma, solution.frequency, mu)
        without += float(resultant(line_field(at, lines, currents))[0]) ** 2
        with_it += float(resultant(beyond.field)[0]) ** 2
    room = width / 2 - max(np.abs(lines[:, 0]).max(), abs(at[0, 0]))
    outside = list(outside_of(WIDE.failure(room=room, across=lines[:, 1].max() - at[0, 1])))
    if part.steel is not None:
        outside.append("the steel saturates, and the formula has one permeability")
    return float(np.sqrt(without / with_it)), tuple(outside)
