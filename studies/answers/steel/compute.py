"""How the steel was magnetised, with the linear answer beside it, and the study at other currents."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from fem.arrays import Floats
from fem.effective import rule_error, third_harmonic
from fem.losses import losses
from fem.polarisation import resultant
from studies.answers.steel.rows import SaturationResult, SweepPoint
from studies.section.parts import METALWORK, TRAY, CrossSection
from studies.section.stated_materials import stated_material
from studies.solve.accuracy import Solved, solve_once
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.materials import material_of, other_curve_of
from studies.study.parts import CONDUCTOR
from studies.text.failures import guarded
from studies.text.progress import Progress


def rule_errors(solution: Solution) -> Floats:
    """Error of each part's loss by the effective rule; zero of all that does not saturate, shape (N,). [W/m]"""
    gaps = {} if solution.solved.saturated is None else solution.solved.saturated.rule_gaps
    share = np.array([rule_error(gaps.get(part.name, 0.0)) for part in solution.section.parts])
    return share * solution.solved.losses.total


def third_harmonic_share(solution: Solution) -> float | None:
    """Largest third harmonic of the field beside saturating steel over the fundamental, None without any. [-]"""
    saturated = solution.solved.saturated
    return None if saturated is None else third_harmonic(max(saturated.rule_gaps.values()))


def saturation_results(study: Study, solution: Solution) -> tuple[SaturationResult, ...]:
    """Peak flux density and linear loss of every part of saturating steel."""
    saturated = solution.solved.saturated
    if saturated is None:
        return ()
    linear, _ = losses(saturated.linear_fields, saturated.linear_drive.voltages)
    steels = solution.section.steels()
    return tuple(
        SaturationResult(
            part=part.name,
            peak_b_t=saturated.peaks[part.name].largest,
            mean_peak_b_t=saturated.peaks[part.name].mean,
            relative_permeability=abs(steels[part.name].linear_permeability),
            loss_w_per_m=float(solution.solved.losses.total[k]),
            linear_loss_w_per_m=float(linear.total[k]),
            solves=saturated.solves,
            rule_error=rule_error(saturated.rule_gaps[part.name]),
            curve=material_of(study, stated_material(study, part)[0]).curve or "",
            other_curve=(other_curve_of(study, stated_material(study, part)[0]) or ("",))[0],
        )
        for k, part in enumerate(solution.section.parts)
        if part.name in steels
    )


def sweep_results(study: Study, solution: Solution, report_progress: Progress) -> tuple[SweepPoint, ...]:
    """The study's own frequency at other currents, on its finest mesh."""
    if study.current_sweep is None:
        return ()
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    own = _loss(solution.section, solution.solved, (TRAY, METALWORK))

    def point(factor: float) -> SweepPoint:
        report_progress(f"solving with {factor:g} times the currents")
        solved = solve_once(scaled(solution.section, factor), solution.solved.fields.mesh, receptors, ())
        return SweepPoint(
            factor=factor,
            tray_loss_w_per_m=_loss(solution.section, solved, (TRAY, METALWORK)),
            conductor_loss_w_per_m=_loss(solution.section, solved, (CONDUCTOR,)),
            quadratic_tray_loss_w_per_m=own * factor**2,
            receptor_b_rms_t=tuple(resultant(solved.requested.receptors).tolist()),
        )

    points = [
        guarded(f"current sweep at {factor:g} times the currents", partial(point, factor), None)
        for factor in study.current_sweep.factors
    ]
    return tuple(one for one in points if one is not None)


def scaled(section: CrossSection, factor: float) -> CrossSection:
    """The cross-section with all currents times a factor."""
    return replace(
        section,
        ties=tuple(replace(tie, current=tie.current * factor) for tie in section.ties),
        phases=tuple(replace(phase, current=phase.current * factor) for phase in section.phases),
    )


def _loss(section: CrossSection, solved: Solved, kinds: tuple[str, ...]) -> float:
    return float(sum(solved.losses.total[k] for k, part in enumerate(section.parts) if part.kind in kinds))
