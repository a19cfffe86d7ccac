"""The cross-sections that a run in space takes up after each other, each with its state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.solve import UnitFields
from studies.answers.route.maps import phase_currents_of, section_maps
from studies.answers.route.solved import run_section_of
from studies.answers.route.transposed_run import drive_of_lines
from studies.answers.solutions import solved_variant
from studies.section.lines import route_of
from studies.section.places import FOLLOWED, parts_followed
from studies.section.route_sections import section_studies
from studies.section.run_bonds import run_bonds, turned_layers
from studies.section.run_parts import line_state
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair
from studies.study.file import Study
from studies.text.progress import Progress


@dataclass(frozen=True)
class Leg:
    """A section of the run at one frequency."""

    solution: Solution
    """Of its cross-section alone."""
    voltages: Pair[Complexes]
    """Of its parts, as the whole run drives them. [V/m]"""
    places: Floats
    """Of the cables' parts that run through, in the order of its lines, shape (m, 2); none without a route. [m]"""
    currents: Pair[Complexes]
    """Theirs, shape (m,). [A]"""


def legs_of(study: Study, solutions: Sequence[Solution], report_progress: Progress) -> tuple[tuple[Leg, ...], ...]:
    """For each frequency the sections of the run, one without a route.

    solutions: Of the study's own cross-section; others are solved.
    """
    if not study.route:
        none = Pair(now=np.zeros(0, dtype=np.complex128), before=np.zeros(0, dtype=np.complex128))
        return tuple(
            (
                Leg(
                    one,
                    Pair(now=one.estimate.now.voltages, before=one.estimate.before.voltages),
                    np.zeros((0, 2)),
                    none,
                ),
            )
            for one in solutions
        )
    studies = section_studies(study)
    solved = {id(study): tuple(solutions)}
    for each in studies:
        if id(each) not in solved:
            solved[id(each)] = solved_variant(each, report_progress, zones=False)
    return tuple(_legs(study, own, [solved[id(each)][k] for each in studies]) for k, own in enumerate(solutions))


def _legs(study: Study, own: Solution, chosen: Sequence[Solution]) -> tuple[Leg, ...]:
    now = _states(study, own, chosen, [one.solved.fields for one in chosen])
    before = _states(study, own, chosen, [one.estimate.coarser for one in chosen])
    return tuple(
        Leg(one, Pair(now=a.voltages, before=b.voltages), a.places, Pair(now=a.currents, before=b.currents))
        for one, a, b in zip(chosen, now, before, strict=True)
    )


@dataclass(frozen=True)
class _State:
    voltages: Complexes
    places: Floats
    currents: Complexes


def _states(study: Study, own: Solution, chosen: Sequence[Solution], fields: Sequence[UnitFields]) -> list[_State]:
    """Each section on one mesh, with the currents that the whole run drives."""
    crossed = turned_layers(own.section)
    run_sections = tuple(
        run_section_of(one, number, section_maps(solution.section, unit, None, FOLLOWED), crossed)
        for number, (one, solution, unit) in enumerate(zip(study.route, chosen, fields, strict=True))
    )
    bonds = run_bonds(own.section, sum(one.length for one in study.route))
    route = route_of(run_sections, phase_currents_of(own.section), bonds)
    found = []
    for solution, unit, part, currents in zip(chosen, fields, route.sections, line_state(route).currents, strict=True):
        followed = parts_followed(solution.section)
        through = [(line, followed[place]) for line, place in enumerate(part.places)]
        lines = [line for line, one in through if one.cable is not None]
        axes = np.array([one.cable.axis for _, one in through if one.cable is not None]).reshape(-1, 2)
        state = drive_of_lines(solution.section, unit, part.places, currents)
        found.append(_State(state.voltages, axes, currents[lines]))
    return found
