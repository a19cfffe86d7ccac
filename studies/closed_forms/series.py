"""The exact series solution of a cross-section of round parts, if there is no tray or plate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.multipole import RoundPart, RoundSolution, solve_round_parts
from fem.ties import Drive, drive
from geometry.shapes import Disc, Tube
from studies.section.parts import CrossSection

MOST_PARTS = 30
"""Round parts beyond which the dense system costs more than it tells."""
MOST_UNKNOWNS = 600
"""Coefficients of the series: 0.1 s and 30 MB."""
TOLERANCE = 1e-5
"""Relative accuracy asked of the series."""
NAME = "exact series of round conductors"
SOURCE = "multipole expansion, skin and proximity exact, no mesh; computed by this program [D]"


@dataclass(frozen=True)
class SeriesResult:
    """State of all parts by the series method."""

    solution: RoundSolution
    drive: Drive
    losses: Floats
    """Loss of each part in the section's order, shape (N,). [W/m]"""

    def field(self, points: Floats) -> Complexes:
        """(Bx, By) at points (q, 2) [m], shape (q, 2). [T]"""
        return self.solution.field(self.drive.voltages, points)


def series_result(section: CrossSection) -> SeriesResult | None:
    """The series solution of a cross-section.

    None where it has other than round parts, too many of them or too close to each other for a small system, and where
    something drives the currents that the series does not know: steel that saturates, transposed screens, a return
    through the earth.
    """
    if len(section.parts) > MOST_PARTS or not all(isinstance(part.shape, Disc | Tube) for part in section.parts):
        return None
    if section.steels() or section.cross_bonds or section.earth is not None:
        return None
    rounds = []
    for part in section.parts:
        shape = part.shape
        if isinstance(shape, Disc):
            outer, inner = shape.radius, 0.0
        else:
            assert isinstance(shape, Tube)
            outer, inner = shape.outer_radius, shape.inner_radius
        mu, sigma = part.material.relative_permeability, part.material.conductivity
        rounds.append(RoundPart(part.name, shape.centre, outer, inner, sigma, mu))
    try:
        solution = solve_round_parts(rounds, section.frequency, tolerance=TOLERANCE, most_unknowns=MOST_UNKNOWNS)
    except RuntimeError:  # neighbours too close or too many for the series to converge in reasonable time
        return None
    names = tuple(part.name for part in section.parts)
    state = drive(np.asarray(solution.admittance), names, section.ties)
    losses = solution.losses(state.voltages) + solution.magnetic_losses(state.voltages)
    return SeriesResult(solution, state, losses)
