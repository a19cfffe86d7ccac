"""Fields, shares and losses of the run as it may be installed: sampled by reciprocity, confirmed by direct solves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats, Ints
from studies.answers.fields.rows import ReceptorResult
from studies.answers.laying.direct import SolvedAgain, solve_layings
from studies.answers.laying.lot import Layings, Lot, lot_of
from studies.answers.laying.reciprocal import Reciprocal, reciprocal_of
from studies.answers.laying.rows import (
    LayingResult,
    Spread,
    ToleratedField,
    ToleratedLoss,
    ToleratedShare,
    VarianceShare,
)
from studies.answers.limits.compute import judge as judge_limit
from studies.answers.limits.judged_field import JudgedField
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.verdicts import field_of
from studies.answers.losses.rows import LossResult
from studies.answers.net_currents.superposed import NetAtPoints
from studies.answers.net_currents.with_net import field_with_net, judged_with_net, net_at_points
from studies.answers.orders.places import JudgedPlace, order_places
from studies.section.parts import KINDS, CrossSection
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.progress import Progress

ALONE = 2000
"""Layings with one input spread alone, for its share of the variance."""
BINS = 40
UNITS = {"across": "m", "up": "m", "angle": "rad", "temperature": "K"}
"""SI units of spreads that are no ratios."""
PERCENTILE = 0.95
WITHIN = 0.6
"""Samples of a zone whose field as drawn is below this share of its highest are left out."""
BOTH_SIDES = 1.96
"""Standard deviations of the count below a percentile on either side, for its error of 95 in 100."""


@dataclass(frozen=True)
class Sampled:
    """A number of all layings over that as drawn."""

    nominal: float
    """As drawn, by the same means as the samples."""
    values: Floats
    """Of all layings, shape (S,)."""
    alone: dict[str, Floats]
    """Of the first ones with one input spread alone, shape (ALONE,)."""

    def over(self, stated: float) -> Floats:
        """The samples by the study's own number as drawn, shape (S,)."""
        return self.values * (stated / self.nominal) if self.nominal > 0 else self.values

    def variance(self) -> tuple[VarianceShare, ...]:
        """Variance with one input alone over that with all."""
        whole = float(np.var(self.values))
        shares = {name: float(np.var(own)) / whole if whole > 0 else 0.0 for name, own in self.alone.items()}
        return tuple(VarianceShare(name, share) for name, share in shares.items())


def laying_result(
    study: Study,
    solutions: tuple[Solution, ...],
    places: Sequence[ReceptorResult | ZoneResult],
    losses: Sequence[LossResult],
    report_progress: Progress,
) -> LayingResult | None:
    """Everything that the study asks of its layings; None if it asks for none.

    study: What was solved.
    solutions: One for each frequency, that of the study's own first.
    places: Its receptors and zones with their fields as drawn, without net currents.
    losses: Of all parts as drawn.
    report_progress: Told what is being done.
    """
    asked = study.laying_tolerance
    if asked is None:
        return None
    section = solutions[0].section
    field = field_with_net(study, solutions)
    judged = _thinned(order_places(study, section, solutions[0].solved.probe), field)
    points = np.vstack([place.points for place in judged]) if judged else np.zeros((0, 2))
    report_progress(f"laying tolerance: {asked.samples:,} layings by reciprocity")
    lot = lot_of(study, section)
    models = [reciprocal_of(study, solution, points) for solution in solutions]
    net = net_at_points(field, points)
    samples = _samples(lot, models, net, judged)
    layings = lot.layings().first(min(asked.solves, asked.samples))
    sections = tuple(solution.section for solution in solutions)
    drawn, again = solve_layings(study, sections, layings, points, net, report_progress)
    fields = {place.name: place for place in judged_with_net(study, field, places)}
    return LayingResult(
        spreads=tuple(Spread(name, float(getattr(asked, name)), UNITS.get(name, "")) for name in asked.spread()),
        distribution=asked.distribution,
        held=asked.held,
        residual=asked.residual,
        seed=asked.seed,
        samples=asked.samples,
        solves=len(again),
        unsolved=len(layings.moves) - len(again),
        saturating=bool(section.steels()),
        fields=tuple(
            _field(study, solutions, fields[place.name], place, samples.fields[k], _again(drawn, again, judged, k))
            for k, place in enumerate(judged)
            if place.name in fields
        ),
        shares=_shares(section, models[0], samples, drawn, again),
        losses=_losses(section, losses, drawn, again),
    )


