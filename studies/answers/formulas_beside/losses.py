"""Formulas of the loss of a part of metal."""

from __future__ import annotations

from functools import partial

from studies.answers.losses.rows import LossResult
from studies.closed_forms.losses import LAYERS, LossFormula
from studies.closed_forms.rung import Rung
from studies.closed_forms.series import NAME, SOURCE, SeriesResult
from studies.solve.solution import Solution
from studies.text.failures import Failure, rescued


def loss_rungs(solution: Solution, losses: tuple[LossResult, ...], series: SeriesResult | None) -> list[Rung]:
    """Screens and sheaths by IEC 60287-1-1 and the exact series; a tray's floor as an infinite plate."""
    rungs = []
    for k, part in enumerate(solution.section.parts):
        element, quantity = losses[k].loss_w_per_m, f"{part.kind} loss"
        closed = rescued(f"closed form of the loss of {part.name}", partial(solution.loss_formula, part), _failed)
        if closed is not None:
            rungs.append(
                Rung(
                    quantity, part.name, closed.name, closed.source, "W/m", closed.value, element, closed.outside_range
                )
            )
        if series is not None and part.kind in LAYERS:
            rungs.append(Rung(quantity, part.name, NAME, SOURCE, "W/m", float(series.losses[k]), element, ()))
    return rungs


def _failed(failure: Failure) -> LossFormula:
    return LossFormula("closed form", "", float("nan"), (f"could not be computed: {failure.why}",))
