"""Losses, currents and resistances of the parts, beside their formulas."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.steel.compute import rule_errors
from studies.closed_forms.lines import NO_FORMULA, SHARED, formula_shares
from studies.closed_forms.losses import rail_currents
from studies.section.parts import CrossSection, StudyPart, parallel_conductors
from studies.section.spectrum import fundamental
from studies.solve.accuracy import loss_scale
from studies.solve.solution import Solution, root_sum_square
from studies.study.file import Study
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.failures import Failure, guarded, rescued

OF_LOSS, OF_IMPEDANCE = "closed form of the loss", "closed form of the impedance"
"""What may fail beside the numbers, in words."""
NEGLIGIBLE_CURRENT = 1e-6
"""Parts with less than this share of the largest current carry no net current."""


def loss_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[LossResult, ...]:
    """Loss of every part, summed over the frequencies."""
    total = np.sum([solution.solved.losses.total for solution in solutions], axis=0)
    magnetic = np.sum([solution.solved.losses.magnetic for solution in solutions], axis=0)
    errors = np.sum([solution.estimate.of_losses() for solution in solutions], axis=0)
    scale = np.sum([loss_scale(solution.estimate.now) for solution in solutions], axis=0)
    by_formula = [guarded(OF_LOSS, partial(_formula_losses, solution), None) for solution in solutions]
    formulas = [formula or {} for formula in by_formula]
    of_rule = rule_errors(solutions[0])
    results = []
    for k, part in enumerate(solutions[0].section.parts):
        entries = [formula[part.name] for formula in formulas if part.name in formula]
        outside: tuple[str, ...] = ()
        if part.kind != CONDUCTOR:
            entries, outside = rescued(OF_LOSS, partial(_metal_formula, solutions, part), _no_formula)
        results.append(
            LossResult(
                part=part.name,
                kind=part.kind,
                phase=part.cable.phase if part.cable else None,
                loss_w_per_m=float(total[k]),
                loss_error_w_per_m=float(errors[k] + of_rule[k]),
                magnetic_loss_w_per_m=float(magnetic[k]),
                formula_loss_w_per_m=sum(value for value, _ in entries) if entries else None,
                formula=entries[0][1] if entries else NO_FORMULA,
                within_tolerance=bool(errors[k] <= study.accuracy.tolerance * scale[k]),
                formula_outside_range="; ".join(outside),
                rule_error_w_per_m=float(of_rule[k]),
            )
        )
    return tuple(results)


def ac_resistances(solution: Solution) -> Floats:
    """Loss over current squared of each part; not a number of parts without net current, shape (N,). [ohm/m]"""
    currents = np.abs(solution.solved.drive.currents)
    carries = currents > NEGLIGIBLE_CURRENT * currents.max(initial=0)
    own = np.full(len(currents), np.nan)
    own[carries] = solution.solved.losses.total[carries] / currents[carries] ** 2
    return own


def part_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[PartResult, ...]:
    """Electrical state of every part; that of a cable at its circuit's fundamental, if it is among the solutions."""
    rms = root_sum_square([np.abs(solution.solved.drive.currents) for solution in solutions])
    voltages = root_sum_square([np.abs(solution.solved.drive.voltages) for solution in solutions])
    shared = guarded("closed form of the sharing", lambda: _formula_currents(solutions), None) or {}
    own_frequency = {circuit.name: fundamental(study, circuit) for circuit in study.circuits}
    results = []
    for k, part in enumerate(solutions[0].section.parts):
        own = [s for s in solutions if part.cable and math.isclose(s.frequency, own_frequency[part.cable.circuit])]
        solution = own[0] if own else solutions[0]
        model, section, solved = solution.model, solution.section, solution.solved
        loss_errors = solution.estimate.of_losses()
        current_errors = solution.estimate.of(lambda r: r.currents)
        voltage_errors = solution.estimate.of(lambda r: r.voltages)
        formulas = {conductor.name: m for m, conductor in enumerate(model.conductors)}
        current = complex(solved.drive.currents[k])
        carries = abs(current) > NEGLIGIBLE_CURRENT * np.abs(solved.drive.currents).max(initial=0)
        resistance = float(ac_resistances(solution)[k])
        m = formulas.get(part.name)
        share = complex(model.currents[m]) if m is not None else 0j
        results.append(
            PartResult(
                part=part.name,
                kind=part.kind,
                phase=part.cable.phase if part.cable else None,
                current_a=current if carries else 0j,
                current_rms_a=float(rms[k]) if rms[k] > NEGLIGIBLE_CURRENT * rms.max() else 0.0,
                current_error_a=float(current_errors[k]) if carries else 0.0,
                formula_current_rms_a=shared.get(part.name),
                voltage_v_per_m=complex(solved.drive.voltages[k]),
                voltage_error_v_per_m=float(voltage_errors[k]),
                standing_voltage_v_per_100m=_standing_voltage(section, part, float(voltages[k])),
                r_dc_ohm_per_m=part.dc_resistance,
                r_ac_ohm_per_m=resistance if carries else None,
                r_ac_error_ohm_per_m=float(loss_errors[k]) / abs(current) ** 2 if carries else None,
                formula_r_ac_ohm_per_m=float(model.resistances[m]) if m is not None else None,
                share_of_phase=abs(current) / abs(share) if share != 0 else None,
                resistance_source=part.source,
            )
        )
    return tuple(results)