def _thinned(places: Sequence[JudgedPlace], field: JudgedField) -> list[JudgedPlace]:
    """The places without the samples of zones at which the field as drawn is far below the highest."""
    kept = []
    for place in places:
        value = field.value(place.points)
        high = value >= WITHIN * value.max()
        kept.append(JudgedPlace(place.name, place.is_zone, place.points[high], place.limit, place.counts))
    return kept


@dataclass(frozen=True)
class _Samples:
    fields: list[Sampled]
    """Of each place. [T]"""
    drawn: Floats
    """Magnitudes of the currents of all parts at the study's own frequency, as drawn, shape (N,). [A]"""
    all: Floats
    """The same of all layings, shape (S, N)."""
    alone: dict[str, Floats]
    """The same of the first with one input spread alone, shape (ALONE, N)."""


def _samples(
    lot: Lot, models: Sequence[Reciprocal], net: Sequence[NetAtPoints], places: Sequence[JudgedPlace]
) -> _Samples:
    """Field of each place and currents of all parts: as drawn, of all layings, and with each input alone."""
    cuts = np.cumsum([len(place.points) for place in places])[:-1]

    def state(layings: Layings) -> tuple[list[Floats], Floats]:
        currents = [model.currents(layings) for model in models]
        every = zip(models, currents, net, strict=True)
        squared = sum(model.squared_fields(layings, own, beside) for model, own, beside in every)
        pieces = np.split(np.asarray(squared), cuts, axis=1) if places else []
        return [np.sqrt(piece.max(axis=1)) for piece in pieces], np.abs(currents[0])

    nominal, drawn = state(lot.layings((), 1))
    values, everything = state(lot.layings())
    alone = {name: state(lot.layings((name,), ALONE)) for name in lot.asked.spread()}
    fields = [
        Sampled(float(nominal[k][0]), values[k], {name: own[0][k] for name, own in alone.items()})
        for k in range(len(places))
    ]
    return _Samples(fields, drawn[0], everything, {name: own[1] for name, own in alone.items()})


def _again(
    drawn: SolvedAgain, again: dict[int, SolvedAgain], places: Sequence[JudgedPlace], number: int
) -> tuple[Ints, Floats]:
    """Numbers of the layings that were solved again, and the field of a place over that as drawn."""
    ends = np.cumsum([0] + [len(place.points) for place in places])
    own = slice(ends[number], ends[number + 1])
    nominal = float(drawn.squared_fields[own].max())
    found = [float(one.squared_fields[own].max()) / nominal if nominal > 0 else 1.0 for one in again.values()]
    return np.array(list(again), dtype=np.int64), np.sqrt(np.array(found))


def _field(
    study: Study,
    solutions: tuple[Solution, ...],
    stated: ReceptorResult | ZoneResult,
    place: JudgedPlace,
    sampled: Sampled,
    again: tuple[Ints, Floats],
) -> ToleratedField:
    """A place over all layings, in terms of the study's own field as drawn."""
    b, error = field_of(stated)
    values = np.sort(sampled.over(b))
    p95, lot = percentile_with_error(values)
    numbers, ratios = again
    differences = ratios - sampled.over(1.0)[numbers] if len(numbers) else np.zeros(1)
    largest = float(np.abs(differences).max())
    p95_error = (error / b * p95 if b > 0 else error) + lot + largest * b
    count, edges = np.histogram(values, BINS)
    limits = {zone.name: zone.limit for zone in study.zones} | {own.name: own.limit for own in study.receptors}
    return ToleratedField(
        kind="zone" if place.is_zone else "receptor",
        place=place.name,
        b_rms_t=b,
        b_rms_error_t=error,
        median_b_rms_t=float(np.median(values)),
        p95_b_rms_t=p95,
        p95_b_rms_error_t=p95_error,
        worst_b_rms_t=float(values[-1]),
        limit_t=stated.limit_t,
        limit_name=stated.limit_name,
        within_limit=stated.within_limit,
        p95_within_limit=_within(limits[place.name], solutions, stated, p95, p95_error),
        largest_difference=largest,
        rms_difference=float(np.sqrt(np.mean(differences**2))),
        variance=sampled.variance(),
        histogram_b_rms_t=tuple(edges.tolist()),
        histogram_count=tuple(count.tolist()),
    )


