"""Energy of the losses over a year: loss factor, or each load of a duration curve, with steel as it then saturates."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from fem.arrays import Floats
from studies.answers.energy.rows import EnergyResult, LossEnergy
from studies.answers.losses.rows import LossResult
from studies.answers.route.rows import RouteResult
from studies.answers.steel.compute import scaled
from studies.section.parts import KINDS
from studies.solve.accuracy import solve_once
from studies.solve.solution import Solution
from studies.study.energy import WAYS, YEAR, Energy
from studies.study.file import Study
from studies.text.progress import Progress

HOUR, KILOWATT_HOUR = 3600.0, 3.6e6
"""[s], [J]"""
LINEAR_SHARE = 0.3
"""k of the loss factor k m + (1 - k) m^2; F. H. Buller, C. A. Woodrow, Electrical World 92, 1928 [M]. [-]"""
ALL = "all"
SAME_LOSS = 1e-6
"""Share by which the loss of a section may be another than the study's own, and count as the same."""


def estimated_loss_factor(load_factor: float) -> float:
    """Mean square of a load over the square of its peak, from its mean over the peak m: 0.3 m + 0.7 m^2. [-]

    Bounds that hold for any load between 0 and its peak: m^2 if it is constant, m if it is full or none [D].
    """
    if not 0 <= load_factor <= 1:
        raise ValueError(f"load_factor is a mean over a peak, from 0 to 1: {load_factor}")
    return LINEAR_SHARE * load_factor + (1 - LINEAR_SHARE) * load_factor**2


def energy_result(
    study: Study,
    solutions: tuple[Solution, ...],
    losses: Sequence[LossResult],
    route: RouteResult | None,
    report_progress: Progress,
) -> EnergyResult | None:
    """Energy of each kind of parts over a year; None if the study does not ask."""
    asked = study.energy
    if asked is None:
        return None
    loads, shares = _curve(asked)
    mean_square = float(shares @ loads**2)
    bounds = None if asked.load_factor is None else (asked.load_factor**2, asked.load_factor)
    power = np.array([row.loss_w_per_m for row in losses])
    error = mean_square * np.array([row.loss_error_w_per_m for row in losses])
    mean = mean_square * power
    steel = bool(solutions[0].section.steels())
    if steel:
        mean = np.zeros(len(power))
        for load, share in zip(loads, shares, strict=True):
            mean = mean + share * _at_load(solutions, power, float(load), report_progress)
    # of a factor alone the loads are not known: steel at the load with that mean square, or in proportion to it
    open_ = np.abs(mean - mean_square * power) if steel and asked.hours is None else np.zeros(len(power))
    low, high = bounds or (mean_square, mean_square)
    least, most = np.minimum(low * power, mean - open_), np.maximum(high * power, mean + open_)
    length = asked.length or sum(section.length for section in study.route) or None
    if study.route and route is None:  # it failed: what its sections lose is not known
        length = None
    along = _mean_loss(solutions[0], power, route)
    rows = []
    for kind in (*KINDS, ALL):
        own = np.array([kind in (ALL, row.kind) for row in losses])
        if own.any():
            left_open = bounds is not None or bool(open_.any())
            of_kind = [float(values[own].sum()) for values in (power, mean, error, least, most)]
            run = length if along is None else length * along / of_kind[0] if length and kind == ALL else None
            rows.append(_row(asked, kind, of_kind, left_open, run))
    return EnergyResult(
        stated=next(way for way in WAYS if getattr(asked, way) is not None),
        load_factor=asked.load_factor if asked.hours is None else float(shares @ loads),
        loss_factor=mean_square,
        least_loss_factor=None if bounds is None else bounds[0],
        most_loss_factor=None if bounds is None else bounds[1],
        solved_with_steel=steel,
        length_m=length,
        run_loss_w_per_m=along,
        currency=asked.currency,
        rows=tuple(rows),
    )


def _curve(asked: Energy) -> tuple[Floats, Floats]:
    """Loads over the study's currents, and the share of the year of each; of a factor one constant load."""
    if asked.hours is not None and asked.loads is not None:
        return np.array(asked.loads, dtype=float), np.array(asked.hours) / YEAR
    factor = asked.loss_factor if asked.load_factor is None else estimated_loss_factor(asked.load_factor)
    return np.array([math.sqrt(factor or 0.0)]), np.ones(1)


def _at_load(solutions: tuple[Solution, ...], power: Floats, load: float, report_progress: Progress) -> Floats:
    """Losses of all parts at a load, the steel as it then is; those of other frequencies go with its square. [W/m]"""
    if load in (0.0, 1.0):
        return np.asarray(load * power)
    report_progress(f"energy: solving with {load:.3g} times the currents")
    first = solutions[0]
    again = solve_once(scaled(first.section, load), first.solved.fields.mesh, np.zeros((0, 2)), ()).losses.total
    return np.asarray(again + load**2 * (power - first.solved.losses.total))


def _mean_loss(first: Solution, power: Floats, route: RouteResult | None) -> float | None:
    """Mean loss along a run whose sections lose otherwise than the study's own, None for others. [W/m]

    Losses of further frequencies are those of the study's own section.
    """
    own = float(first.solved.losses.total.sum())
    if route is None or all(abs(section.loss_w_per_m - own) <= SAME_LOSS * own for section in route.sections):
        return None
    return route.loss_w / route.length_m + float(power.sum()) - own


def _row(asked: Energy, kind: str, values: Sequence[float], left_open: bool, length: float | None) -> LossEnergy:
    """length: Of the study's own section that loses as much as the run. [m]"""
    power, *means = values
    energy, error, least, most = (YEAR * HOUR * mean for mean in means)
    price = None if asked.price_per_kwh is None else asked.price_per_kwh / KILOWATT_HOUR
    return LossEnergy(
        kind=kind,
        loss_w_per_m=power,
        energy_j_per_m=energy,
        energy_error_j_per_m=error,
        least_energy_j_per_m=least if left_open else None,
        most_energy_j_per_m=most if left_open else None,
        energy_j=None if length is None else length * energy,
        cost_per_m=None if price is None else price * energy,
        cost=None if price is None or length is None else price * energy * length,
    )
