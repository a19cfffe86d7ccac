"""The first verdict on a saved file: fields and limits alone, on the coarsest meshes whose error can be told."""

from __future__ import annotations

from fem.solve import SolveError
from geometry.triangulation import MeshingError
from studies.answers.answer import Asked
from studies.answers.registry import ANSWERS
from studies.answers.solutions import solved
from studies.report.summary import verdict_lines
from studies.runner import answered
from studies.section.parts import CrossSection
from studies.solve.levels import FINENESS
from studies.study.file import Study
from studies.text.failures import collected
from studies.text.numbers import percent
from studies.text.progress import Progress

COARSE = (0.7, *FINENESS)
"""Fineness of the meshes in turn; the second is the first of the run, which takes its solution up."""
TOLERANCE = 0.05
"""Least tolerance of the first verdict. [-]"""
JUDGED = ("receptors", "zones")
"""Answers that it rests on."""


def first_verdict(study: Study, whole: CrossSection, report_progress: Progress) -> str:
    """Verdict on the cross-section as drawn, with its largest error; empty if nothing has a limit or it fails."""
    if not any([*(place.limit for place in study.receptors), *(zone.limit for zone in study.zones)]):
        return ""
    tolerance = max(TOLERANCE, study.accuracy.tolerance)
    accuracy = study.accuracy.model_copy(update={"tolerance": tolerance})
    asked = study.model_copy(update={"accuracy": accuracy, "traverses": ()})
    with collected() as failures:
        try:
            solutions, derived = solved(asked, whole, report_progress, distances=False, finenesses=COARSE)
        except (MeshingError, SolveError):
            return ""
        done = {answer.key: answer.empty for answer in ANSWERS if answer.key not in JUDGED}
        result = answered(Asked(asked, solutions, report_progress, None, {"zones": derived.zones_of(solutions)}, done))
        error = percent(result.accuracy.worst_error, signed=False)
        first = f"First answer{_without(study)} on coarse meshes, numerical error at most {error} %."
        words = f"{verdict_lines(result)[0]} {first}"
    return "" if failures else words


def _without(study: Study) -> str:
    """What the verdict of the study will count in and the first does not."""
    asked = {
        "net currents": any(circuit.net_current for circuit in study.circuits),
        "direct currents": any(circuit.direct_current for circuit in study.circuits),
        "laying tolerance": study.laying_tolerance,
        "the run in space": study.course,
        "the sections of the route": study.route,
    }
    left_out = [what for what, is_asked in asked.items() if is_asked]
    return f" without {', '.join(left_out)}" if left_out else ""
