"""Each remedy solved as a study of its own, to the tolerance of the study, beside the study as stated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from studies.answers.fields.compute import receptor_results
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.compute import zone_results
from studies.answers.limits.judged_field import JudgedField
from studies.answers.limits.rows import ZoneResult
from studies.answers.losses.compute import loss_results, part_results
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.net_currents.with_net import field_with_net, judged_with_net
from studies.answers.orders.compute import order_search
from studies.answers.remedies.changes import TREFOIL, Change, changes, in_order, of_order
from studies.answers.remedies.nearest import nearest_place
from studies.answers.remedies.rows import RemedyResult
from studies.answers.solutions import solved_variant
from studies.solve.solution import Solution
from studies.study.decisions import OrderSearch
from studies.study.file import Study
from studies.study.parts import TIED_LABELS
from studies.text.failures import guarded
from studies.text.problems import StudyError
from studies.text.progress import Progress

Place = ReceptorResult | ZoneResult
Laid = dict[str, tuple[Study, tuple[Solution, ...]]]
"""Changed studies with their solutions, by the remedy."""
SHARE = 0.02
"""A largest share of a parallel cable that grows by less is not worth a word. [-]"""

WORTH_TELLING = 0.01
"""A rise of the losses below this share decides nothing and is no drawback. [-]"""


@dataclass(frozen=True)
class Consequences:
    """What is judged of a solved study."""

    places: dict[str, Place]
    """Receptors and zones by name."""
    loss: float
    """Of all parts. [W/m]"""
    loss_error: float
    largest_share: float
    """Largest current of a parallel cable over an equal share; 1 without any. [-]"""


def remedy_results(
    study: Study,
    solutions: tuple[Solution, ...],
    receptors: Sequence[ReceptorResult],
    zones: Sequence[ZoneResult],
    losses: Sequence[LossResult],
    parts: Sequence[PartResult],
    report_progress: Progress,
) -> tuple[RemedyResult, ...]:
    """Every remedy for every receptor and zone above its limit, place by place.

    `solutions`: one for each frequency.
    `receptors`, `zones`, `losses`, `parts`: of the study as stated, without net currents, with which it is judged.

    Empty if nothing is above its limit; a remedy that fails costs only itself.
    """
    if study.remedies is None:
        return ()
    field = field_with_net(study, solutions)
    stated = _state(judged_with_net(study, field, [*receptors, *zones]), losses, parts)
    above = [place for place in stated.places.values() if place.within_limit is False]
    named = study.remedies.of
    above = [place for place in above if named is None or place.name in named]
    if not above:
        return ()
    rows: dict[str, list[RemedyResult]] = {place.name: [] for place in above}
    for place in above:
        if isinstance(place, ReceptorResult):
            rows[place.name] += guarded(
                f"smallest distance of {place.name}", partial(_farther, study, field, place, stated), ()
            )
    laid: Laid = {}
    for change in _changes(study, solutions, above, laid, report_progress):
        solve = partial(_rows, study, change, above, stated, laid, report_progress)
        for row in guarded(f"remedy {change.remedy}", solve, ()):
            rows[row.place].append(row)
    return tuple(row for own in rows.values() for row in own)


def _changes(
    study: Study, solutions: tuple[Solution, ...], above: Sequence[Place], laid: Laid, report_progress: Progress
) -> Iterator[Change]:
    """All changes, first that to the best phase order for the field at the places above their limit.

    `laid`: The last change that was solved, where a better order of its cables is worth a search.
    """
    order = guarded("best phase order as a remedy", partial(_order, study, solutions, above, report_progress), None)
    if order is not None:
        yield order
    assert study.remedies is not None
    for change in changes(study, study.remedies.thickness_factor):
        yield change
        if change.remedy == TREFOIL and TREFOIL in laid:
            other, found = laid.pop(TREFOIL)
            order = guarded(f"best order of {TREFOIL}", partial(_order, other, found, above, report_progress), None)
            if order is not None and sum(label not in TIED_LABELS for c in other.circuits for label in c.phases) > 3:
                yield in_order(change, order)


def _order(
    study: Study, solutions: tuple[Solution, ...], above: Sequence[Place], report_progress: Progress
) -> Change | None:
    names = {place.name for place in above}
    receptors = tuple(receptor.name for receptor in study.receptors if receptor.name in names)
    zones = tuple(zone.name for zone in study.zones if zone.name in names)
    asked = OrderSearch(objective="field", receptors=receptors or None, zones=zones or None)
    found = order_search(study.model_copy(update={"order_search": asked}), solutions[0], report_progress)
    return None if found is None else of_order(study, found.best[0].phases)


def _rows(
    study: Study,
    change: Change,
    above: Sequence[Place],
    stated: Consequences,
    laid: Laid,
    report_progress: Progress,
) -> tuple[RemedyResult, ...]:
    """One remedy at every place above its limit; in words why it cannot be laid."""
    report_progress(f"solving the remedy: {change.remedy}")
    try:
        other = change.of(study)
        found = solved_variant(other, lambda message: report_progress(f"{change.remedy}: {message}"))
    except StudyError as error:
        why = f"cannot be laid: {error.problems[0].key} {error.problems[0].wrong}"
        return tuple(_unlaid(place, change, why) for place in above)
    if change.remedy == TREFOIL:
        laid[TREFOIL] = other, found
    places: list[Place] = [*receptor_results(other, found), *zone_results(other, found)]
    fields = judged_with_net(other, field_with_net(other, found), places)
    state = _state(fields, loss_results(other, found), part_results(other, found))
    worse = (*_drawbacks(state, stated), *change.beware)
    return tuple(_row(state.places[place.name], change, state, stated, worse) for place in above)


def _row(
    place: Place, change: Change, state: Consequences, stated: Consequences, worse: tuple[str, ...]
) -> RemedyResult:
    field, error = _field(place)
    return RemedyResult(
        place=place.name,
        remedy=change.remedy,
        lines=change.lines,
        b_rms_t=field,
        b_rms_error_t=error,
        limit_t=place.limit_t,
        limit_name=place.limit_name,
        within_limit=place.within_limit,
        loss_w_per_m=state.loss,
        loss_error_w_per_m=state.loss_error,
        loss_change_w_per_m=state.loss - stated.loss,
        drawbacks=worse,
    )


def _unlaid(place: Place, change: Change, why: str) -> RemedyResult:
    nothing = (None,) * 2
    return RemedyResult(
        place.name, change.remedy, (), *nothing, place.limit_t, place.limit_name, None, None, *nothing, (why,)
    )


def _farther(study: Study, field: JudgedField, place: ReceptorResult, stated: Consequences) -> tuple[RemedyResult, ...]:
    """The nearest place further out at which the limit is kept, in the field as it is."""
    found = nearest_place(study, field, place)
    remedy = "receptor further away"
    if found is None:
        unlaid = Change(remedy, {}, (), (), ())
        return (_unlaid(place, unlaid, "the limit is not met within a kilometre"),)
    x, y = found.at
    return (
        RemedyResult(
            place=place.name,
            remedy=remedy,
            lines=(f'[[receptors]] {place.name}: at = ["{x * 1e3:.0f} mm", "{y * 1e3:.0f} mm"]',),
            b_rms_t=found.b_rms_t,
            b_rms_error_t=found.b_rms_error_t,
            limit_t=place.limit_t,
            limit_name=place.limit_name,
            within_limit=True,
            loss_w_per_m=stated.loss,
            loss_error_w_per_m=stated.loss_error,
            loss_change_w_per_m=0.0,
            drawbacks=(),
            distance_m=found.distance_m,
        ),
    )


def _state(places: Sequence[Place], losses: Sequence[LossResult], parts: Sequence[PartResult]) -> Consequences:
    return Consequences(
        {place.name: place for place in places},
        sum(loss.loss_w_per_m for loss in losses),
        sum(loss.loss_error_w_per_m for loss in losses),
        max((part.share_of_phase or 1.0 for part in parts), default=1.0),
    )


def _drawbacks(state: Consequences, stated: Consequences) -> Iterator[str]:
    """What is worse than in the study as stated by more than the errors of both."""
    rise = state.loss - stated.loss
    if rise > max(state.loss_error + stated.loss_error, WORTH_TELLING * stated.loss):
        yield f"raises the losses by {100 * rise / stated.loss:.2g} %"
    for name, place in state.places.items():
        before = stated.places[name]
        (field, error), (own, own_error) = _field(place), _field(before)
        if place.within_limit is False and before.within_limit:
            yield f"breaks the limit at “{name}”"
        elif place.within_limit is False and field - own > error + own_error:
            yield f"raises the field at “{name}”, above its limit already"
    most, stated_most = state.largest_share, stated.largest_share
    if most > stated_most + SHARE:
        yield f"raises the largest share of a parallel cable from {100 * stated_most:.0f} % to {100 * most:.0f} %"


def _field(place: Place) -> tuple[float, float]:
    if isinstance(place, ZoneResult):
        return place.b_max_rms_t, place.b_max_rms_error_t
    return place.b_rms_t, place.b_rms_error_t
