"""A study, or one with some things changed, solved to its tolerance at every frequency."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from geometry.section_mesh import SectionMesh
from studies.answers.fields.compute import traverse_points
from studies.answers.limits.refined import DerivedNumbers
from studies.answers.route.solved import MapsOfLevels
from studies.closed_forms.lines import line_model
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.section.spectrum import at_component, components
from studies.solve.accuracy import solve_to_tolerance
from studies.solve.fundamental_steel import FundamentalSteel
from studies.solve.mesh_size import mesh_note
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.progress import Progress


def solved(
    study: Study,
    whole: CrossSection,
    report_progress: Progress,
    mesh: SectionMesh | None = None,
    kept: MapsOfLevels | None = None,
    *,
    zones: bool = True,
    distances: bool = True,
    finenesses: Sequence[float] = (),
) -> tuple[tuple[Solution, ...], DerivedNumbers]:
    """One solution for each frequency; steel that saturates does so at the first, and the others ride on it.

    zones, distances: Whether the mesh is refined for zones and limit distances as well.
    finenesses: Of the meshes in turn, as of `solve_to_tolerance`.
    Returns solutions, derived: With them zones and distances as the last of them was refined for.
    """
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    traverses = tuple(traverse_points(traverse) for traverse in study.traverses)
    fundamental: FundamentalSteel | None = None
    solutions = []
    found = components(study)
    for component in found:
        section = at_component(whole, component)
        prefix = f"{component.frequency:g} Hz: " if len(found) > 1 else ""
        derived = DerivedNumbers(study, section, with_distances=distances and component is found[0])
        if mesh is None and (note := mesh_note(study, section)):
            report_progress(prefix + note)
        solved, estimate, accuracy = solve_to_tolerance(
            section,
            receptors,
            traverses,
            study.accuracy.tolerance,
            partial(_prefixed, report_progress, prefix),
            mesh,
            fundamental,
            kept if component is found[0] else None,
            derived.worst_error if zones else None,
            finenesses,
        )
        if section.steels() and fundamental is None:
            fundamental = FundamentalSteel(solved.fields)
        solutions.append(Solution(section, solved, estimate, accuracy, line_model(section)))
    return tuple(solutions), derived


def solved_variant(study: Study, report_progress: Progress, *, zones: bool = True) -> tuple[Solution, ...]:
    """One solution for each frequency of a changed study, to the tolerance that it states.

    Raises StudyError: If its cross-section cannot be laid.
    """
    return solved(study, cross_section(study), report_progress, zones=zones, distances=False)[0]


def _prefixed(report_progress: Progress, prefix: str, message: str) -> None:
    report_progress(prefix + message)
