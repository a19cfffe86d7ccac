"""All formulas of a study beside their numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from studies.answers.fields.rows import ReceptorResult
from studies.answers.formulas_beside.field import field_formulas
from studies.answers.formulas_beside.impedance import inductance_formulas, resistance_formulas
from studies.answers.formulas_beside.rows import FormulaBeside, rows_beside
from studies.answers.phases.rows import PhaseResult
from studies.closed_forms.losses import LAYERS
from studies.closed_forms.series import NAME, SOURCE, SeriesResult, series_result
from studies.closed_forms.validity import ClosedForm, failed_form
from studies.solve.solution import Solution
from studies.text.failures import guarded, rescued


def formulas_beside(
    solution: Solution, receptors: Sequence[ReceptorResult], phases: Sequence[PhaseResult]
) -> tuple[FormulaBeside, ...]:
    """Every formula for every number at the study's own frequency, simplest first, beside its finite-element value."""
    series = guarded("exact series of round conductors", lambda: series_result(solution.section), None)
    groups: dict[str, Callable[[], list[FormulaBeside]]] = {
        "field": lambda: field_formulas(solution, receptors, series),
        "resistance": lambda: resistance_formulas(solution, series),
        "inductance": lambda: inductance_formulas(solution, phases, series),
        "loss": lambda: loss_formulas(solution, series),
    }
    return tuple(row for quantity, make in groups.items() for row in guarded(f"formulas of the {quantity}", make, ()))


def loss_formulas(solution: Solution, series: SeriesResult | None) -> list[FormulaBeside]:
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
        rows += rows_beside(f"{part.kind} loss", part.name, "W/m", float(solution.solved.losses.total[k]), forms)
    return rows
