"""All rungs of a study."""

from __future__ import annotations

from studies.cross_section import CrossSection
from studies.ladder.field import field_rungs
from studies.ladder.impedance import inductance_rungs, resistance_rungs
from studies.ladder.losses import loss_rungs
from studies.ladder.rung import Rung
from studies.ladder.series import series_result
from studies.line_formulas import LineModel
from studies.results import LossResult, PartResult, PhaseResult, ReceptorResult


def climb(
    section: CrossSection,
    model: LineModel,
    receptors: tuple[ReceptorResult, ...],
    losses: tuple[LossResult, ...],
    parts: tuple[PartResult, ...],
    phases: tuple[PhaseResult, ...],
    reference_radius: float,
) -> tuple[Rung, ...]:
    """Every formula for every number of a study, simplest first, beside its finite-element value."""
    series = series_result(section)
    return (
        *field_rungs(section, model, receptors, series),
        *resistance_rungs(section, model, parts, series),
        *inductance_rungs(section, model, phases, reference_radius, series),
        *loss_rungs(section, model, losses, series),
    )