def _standing_voltage(section: CrossSection, part: StudyPart, voltage: float) -> float | None:
    """Rms voltage per 100 m at the open end of a metal layer bonded at one end only, None for other parts. [V]"""
    tie = next(tie for tie in section.ties if part.name in tie.parts)
    crossed = any(part.name in bond.parts for bond in section.cross_bonds)
    alone = len(tie.parts) == 1 and tie.impedance is None and not crossed
    return 100 * voltage if part.kind in METAL_LAYERS and alone else None


def _no_formula(failure: Failure) -> tuple[list[tuple[float, str]], tuple[str, ...]]:
    """No value, and the failure as the reason."""
    return [], (f"could not be computed: {failure.why}",)


def _metal_formula(solutions: tuple[Solution, ...], part: StudyPart) -> tuple[list[tuple[float, str]], tuple[str, ...]]:
    """Loss [W/m] of a part that is no conductor by its closed form at each frequency, with its name, and the reasons
    why it is not in its range; nothing unless there is one at every frequency."""
    found = []
    for solution in solutions:
        closed = solution.loss_formula(solution.section.part(part.name))
        if closed is None:
            return [], ()
        found.append(closed)
    outside = tuple(dict.fromkeys(reason for closed in found for reason in closed.outside_range))
    return [(closed.value, closed.name) for closed in found], outside


def _formula_losses(solution: Solution) -> dict[str, tuple[float, str]]:
    """Loss and formula of each conductor: ac resistance and current, that of parallel ones as they share it."""
    model, parallel = solution.model, parallel_conductors(solution.section)
    shares = _shares(solution)
    return {
        part.name: (
            float(abs(current) ** 2 * resistance),
            f"{method}; {SHARED}" if part.name in parallel else method,
        )
        for part, current, resistance, method in zip(
            model.conductors, shares, model.resistances, model.methods, strict=True
        )
    }


def _formula_currents(solutions: tuple[Solution, ...]) -> dict[str, float]:
    """Closed-form rms current of parallel conductors and of rails that rungs join, over all frequencies. [A]"""
    section, model = solutions[0].section, solutions[0].model
    parallel = parallel_conductors(section)
    currents = root_sum_square([np.abs(_shares(solution)) for solution in solutions])
    found = {
        part.name: float(current)
        for part, current in zip(model.conductors, currents, strict=True)
        if part.name in parallel
    }
    for rail in (section.part(name) for rails in section.rungs for name in rails):
        own = [rail_currents(solution.section, solution.model, rail) for solution in solutions]
        if all(own):
            found[rail.name] = float(np.sqrt(sum(abs(each[rail.name]) ** 2 for each in own if each)))
    return found


def _shares(solution: Solution) -> Complexes:
    return formula_shares(solution.section, solution.model, solution.solved.fields.return_radius)
