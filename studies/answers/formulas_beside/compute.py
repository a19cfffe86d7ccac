"""All rungs of a study."""

from __future__ import annotations

from collections.abc import Callable

from studies.answers.fields.compute import receptor_results
from studies.answers.formulas_beside.field import field_rungs
from studies.answers.formulas_beside.impedance import inductance_rungs, resistance_rungs
from studies.answers.formulas_beside.losses import loss_rungs
from studies.answers.losses.compute import loss_results, part_results
from studies.answers.phases.compute import phase_results
from studies.closed_forms.rung import Rung
from studies.closed_forms.series import series_result
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.failures import guarded


def climb(study: Study, solutions: tuple[Solution, ...]) -> tuple[Rung, ...]:
    """Every formula for every number at the study's own frequency, simplest first, beside its finite-element value."""
    base = solutions[:1]
    section, model = base[0].section, base[0].model
    series = guarded("exact series of round conductors", lambda: series_result(section), None)
    radius = base[0].solved.fields.return_radius
    groups: dict[str, Callable[[], list[Rung]]] = {
        "field": lambda: field_rungs(section, model, base[0].shared_model(), receptor_results(study, base), series),
        "resistance": lambda: resistance_rungs(section, model, part_results(study, base), series),
        "inductance": lambda: inductance_rungs(section, model, phase_results(study, solutions), radius, series),
        "loss": lambda: loss_rungs(base[0], loss_results(study, base), series),
    }
    return tuple(rung for quantity, make in groups.items() for rung in guarded(f"formulas of the {quantity}", make, ()))
