"""The cross-sections of a route, each solved to the asked tolerance, as sections of the run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from fem.ties import Tie
from studies.answers.route.maps import formula_maps, section_maps
from studies.section.lines import RunSection, SectionMaps
from studies.section.parts import CrossSection
from studies.section.places import FOLLOWED
from studies.section.route_sections import route_sections
from studies.section.run_bonds import run_bonds, turned_layers
from studies.section.spectrum import at_component, components
from studies.solve.accuracy import Solved, solve_to_tolerance
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair
from studies.study.decisions import RouteSection
from studies.study.file import Study
from studies.text.failures import Failure, guarded, rescued
from studies.text.missing import without_numbers
from studies.text.progress import Progress


class MapsOfLevels:
    """Takes in the solutions of a cross-section, mesh by mesh, and keeps the maps of the last two."""

    def __init__(self, section: CrossSection, receptors: Floats) -> None:
        """Begin without any; receptors (r, 2) [m] are where the field is asked for."""
        self._section, self._receptors = section, receptors
        self._kept: list[SectionMaps | None] = []

    def __call__(self, solved: Solved) -> None:
        """Take in a solution on a finer mesh than the one before."""
        maps = guarded(
            "maps of the route", lambda: section_maps(self._section, solved.fields, self._receptors, FOLLOWED), None
        )
        self._kept = [*self._kept[-1:], maps]

    def pair(self) -> Pair[SectionMaps]:
        """The maps of the last two meshes."""
        before, now = self._kept
        if now is None or before is None:
            raise RuntimeError("the maps of one mesh are missing")
        return Pair(now=now, before=before)


@dataclass(frozen=True)
class SolvedRoute:
    """The sections of a run by finite elements on two meshes and by closed forms, and its bonds."""

    studies: tuple[Study, ...]
    """Of each section."""
    sections: tuple[CrossSection, ...]
    """Of each section."""
    run_sections: Pair[tuple[RunSection, ...]]
    formula_run_sections: tuple[RunSection, ...]
    bonds: tuple[Tie, ...]
    formula_bonds: tuple[Tie, ...]
    """Without metal that is no part of a cable."""
    receptors: tuple[str, ...]
    """Names in the order of the fields of the maps."""
    own: Pair[SectionMaps]
    """Maps of the study's own cross-section."""
    own_formula: SectionMaps


def receptor_points(study: Study) -> Floats:
    """Places of the receptors of a study, shape (r, 2). [m]"""
    return np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)


def solve_route(study: Study, solution: Solution, own: Pair[SectionMaps], report_progress: Progress) -> SolvedRoute:
    """Solve the cross-sections of a route that are not the study's own.

    solution: Of its own cross-section.
    own: Maps of it.
    report_progress: Told what is being done.
    """
    pairs = route_sections(study)
    receptors = tuple(dict.fromkeys(r.name for each in (study, *(one for one, _ in pairs)) for r in each.receptors))
    far = solution.solved.fields.exterior.reference_radius
    maps: dict[int, tuple[Pair[SectionMaps], SectionMaps]] = {}
    for each, whole in ((study, solution.section), *pairs):
        if id(each) in maps:
            continue
        section = at_component(whole, components(each)[0])
        if each is study:
            found = own
        else:
            report_progress(f"solving the cross-section of {_names(study, [one for one, _ in pairs], each)}")
            found = _solved_maps(each, section, report_progress)
        formula = _formula_maps(each, section, far, found.now)
        spread = Pair(_at_all(found.now, each, receptors), _at_all(found.before, each, receptors))
        maps[id(each)] = spread, _at_all(formula, each, receptors)
    crossed = turned_layers(solution.section)
    made = [maps[id(each)] for each, _ in pairs]
    run_sections = [
        tuple(
            run_section_of(section, k, one, crossed)
            for k, (section, one) in enumerate(zip(study.route, chosen, strict=True))
        )
        for chosen in ([pair.now for pair, _ in made], [pair.before for pair, _ in made], [one for _, one in made])
    ]
    length = sum(section.length for section in study.route)
    return SolvedRoute(
        studies=tuple(each for each, _ in pairs),
        sections=tuple(section for _, section in pairs),
        run_sections=Pair(now=run_sections[0], before=run_sections[1]),
        formula_run_sections=run_sections[2],
        bonds=run_bonds(solution.section, length),
        formula_bonds=run_bonds(solution.section, length, with_metal=False),
        receptors=receptors,
        own=maps[id(study)][0],
        own_formula=maps[id(study)][1],
    )


def _formula_maps(study: Study, section: CrossSection, far: float, computed: SectionMaps) -> SectionMaps:
    """Maps of the closed forms; without numbers if they fail."""
    return rescued(
        "closed forms of the route",
        partial(formula_maps, section, section.return_radius() or far, receptor_points(study), FOLLOWED),
        partial(_unknown, computed),
    )


def _unknown(maps: SectionMaps, failure: Failure) -> SectionMaps:
    """Maps without numbers in place of closed forms that failed."""
    return without_numbers(maps)


def _solved_maps(study: Study, section: CrossSection, report_progress: Progress) -> Pair[SectionMaps]:
    points = receptor_points(study)
    kept = MapsOfLevels(section, points)
    solve_to_tolerance(section, points, (), study.accuracy.tolerance, report_progress, each=kept)
    return kept.pair()


def run_section_of(
    section: RouteSection, number: int, maps: SectionMaps, crossed: frozenset[tuple[str, str]]
) -> RunSection:
    """A section of the run by its number from 0, its maps, and the circuits' layers that are cross-bonded."""
    turn = number if section.screens_turned is None else section.screens_turned
    return RunSection(
        section.length,
        maps,
        dict(section.phases),
        dict.fromkeys(crossed, turn),
        section.name or f"section {number + 1}",
    )


def _at_all(maps: SectionMaps, study: Study, receptors: tuple[str, ...]) -> SectionMaps:
    """Maps with a field of every receptor of the route, not a number for those that are not beside this section."""
    assert maps.field is not None
    field: Complexes = np.full((len(receptors), *maps.field.shape[1:]), np.nan + 0j)
    for row, receptor in enumerate(study.receptors):
        field[receptors.index(receptor.name)] = maps.field[row]
    return SectionMaps(maps.places, maps.impedance, field)


def _names(study: Study, studies: list[Study], wanted: Study) -> str:
    own = [
        section.name or f"section {number}"
        for number, (section, each) in enumerate(zip(study.route, studies, strict=True), 1)
        if each is wanted
    ]
    return ", ".join(own)
