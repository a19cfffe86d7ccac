"""Everything a study asks for: solve to the asked tolerance and set each number beside its formula."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fem.solve import SolveError
from geometry.clearance import polygon
from geometry.section_mesh import SectionMesh
from geometry.triangulation import MeshingError
from studies.answers.answer import Asked, computed
from studies.answers.registry import ANSWERS
from studies.answers.route.solved import MapsOfLevels, receptor_points
from studies.answers.route.transposed_run import section_results
from studies.answers.solutions import solved
from studies.result import Result
from studies.section.course import course_frames
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.section.route_sections import route_sections
from studies.section.spectrum import at_component, components
from studies.solve.mesh_size import mesh_note
from studies.study.file import Study
from studies.text.failures import collected, guarded
from studies.text.problems import Refused, TrayfieldError
from studies.text.progress import Progress

SAME_SHAPE = 0.02
"""Parts of a given mesh may differ from the study's by this share of their area and of their extent."""


class NoSolutionError(TrayfieldError, RuntimeError):
    """A study that has no mesh or no solution."""


class RegionsError(Refused):
    """A given mesh that is not of the study's cross-section."""


def run(study: Study, progress: Progress | None = None, mesh: SectionMesh | None = None) -> Result:
    """Solve a study.

    `mesh`: a mesh of the cross-section to use; its regions must be named as the study's parts.

    Every requested number with its error estimate, beside its formula; what failed after the solve is missing and
    stands in `failures`.

    Raises StudyError if the cross-section cannot be, such as with cables in one place.
    Raises NoSolutionError if there is no mesh or no solution.

    >>> import studies
    >>> result = studies.run(studies.load("feeder.toml"))
    >>> result.receptors[0].within_limit
    False
    >>> result  # doctest: +ELLIPSIS
    <Result of “Feeder on a steel tray near an instrument”, 50 Hz
      above its limit: instrument
      accuracy met: largest error ... %, asked ... %>
    """
    report_progress = progress or (lambda message: None)
    whole = cross_section(study)
    if mesh is not None:
        _require_same_parts(whole, mesh)
    if study.course is not None:
        course_frames(study, whole)  # one without room is told before anything is solved
    kept = None
    if study.route:
        along = route_sections(study, whole)  # a section that cannot be is told before anything is solved
        for number, (each, section) in enumerate(along, 1):
            if each is not study and (note := mesh_note(each, section)):
                report_progress(f"section {number} of the run: {note}")
        kept = MapsOfLevels(at_component(whole, components(study)[0]), receptor_points(study))
    with collected() as failures:
        try:
            solutions, derived = solved(study, whole, report_progress, mesh, kept)
        except (MeshingError, SolveError) as error:
            raise NoSolutionError(str(error)) from error
        report_progress("comparing with the formulas")
        maps = None if kept is None else guarded("maps of the route", kept.pair, None)
        refined = {"zones": derived.zones_of(solutions), "limit_distances": derived.distances_of(solutions)}
        result = answered(Asked(study, solutions, report_progress, maps, refined))
    return replace(result, failures=tuple(failures))


def run_sections(study: Study, progress: Progress | None = None) -> tuple[Result, ...]:
    """The numbers of each section of a transposed run, with the currents of the whole run.

    `study`: what to solve; `studies.study.route_changes.is_transposed` holds of it.
    """
    report_progress = progress or (lambda message: None)
    left_out = dict.fromkeys(("route", "faults", "loads", "traverses", "loops", "plates"), ())
    circuits = tuple(
        circuit.model_copy(update={"permitted_current": None, "net_current": None}) for circuit in study.circuits
    )
    unasked = {"circuits": circuits} | dict.fromkeys(
        (
            "order_search",
            "shielding",
            "energy",
            "laying_tolerance",
            "course",
            "remedies",
            "causes",
            "shield_search",
            "survey",
        )
    )
    own = study.model_copy(update=left_out | unasked)
    with collected() as failures:
        solutions, _ = solved(own, cross_section(own), report_progress, None, None)
        base = answered(Asked(own, solutions, report_progress))
        results = section_results(study, base, solutions)
    return tuple(replace(result, failures=tuple(failures)) for result in results)


def answered(asked: Asked) -> Result:
    """Every answer from the solutions; one that fails is missing and collected, and costs no other."""
    base = asked.base
    rows = computed(ANSWERS, asked, guarded)
    return Result(
        **{answer.key: rows[answer.key] for answer in ANSWERS if not answer.amends},
        study=asked.study,
        cross_section=base.section,
        checks=base.solved.checks,
        accuracy=asked.accuracy,
        fields=base.solved.fields,
        drive=base.solved.drive,
        loss_fields=base.solved.losses,
        element_fields=base.solved.elements,
        solutions=asked.solutions,
    )


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
