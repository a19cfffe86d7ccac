"""Solutions at some permeabilities of a part, on the mesh of the study, between which the fit interpolates."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.survey.fit import Spline, Varied
from studies.section.parts import CrossSection, StudyPart, is_of
from studies.solve.accuracy import Solved, solve_once
from studies.solve.fundamental_steel import FundamentalSteel
from studies.solve.solution import Solution
from studies.study.file import Study

STEP = 2.0
"""Largest ratio of neighbouring permeabilities; cubic splines are then within 0.1 % between them. [-]"""

Case = tuple[CrossSection, Solved]


@dataclass(frozen=True)
class Permeabilities:
    """Each frequency solved at each permeability."""

    part: str
    stated: float
    logarithms: Floats
    """Of the permeabilities over the stated one, rising. [-]"""
    cases: tuple[tuple[Case, ...], ...]
    """By permeability, then by frequency."""

    def varied(self, own: Complexes, residual: Complexes) -> Varied:
        """Fields of the cases, shapes (permeabilities, f, q, 2, c) and (permeabilities, q, 2, c)."""
        low, high = float(self.logarithms[0]), float(self.logarithms[-1])
        return Varied(self._spline(own), self._spline(residual), low, high)

    def _spline(self, values: Complexes) -> Spline:
        from scipy.interpolate import CubicSpline

        if not values.size:
            return lambda at, order: values[0]
        cubic = CubicSpline(self.logarithms, values)
        return lambda at, order: np.asarray(cubic(at, order))


def solved_permeabilities(study: Study, solutions: tuple[Solution, ...]) -> Permeabilities | None:
    """The part of the survey at permeabilities over its range; None if none is fitted."""
    if study.survey is None or study.survey.permeability_of is None:
        return None
    part = study.survey.permeability_of
    own = next(one for one in solutions[0].section.parts if is_of(one.name, part))
    stated = abs(complex(own.material.relative_permeability))
    low, high = (np.log(end / stated) for end in study.survey.permeability_range)
    logarithms = np.linspace(low, high, max(4, int(np.ceil((high - low) / np.log(STEP))) + 1))
    cases = tuple(_cases(solutions, part, float(np.exp(at))) for at in logarithms)
    return Permeabilities(part, stated, logarithms, cases)


def _cases(solutions: tuple[Solution, ...], name: str, factor: float) -> tuple[Case, ...]:
    fundamental: FundamentalSteel | None = None
    found = []
    for solution in solutions:
        parts = (_scaled(part, factor) if is_of(part.name, name) else part for part in solution.section.parts)
        section = replace(solution.section, parts=tuple(parts))
        solved = solve_once(section, solution.solved.fields.mesh, np.empty((0, 2)), (), fundamental)
        if section.steels() and fundamental is None:
            fundamental = FundamentalSteel(solved.fields)
        found.append((section, solved))
    return tuple(found)


def _scaled(part: StudyPart, factor: float) -> StudyPart:
    permeability = part.material.relative_permeability * factor
    return replace(part, material=replace(part.material, relative_permeability=permeability))
