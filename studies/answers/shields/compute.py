"""Every shield of the stated ranges solved, and the best that meets the limits solved to the asked accuracy."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from studies.answers.fields.compute import receptor_results
from studies.answers.limits.compute import zone_results
from studies.answers.limits.verdicts import Limited, field_of, ratio
from studies.answers.losses.compute import loss_results
from studies.answers.losses.rows import LossResult
from studies.answers.net_currents.with_net import field_with_net, judged_with_net
from studies.answers.shields.plate import factor_without_edges
from studies.answers.shields.rows import ShieldResult
from studies.answers.solutions import solved_variant
from studies.section.parts import is_of
from studies.study.file import Study
from studies.study.requests import Accuracy
from studies.study.solved_changes import LEAST_MASS, ShieldSearch
from studies.text.failures import guarded
from studies.text.problems import StudyError
from studies.text.progress import Progress

COARSE = 0.05
"""Tolerance of the search; the winner has that of the study. [-]"""
NAME = "added-shield"
WATER = 1000.0
"""Density that those of the study file are over. [kg/m^3]"""


def shield_results(
    study: Study, places: Sequence[Limited], losses: Sequence[LossResult], report_progress: Progress
) -> tuple[ShieldResult, ...]:
    """Every shield that can be placed, the lightest (or that of least loss) first.

    `places`, `losses`: receptors and zones, and losses, of the study as stated.

    One is chosen, unless none meets the limits; a shield that touches anything is left out.
    """
    asked = study.shield_search
    if asked is None:
        return ()
    metals = tuple(zip(asked.metals, asked.relative_densities, strict=True))
    candidates = list(itertools.product(metals, asked.thicknesses, asked.widths, asked.middles))
    rows = []
    for number, ((metal, density), thickness, width, middle) in enumerate(candidates, 1):
        report_progress(f"shield {number} of {len(candidates)}: {metal}, {width * 1e3:g} x {thickness * 1e3:g} mm")
        mass = WATER * density * thickness * width
        one = _Candidate(metal, thickness, width, middle, mass)
        row = guarded(f"shield {number}", partial(_solved, study, one, COARSE, places, losses), None)
        rows += [] if row is None else [(one, row)]
    return tuple(_with_winner(study, asked, rows, places, losses, report_progress))


@dataclass(frozen=True)
class _Candidate:
    """A flat plate, in SI."""

    metal: str
    thickness: float
    width: float
    middle: tuple[float, float]
    mass: float
    """[kg/m]"""


def _with_winner(
    study: Study,
    asked: ShieldSearch,
    rows: Sequence[tuple[_Candidate, ShieldResult]],
    places: Sequence[Limited],
    losses: Sequence[LossResult],
    report_progress: Progress,
) -> Iterator[ShieldResult]:
    def cost(pair: tuple[_Candidate, ShieldResult]) -> float:
        return pair[1].mass_kg_per_m if asked.least == LEAST_MASS else pair[1].loss_w_per_m

    ordered = sorted(rows, key=cost)
    found = [row for _, row in ordered]
    for k, (one, row) in enumerate(ordered):
        if row.within_limits:
            better: ShieldResult | None = row
            if study.accuracy.tolerance < COARSE:
                report_progress("solving the best shield to the asked accuracy")
                better = _solved(study, one, study.accuracy.tolerance, places, losses)
            if better is not None:
                found[k] = better
                if better.within_limits:
                    found[k] = replace(better, chosen=True)
                    break
    yield from (replace(row, beaten=any(_beats(other, row) for other in found)) for row in found)


def _beats(one: ShieldResult, other: ShieldResult) -> bool:
    own, its = ((r.mass_kg_per_m, r.loss_w_per_m, r.field_over_limit) for r in (one, other))
    return own != its and all(a <= b for a, b in zip(own, its, strict=True))


def _solved(
    study: Study,
    one: _Candidate,
    tolerance: float,
    places: Sequence[Limited],
    losses: Sequence[LossResult],
) -> ShieldResult | None:
    """The study with a shield; None if it touches cables or metal."""
    metal, thickness, width, middle, mass = one.metal, one.thickness, one.width, one.middle, one.mass
    assert study.shield_search is not None
    turned = study.shield_search.turned
    plate = {"shape": "rectangle", "material": metal, "at": list(middle), "width": width, "height": thickness}
    try:
        other = study.with_({f"metalwork.{NAME}": plate | {"turned": turned}})
        other = other.model_copy(update={"accuracy": Accuracy(tolerance=tolerance)})
        solutions = solved_variant(other, lambda _: None)
    except StudyError:
        return None
    every: list[Limited] = [*receptor_results(other, solutions), *zone_results(other, solutions)]
    found = judged_with_net(other, field_with_net(other, solutions), every)
    fields = [place for place in found if place.limit_t is not None]
    worst = max(fields, key=_over)
    before, alone = (next(place for place in own if place.name == worst.name) for own in (places, every))
    factor, outside = factor_without_edges(solutions, NAME, (width, thickness, turned, middle), worst)
    field, error = field_of(worst)
    now = loss_results(other, solutions)
    total, stated = (sum(loss.loss_w_per_m for loss in every) for every in (now, losses))
    return ShieldResult(
        metal=metal,
        width_m=width,
        thickness_m=thickness,
        x_m=middle[0],
        y_m=middle[1],
        mass_kg_per_m=mass,
        receptor=worst.name,
        b_rms_t=field,
        b_rms_error_t=error,
        field_over_limit=_over(worst),
        shielding_factor=field_of(before)[0] / field_of(alone)[0],
        infinite_plate_factor=factor,
        infinite_plate_outside=outside,
        within_limits=all(place.within_limit for place in fields),
        loss_w_per_m=total,
        loss_error_w_per_m=sum(loss.loss_error_w_per_m for loss in now),
        loss_change_w_per_m=total - stated,
        shield_loss_w_per_m=sum(loss.loss_w_per_m for loss in now if is_of(loss.part, NAME)),
        beaten=False,
        chosen=False,
        line=_line(one, turned),
    )


def _over(place: Limited) -> float:
    """Field over its limit, or its exposure index. [-]"""
    return ratio(place) or 0.0


def _line(one: _Candidate, turned: float) -> str:
    x, y = one.middle
    keys = (
        f'name = "{NAME}"',
        'shape = "rectangle"',
        f'material = "{one.metal}"',
        f'at = ["{x * 1e3:.6g} mm", "{y * 1e3:.6g} mm"]',
        f'width = "{one.width * 1e3:.6g} mm"',
        f'height = "{one.thickness * 1e3:.6g} mm"',
        f'turned = "{math.degrees(turned):.6g} deg"',
    )
    return "\n".join(("[[metalwork]]", *keys))
