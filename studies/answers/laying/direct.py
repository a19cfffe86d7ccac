"""Some layings meshed and solved again: what reciprocity is held against, and where losses come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats
from fem.solve import SolveError
from geometry.meshing import MeshingError, mesh_section
from geometry.sizing import MeshSizes
from studies.answers.laying.lot import Layings, scattered_currents
from studies.answers.laying.varied import with_currents, with_materials, with_moves
from studies.answers.net_currents.superposed import NetAtPoints
from studies.section.parts import CrossSection
from studies.solve.accuracy import solve_once
from studies.solve.fundamental_steel import FundamentalSteel
from studies.study.file import Study
from studies.study.laying import LayingTolerance
from studies.text.progress import Progress

FINENESS_AGAIN = 1.0
"""Of the meshes: the field of a laying is taken over that of the drawn run on a mesh as fine."""


@dataclass(frozen=True)
class SolvedAgain:
    """One laying, all frequencies together."""

    squared_fields: Floats
    """|Bx|^2 + |By|^2 at the points, shape (q,). [T^2]"""
    currents: Floats
    """Of each part at the study's own frequency, shape (N,). [A]"""
    losses: Floats
    """Of each part, shape (N,). [W/m]"""


def solve_layings(
    study: Study,
    sections: tuple[CrossSection, ...],
    layings: Layings,
    points: Floats,
    net: Sequence[NetAtPoints],
    report_progress: Progress,
) -> tuple[SolvedAgain, dict[int, SolvedAgain]]:
    """The drawn run, and each laying that can be solved, by its number.

    sections: The cross-section with the currents of each frequency.
    points, shape (q, 2): Where the field is wanted. [m]
    net: Net currents of each frequency there, which are added as drawn.
    """
    asked = study.laying_tolerance or LayingTolerance()
    nominal = _solved(sections, points, net)
    found: dict[int, SolvedAgain] = {}
    count = len(layings.moves)
    for k in range(count):
        report_progress(f"laying tolerance: solving laying {k + 1} of {count} again")
        one = Layings(layings.moves[k : k + 1], layings.phase_factors[k : k + 1], {})
        deviates = {name: float(values[k]) for name, values in layings.deviates.items()}
        changed = []
        for section in sections:
            moved = with_moves(with_materials(study, section, deviates), one.moves[0])
            currents = scattered_currents(section, one.phase_factors, asked.residual)[0]
            changed.append(with_currents(moved, currents))
        try:
            found[k] = _solved(tuple(changed), points, net)
        except (MeshingError, SolveError):
            continue
    return nominal, found


def _solved(sections: tuple[CrossSection, ...], points: Floats, net: Sequence[NetAtPoints]) -> SolvedAgain:
    """Every frequency on a mesh of its own; the first magnetises the steel."""
    steel: FundamentalSteel | None = None
    squared, losses, currents = np.zeros(len(points)), np.zeros(len(sections[0].parts)), None
    for section, beside in zip(sections, net, strict=True):
        mesh = mesh_section(section.section(), MeshSizes(fineness=FINENESS_AGAIN))
        solved = solve_once(section, mesh, points, (), steel)
        if section.steels() and steel is None:
            steel = FundamentalSteel(solved.fields)
        squared += beside.squared(solved.requested.receptors)
        losses += solved.requested.losses
        currents = np.abs(solved.requested.currents) if currents is None else currents
    assert currents is not None
    return SolvedAgain(squared, currents, losses)
