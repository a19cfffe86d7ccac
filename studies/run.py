"""Everything a study asks for: solve to the asked tolerance and set each number beside its formula."""

from __future__ import annotations

import numpy as np

from geometry.clearance import polygon
from geometry.section_mesh import SectionMesh
from studies.accuracy import Progress, solve_to_tolerance
from studies.cautions import cautions
from studies.comparison.electrical import loss_results, part_results, phase_results, sequence_results
from studies.comparison.fields import map_result, receptor_results, traverse_points, traverse_results
from studies.comparison.solution import Solution
from studies.cross_section import CrossSection, cross_section
from studies.ladder.climb import climb
from studies.line_formulas import line_model
from studies.results import AccuracyResult, Result
from studies.spectrum import at_component, components
from studies.study import Study

SAME_SHAPE = 0.02
"""Parts of a given mesh may differ from the study's by this share of their area and of their extent."""


class RegionsError(ValueError):
    """A given mesh that is not of the study's cross-section."""


def run(study: Study, progress: Progress | None = None, mesh: SectionMesh | None = None) -> Result:
    """Solve a study.

    Parameters
    ----------
    study : Study
        What to solve.
    progress : callable, optional
        Told in words what is being done.
    mesh : SectionMesh, optional
        A mesh of the cross-section to use; its regions must be named as the study's parts.

    Returns
    -------
    result : Result
        Every requested number with its error estimate, beside its formula.
    """
    tell = progress or (lambda message: None)
    whole = cross_section(study)
    if mesh is not None:
        _require_same_parts(whole, mesh)
    solutions = tuple(_solve(study, at_component(whole, component), tell, mesh) for component in components(study))
    tell("comparing with the formulas")
    base = solutions[0]
    receptors, losses = receptor_results(study, solutions), loss_results(study, solutions)
    accuracy = _worst_accuracy(solutions)
    return Result(
        study=study,
        cross_section=base.section,
        receptors=receptors,
        losses=losses,
        parts=part_results(solutions),
        phases=phase_results(study, solutions),
        sequence_impedance=sequence_results(study, solutions),
        traverses=traverse_results(study, solutions),
        map=map_result(study, solutions),
        ladder=climb(study, solutions),
        checks=base.solved.checks,
        accuracy=accuracy,
        cautions=cautions(study, base.section, base.solved, accuracy),
        fields=base.solved.fields,
        drive=base.solved.drive,
        loss_fields=base.solved.losses,
        element_fields=base.solved.elements,
    )


def _solve(study: Study, section: CrossSection, tell: Progress, mesh: SectionMesh | None) -> Solution:
    """The solution of one frequency."""
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    traverses = tuple(traverse_points(traverse) for traverse in study.traverses)
    solved, estimate, accuracy = solve_to_tolerance(section, receptors, traverses, study.accuracy.tolerance, tell, mesh)
    return Solution(section, solved, estimate, accuracy, line_model(section))


def _worst_accuracy(solutions: tuple[Solution, ...]) -> AccuracyResult:
    return max((solution.accuracy for solution in solutions), key=lambda accuracy: accuracy.worst_error)


def _require_same_parts(section: CrossSection, mesh: SectionMesh) -> None:
    wanted, given = {part.name for part in section.parts}, set(mesh.names[1:])
    if wanted != given:
        missing, stray = sorted(wanted - given), sorted(given - wanted)
        raise RegionsError(f"the mesh's regions are not the study's parts: missing {missing}, unknown {stray}")
    areas = mesh.region_areas()
    corners = mesh.points[mesh.triangles[:, :3]]
    for part in section.parts:
        solid = polygon(part.shape)
        own = corners[mesh.regions == mesh.names.index(part.name)].reshape(-1, 2)
        box = np.concatenate([own.min(axis=0), own.max(axis=0)])
        off = float(np.abs(box - solid.bounds).max() / np.ptp(np.reshape(solid.bounds, (2, 2)), axis=0).max())
        if abs(areas[part.name] / solid.area - 1) > SAME_SHAPE or off > SAME_SHAPE:
            raise RegionsError(f"the mesh is of another cross-section: {part.name} has another size or place there")
