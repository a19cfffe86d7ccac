"""Current over permitted current, and the factor on all currents at which no cable is hotter than it may be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from fem.arrays import Floats
from fem.ties import Tie
from geometry.clearance import polygon
from studies.answers.losses.rows import LossResult
from studies.answers.net_currents.superposed import Superposed
from studies.answers.net_currents.with_net import field_with_net, superposed_of
from studies.answers.permitted.rows import PermittedCable, PermittedResult, SurfaceLoss
from studies.answers.steel.compute import scaled
from studies.closed_forms.lines import line_model
from studies.section.parts import METALWORK, TRAY, CrossSection, PhaseTie, PlacedCable, StudyPart
from studies.section.spectrum import fundamental
from studies.solve.accuracy import solve_once, solve_to_tolerance
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.circuits import Circuit
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.text.failures import guarded
from studies.text.progress import Progress

NO_POINTS = np.zeros((0, 2))
MOST_SOLVES = 6
"""Solves at other currents at most, in search of the factor with saturating steel."""
SETTLED = 1e-3
"""Change of the factor below which it is found. [-]"""


@dataclass(frozen=True)
class AloneLoss:
    """Loss of a cable alone at its permitted current. [W/m]"""

    value: float
    error: float
    formula: float | None


def permitted_result(
    study: Study, solutions: tuple[Solution, ...], losses: Sequence[LossResult], report_progress: Progress
) -> PermittedResult | None:
    """Every cable with a permitted current beside it; None if the study states none.

    solutions: One for each frequency.
    losses: Those of all parts, over all frequencies.
    """
    asked = {circuit.name: circuit for circuit in study.circuits if circuit.permitted_current is not None}
    if not asked:
        return None
    section = solutions[0].section
    alone: dict[str, AloneLoss] = {}
    for name, circuit in asked.items():
        report_progress(f"permitted current: solving a cable of {name} alone")
        alone[name] = loss_alone(study, section, circuit)
    net = superposed_of(field_with_net(study, solutions))
    every = _losses_with_net(net, losses)
    cables = tuple(
        _cable(cable, asked[cable.circuit], solutions, net, every, alone[cable.circuit])
        for cable in section.cables
        if cable.circuit in asked
    )
    factor, error, decided_by = _least(cables)
    steel = None
    if section.steels() and factor is not None:
        search = partial(_with_steel, solutions, cables, factor, report_progress)
        steel = guarded("equal-heat factor with saturating steel", search, None)
    factor, decided_by = steel or (factor, decided_by)
    return PermittedResult(
        equal_heat_factor=factor,
        equal_heat_factor_error=error,
        decided_by=decided_by,
        solved_with_steel=steel is not None,
        within_permitted_current=all(one.current_ratio + one.current_ratio_error <= 1 for one in cables),
        within_equal_heat=factor is None or factor - (error or 0.0) >= 1,
        cables=cables,
        surfaces=surface_losses(section, losses),
    )


def loss_alone(study: Study, section: CrossSection, circuit: Circuit) -> AloneLoss:
    """Loss of the first cable of a circuit alone in air at the permitted current, its outer layers open."""
    cable = next(cable for cable in section.cables if cable.circuit == circuit.name)
    own = alone_section(section, cable, circuit.permitted_current or 0.0, fundamental(study, circuit))
    solved, estimate, _ = solve_to_tolerance(own, NO_POINTS, (), study.accuracy.tolerance, lambda _: None)
    return AloneLoss(
        float(solved.losses.total.sum()),
        float(estimate.of_losses().sum()),
        guarded("closed form of the loss alone", lambda: _formula_alone(own), None),
    )


def alone_section(section: CrossSection, cable: PlacedCable, current: float, frequency: float) -> CrossSection:
    """One cable of a cross-section in air with a current [A] in its conductor; it returns far away."""
    parts = tuple(part for part in section.parts if part.cable == cable)
    ties = tuple(Tie((part.name,), current if part.kind == CONDUCTOR else 0.0) for part in parts)
    tie = next(k for k, part in enumerate(parts) if part.kind == CONDUCTOR)
    phase = PhaseTie(cable.circuit, cable.phase, tie, complex(current))
    return CrossSection((cable,), parts, ties, (phase,), frequency, phase_colours=section.phase_colours)


def _formula_alone(section: CrossSection) -> float:
    model = line_model(section)
    return float(abs(section.phases[0].current) ** 2 * model.resistances[0])


def _losses_with_net(net: Sequence[Superposed | None], losses: Sequence[LossResult]) -> list[LossResult]:
    """The losses of all parts with what net currents add, each at its own worst angle."""
    found = list(losses)
    for own in net:
        if own is not None:
            added, errors, _ = own.losses()
            for k, loss in enumerate(found):
                error = loss.loss_error_w_per_m + float(errors[k])
                found[k] = replace(loss, loss_w_per_m=loss.loss_w_per_m + float(added[k]), loss_error_w_per_m=error)
    return found


def _current(solution: Solution, net: Superposed | None, number: int) -> Floats:
    """Magnitude of the current of the part of a number, with net currents at the worst angle. [A]"""
    if net is None:
        return np.asarray(np.abs(solution.solved.drive.currents[number]))
    known, unknown = net.split(net.now.currents()[:, number])
    return np.asarray(np.abs(known) + np.abs(unknown).sum())


def _cable(
    cable: PlacedCable,
    circuit: Circuit,
    solutions: tuple[Solution, ...],
    net: Sequence[Superposed | None],
    losses: Sequence[LossResult],
    alone: AloneLoss,
) -> PermittedCable:
    parts = solutions[0].section.parts
    conductor = next(k for k, part in enumerate(parts) if part.cable == cable and part.kind == CONDUCTOR)
    currents = [_current(solution, own, conductor) for solution, own in zip(solutions, net, strict=True)]
    errors = [solution.estimate.of(lambda r: r.currents)[conductor] for solution in solutions]
    current, error = float(root_sum_square(currents)), float(combined_error(currents, errors))
    loss = sum(losses[k].loss_w_per_m for k in _of(cable, parts))
    loss_error = sum(losses[k].loss_error_w_per_m for k in _of(cable, parts))
    permitted = circuit.permitted_current or 0.0
    factor = math.sqrt(alone.value / loss) if loss > 0 else None
    relative = loss_error / loss + alone.error / alone.value if loss > 0 else 0.0
    return PermittedCable(
        cable=cable.label,
        phase=cable.phase,
        current_rms_a=current,
        current_error_a=error,
        permitted_current_a=permitted,
        current_ratio=current / permitted,
        current_ratio_error=error / permitted,
        loss_w_per_m=loss,
        loss_error_w_per_m=loss_error,
        alone_loss_w_per_m=alone.value,
        alone_loss_error_w_per_m=alone.error,
        formula_alone_loss_w_per_m=alone.formula,
        equal_heat_factor=factor,
        equal_heat_factor_error=None if factor is None else factor / 2 * relative,  # of f = sqrt(W/P)
    )


def _of(cable: PlacedCable, parts: Sequence[StudyPart]) -> list[int]:
    return [k for k, part in enumerate(parts) if part.cable == cable]


def _least(cables: Sequence[PermittedCable]) -> tuple[float | None, float | None, str | None]:
    """Least factor with its error and the cable that decides it."""
    judged = [one for one in cables if one.equal_heat_factor is not None]
    if not judged:
        return None, None, None
    hottest = min(judged, key=lambda one: one.equal_heat_factor or 0.0)
    return hottest.equal_heat_factor, hottest.equal_heat_factor_error, hottest.cable


def _with_steel(
    solutions: tuple[Solution, ...], cables: Sequence[PermittedCable], start: float, report_progress: Progress
) -> tuple[float, str]:
    """The factor at which the hottest cable loses what it may, by solves with the steel as it then is.

    Steel is magnetised at the first frequency; losses at the others keep to the square of the current.
    """
    section, solved = solutions[0].section, solutions[0].solved
    others = {one.cable: one.loss_w_per_m - _own(section, solved.losses.total, one.cable) for one in cables}
    factor, decides = start, cables[0].cable
    for _ in range(MOST_SOLVES):
        report_progress(f"permitted current: solving with {factor:.3g} times the currents")
        again = solve_once(scaled(section, factor), solved.fields.mesh, NO_POINTS, ()).losses.total
        loss = {name: _own(section, again, name) + factor**2 * other for name, other in others.items()}
        heat = {one.cable: loss[one.cable] / one.alone_loss_w_per_m for one in cables}
        decides = max(heat, key=heat.__getitem__)
        change = 1 / math.sqrt(heat[decides])
        factor *= change
        if abs(change - 1) < SETTLED:
            break
    return factor, decides


def _own(section: CrossSection, losses: Floats, cable: str) -> float:
    return float(sum(losses[k] for k, part in enumerate(section.parts) if part.cable and part.cable.label == cable))


def surface_losses(section: CrossSection, losses: Sequence[LossResult]) -> tuple[SurfaceLoss, ...]:
    """Loss of each tray and piece of metalwork over the outline of its section."""
    found = []
    for part, loss in zip(section.parts, losses, strict=True):
        if part.kind in (TRAY, METALWORK):
            outline = float(polygon(part.shape).length)
            found.append(
                SurfaceLoss(
                    *(part.name, loss.loss_w_per_m, loss.loss_error_w_per_m, outline),
                    *(loss.loss_w_per_m / outline, loss.loss_error_w_per_m / outline),
                )
            )
    return tuple(found)
