"""All formulas of a study beside their numbers."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from studies.answers.fields.compute import receptor_results
from studies.answers.formulas_beside.field import field_formulas
from studies.answers.formulas_beside.impedance import inductance_formulas, resistance_formulas
from studies.answers.formulas_beside.rows import FormulaBeside, rows_beside
from studies.answers.losses.compute import loss_results, part_results
from studies.answers.losses.rows import LossResult
from studies.answers.phases.compute import phase_results
from studies.closed_forms.losses import LAYERS
from studies.closed_forms.series import NAME, SOURCE, SeriesResult, series_result
from studies.closed_forms.validity import ClosedForm, failed_form
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.failures import guarded, rescued


def formulas_beside(study: Study, solutions: tuple[Solution, ...]) -> tuple[FormulaBeside, ...]:
    """Every formula for every number at the study's own frequency, simplest first, beside its finite-element value."""
    base = solutions[:1]
    section, model = base[0].section, base[0].model
    series = guarded("exact series of round conductors", lambda: series_result(section), None)
    radius = base[0].solved.fields.return_radius
    groups: dict[str, Callable[[], list[FormulaBeside]]] = {
        "field": lambda: field_formulas(section, model, base[0].shared_model(), receptor_results(study, base), series),
        "resistance": lambda: resistance_formulas(section, model, part_results(study, base), series),
        "inductance": lambda: inductance_formulas(section, model, phase_results(study, solutions), radius, series),
        "loss": lambda: loss_formulas(base[0], loss_results(study, base), series),
    }
    return tuple(row for quantity, make in groups.items() for row in guarded(f"formulas of the {quantity}", make, ()))


def loss_formulas(
    solution: Solution, losses: tuple[LossResult, ...], series: SeriesResult | None
) -> list[FormulaBeside]:
    """Screens and sheaths by IEC 60287-1-1 and the exact series; a tray's floor as an infinite plate."""
    rows = []
    for k, part in enumerate(solution.section.parts):
        closed = rescued(
            f"closed form of the loss of {part.name}",
            partial(solution.loss_formula, part),
            partial(failed_form, "closed form"),
        )
        forms = [] if closed is None else [closed]
        if series is not None and part.kind in LAYERS:
            forms.append(ClosedForm(NAME, SOURCE, float(series.losses[k]), ()))
        rows += rows_beside(f"{part.kind} loss", part.name, "W/m", losses[k].loss_w_per_m, forms)
    return rows
