"""Induced voltage of loops from the vector potential of the solution, beside the logarithms of line currents."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.loops.rows import LoopComponent, LoopResult
from studies.answers.net_currents.superposed import Superposed
from studies.answers.net_currents.with_net import field_with_net, superposed_of
from studies.formulas.line_field import loop_voltage
from studies.solve.accuracy import SAFETY
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.file import Study
from studies.study.requests import Loop
from studies.text.failures import guarded

TURNS = 72
"""Places of a pair within one turn; half a turn is half of them. What is left of a turn is exact to 1e-3."""


def loop_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[LoopResult, ...]:
    """Induced voltage of every loop; one that fails costs only itself."""
    net = superposed_of(field_with_net(study, solutions)) if study.loops else ()
    found = (
        guarded(f"voltage of the loop {loop.name}", partial(_loop, study, loop, solutions, net), None)
        for loop in study.loops
    )
    return tuple(row for row in found if row is not None)


def _loop(study: Study, loop: Loop, solutions: tuple[Solution, ...], net: Sequence[Superposed | None]) -> LoopResult:
    spectrum = tuple(_component(loop, solution, own) for solution, own in zip(solutions, net, strict=True))
    u, u_error = _together([c.u_v_per_m for c in spectrum], [c.u_error_v_per_m for c in spectrum])
    voltage = error = None
    if spectrum[0].voltage_v is not None:
        voltage, error = _together([c.voltage_v or 0.0 for c in spectrum], [c.voltage_error_v or 0.0 for c in spectrum])
    (x1, y1), (x2, y2) = loop.wires
    return LoopResult(
        name=loop.name,
        x1_m=x1,
        y1_m=y1,
        x2_m=x2,
        y2_m=y2,
        length_m=loop.length,
        lay_length_m=loop.lay_length,
        u_v_per_m=u,
        u_error_v_per_m=u_error,
        formula_u_v_per_m=_together([c.formula_u_v_per_m for c in spectrum], [0.0] * len(spectrum))[0],
        voltage_v=voltage,
        voltage_error_v=error,
        untwisted_voltage_v=None if loop.lay_length is None or loop.length is None else u * loop.length,
        limit_v=loop.limit,
        within_limit=None if loop.limit is None or voltage is None else voltage + (error or 0.0) <= loop.limit,
        within_tolerance=bool(u_error <= study.accuracy.tolerance * u),
        spectrum=spectrum,
    )


def _component(loop: Loop, solution: Solution, net: Superposed | None) -> LoopComponent:
    turns = wires_of_turn(loop)
    now, error = _linkages(solution, turns, net)
    omega = 2 * np.pi * solution.frequency
    u, u_error = omega * float(np.abs(now[:, 0]).sum()), omega * float(error[0])
    voltage = None if loop.length is None else u * loop.length
    if loop.lay_length is not None:
        left = _left_of_turns(omega * now, loop.lay_length)
        voltage = left if voltage is None else min(voltage, left)
    return LoopComponent(
        frequency_hz=float(solution.frequency),
        u_v_per_m=u,
        u_error_v_per_m=u_error,
        formula_u_v_per_m=guarded("voltage of line currents", lambda: _formula(loop, solution, net), float("nan")),
        voltage_v=voltage,
        voltage_error_v=None if voltage is None else voltage * float(np.max(error) / np.max(np.abs(now).sum(axis=0))),
    )


def wires_of_turn(loop: Loop) -> Floats:
    """Both wires at each place of one turn, the first as stated; of a loop without twist there alone, (n, 2, 2). [m]"""
    wires = np.array(loop.wires)
    if loop.lay_length is None:
        return wires[None]
    middle, angle = wires.mean(axis=0), 2 * np.pi * np.arange(TURNS) / TURNS
    cosine, sine = np.cos(angle), np.sin(angle)
    turn = np.stack([np.stack([cosine, -sine], axis=1), np.stack([sine, cosine], axis=1)], axis=1)
    return np.asarray(middle + np.einsum("nij,wj->nwi", turn, wires - middle))


def _linkages(solution: Solution, wires: Floats, net: Superposed | None) -> tuple[Complexes, Floats]:
    """Flux per metre between pairs of wires (n, 2, 2) [m] and the estimate of its error, shape (n,). [Wb/m]

    Returns linkages, shape (1 + k, n), error: That of known phase, then those of net currents of unknown phase.
    """
    first, second = wires[:, 0], wires[:, 1]
    own = Superposed(solution, ()) if net is None else net
    now, before = own.now.linkages(first, second), own.coarser.linkages(first, second)
    error = np.maximum(SAFETY * np.abs(now - before), solution.estimate.least_relative * np.abs(now))
    if own.moved is not None:
        error = error + np.abs(own.moved.linkages(first, second) - now)
    known, unknown = own.split(now)
    return np.stack([known, *unknown]), error.sum(axis=0)


def _left_of_turns(voltages: Complexes, lay_length: float) -> float:
    """The most that an ideal twist leaves of the voltages (m, n) [V/m] at the places of one turn of a length [m]. [V]

    Whole turns cancel: opposite places of the two wires have opposite voltages. What is left is the integral over part
    of one turn, from the worst place to the worst place; in an even field lay length/pi times the largest voltage.
    The m voltages are of unknown phase to each other.
    """
    steps = lay_length / voltages.shape[1] * (voltages + np.roll(voltages, -1, axis=1)) / 2
    sums = np.cumsum(steps, axis=1)
    return float(np.abs(sums[:, :, None] - sums[:, None]).sum(axis=0).max())


def _formula(loop: Loop, solution: Solution, net: Superposed | None) -> float:
    lines = [(solution.model.axes, solution.model.currents)]
    lines += [] if net is None else [net.lines(term) for term in net.terms]
    voltages = np.array([loop_voltage(loop.wires, *own, solution.frequency) for own in lines])
    known, unknown = (voltages, voltages[:0]) if net is None else net.split(voltages)
    return float(np.abs(known.sum()) + np.abs(unknown).sum())


def _together(values: list[float], errors: list[float]) -> tuple[float, float]:
    """Root of the sum of squares over the frequencies, and its error."""
    sizes, own = [np.array(value) for value in values], [np.array(error) for error in errors]
    return float(root_sum_square(sizes)), float(combined_error(sizes, own))