def percentile_with_error(ordered: Floats) -> tuple[float, float]:
    """The 95th percentile of ordered samples (S,), and how far it may lie off with 95 in 100.

    The number of samples below a percentile is binomial: ranks S p +- 1.96 sqrt(S p (1 - p)) hold it.
    """
    size = len(ordered)
    ranks = PERCENTILE * size + np.array([-1, 0, 1]) * BOTH_SIDES * np.sqrt(size * PERCENTILE * (1 - PERCENTILE))
    low, middle, high = ordered[np.clip(np.ceil(ranks).astype(np.int64) - 1, 0, size - 1)]
    return float(middle), float(max(high - middle, middle - low))


def _within(
    limit: float | str | None,
    solutions: tuple[Solution, ...],
    stated: ReceptorResult | ZoneResult,
    p95: float,
    error: float,
) -> bool | None:
    """The verdict on the 95th percentile; a spectrum keeps its shape."""
    if limit is None:
        return None
    if not isinstance(limit, str) or len(solutions) == 1:
        return judge_limit(limit, [solutions[0].frequency], [p95], [error]).within
    if stated.exposure_index is None:
        return None
    return stated.exposure_index * (p95 + error) / field_of(stated)[0] <= 1


def _shares(
    section: CrossSection, model: Reciprocal, samples: _Samples, drawn: SolvedAgain, again: dict[int, SolvedAgain]
) -> tuple[ToleratedShare, ...]:
    """Currents of parallel conductors over an equal share of the stated current of their phase."""
    rows = []
    for phase in section.phases:
        own = section.ties[phase.tie].parts
        if len(own) < 2 or phase.current == 0:
            continue
        equal = abs(phase.current) / len(own)
        for part in own:
            k = model.names.index(part)
            values = np.sort(samples.all[:, k] / equal)
            differences = [
                (one.currents[k] - drawn.currents[k] - samples.all[n, k] + samples.drawn[k]) / equal
                for n, one in again.items()
            ]
            alone = {name: own_values[:, k] / equal for name, own_values in samples.alone.items()}
            rows.append(
                ToleratedShare(
                    part=part,
                    phase=phase.phase,
                    share=float(samples.drawn[k] / equal),
                    median_share=float(np.median(values)),
                    p95_share=percentile_with_error(values)[0],
                    worst_share=float(values[-1]),
                    largest_difference=float(np.abs(differences).max(initial=0.0)),
                    variance=Sampled(1.0, values, alone).variance(),
                )
            )
    return tuple(rows)


def _losses(
    section: CrossSection, stated: Sequence[LossResult], drawn: SolvedAgain, again: dict[int, SolvedAgain]
) -> tuple[ToleratedLoss, ...]:
    """Losses by kind of part, and of all parts, over the layings that were solved again."""
    if not again:
        return ()
    kinds = np.array([part.kind for part in section.parts])
    wanted: dict[str, tuple[str, ...]] = {kind: (kind,) for kind in KINDS if kind in kinds}
    if len(wanted) > 1:
        wanted["all"] = KINDS
    rows = []
    for name, own_kinds in wanted.items():
        own = np.isin(kinds, own_kinds)
        loss = sum(row.loss_w_per_m for row in stated if row.kind in own_kinds)
        nominal = float(drawn.losses[own].sum())
        values = np.array([one.losses[own].sum() for one in again.values()])
        values = np.sort(values * (loss / nominal) if nominal > 0 else values)
        rows.append(
            ToleratedLoss(
                kind=name,
                loss_w_per_m=float(loss),
                median_loss_w_per_m=float(np.median(values)),
                p95_loss_w_per_m=float(np.quantile(values, PERCENTILE)),
                worst_loss_w_per_m=float(values[-1]),
            )
        )
    return tuple(rows)
