"""What the error estimate of a field does not cover, beside every verdict: bends, laying, net current, circuits off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.polarisation import resultant
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.answers.losses.doubtful_currents import computed_currents, doubtful_currents
from studies.answers.losses.rows import PartResult
from studies.answers.net_currents.rows import NetCurrents
from studies.answers.reservations.circuits_off import fields_of_circuits, highest_with_some_off, solved_circuits
from studies.answers.reservations.rows import BEND, ReservationResult
from studies.answers.route.rows import RouteResult
from studies.answers.space.rows import SpaceResult
from studies.closed_forms.lines import formula_field
from studies.section.enclosure import is_magnetic, metal_at
from studies.solve.cancelling_fields import least_field
from studies.solve.solution import Solution, root_sum_square
from studies.study.file import Study
from studies.study.laying import CLEATS

ABOVE_BEND = 1.22
"""Above its corner: sqrt(3/2) of flat line currents, less of a trefoil [D]."""
END = 0.5
"""At the end of the run: one half of the straight run is missing [D]."""
SHIFT = 3e-3
"""How far each cable may lie from where it was drawn; common practice, no source. [m]"""
NET_SHARE = 0.01
"""Net current over the largest phase current that may return elsewhere; common practice, no source. [-]"""

WORTH_TELLING = 0.01
"""A field with circuits off that is higher by less is not told. [-]"""

Judged = ReceptorResult | ZoneResult


def reservation_results(
    study: Study,
    solutions: tuple[Solution, ...],
    places: Sequence[Judged],
    parts: Sequence[PartResult],
    route: RouteResult | None,
    space: SpaceResult | None = None,
    net: NetCurrents | None = None,
) -> tuple[ReservationResult, ...]:
    """For every receptor, zone and section of a route with a verdict, the field in cases that it leaves out.

    Each case is taken alone, by line currents: that is an estimate of how far the verdict carries, not a bound. A
    receptor that the run in space follows has its highest field there in place of the cases of a bend and an end, and a
    place of a study with net currents its field with them in place of a net current of `NET_SHARE`. Cables in cleats do
    not lie off one by one; their laying tolerance stands for that.
    """
    followed = {} if space is None else {row.name: row for row in space.along}
    stated = {} if net is None else {(row.kind, row.place): row for row in net.fields}
    cleated = study.laying_tolerance is not None and study.laying_tolerance.held == CLEATS
    rows: list[ReservationResult] = []
    judged = [entry for entry in places if entry.within_limit is not None]
    points = np.array([[entry.x_m, entry.y_m] for entry in judged]).reshape(-1, 2)
    several = bool(judged) and len(solved_circuits(solutions[0])) > 1
    alone = [fields_of_circuits(solution, points) for solution in solutions] if several else []
    for at, entry in enumerate(judged):
        along = followed.get(entry.name) if isinstance(entry, ReceptorResult) else None
        if along is not None and along.is_higher:
            within, changes = along.within_limit, along.within_limit is not entry.within_limit
            case = ("receptor", entry.name, "", "course", along.b_rms_t, within, changes, along.section)
            rows.append(ReservationResult(*case))
        kind = "zone" if isinstance(entry, ZoneResult) else "receptor"
        beside = stated.get((kind, entry.name))
        if beside is not None:
            changes = beside.within_limit is not entry.within_limit
            case = (kind, entry.name, "", "stated net current", beside.b_rms_t, beside.within_limit, changes, "")
            rows.append(ReservationResult(*case))
        replaced = {"bend", "end"} if along is not None else set()
        replaced |= {"net current"} if beside is not None else set()
        replaced |= {"laying"} if cleated else set()
        own = [fields[:, at] for fields in alone]
        rows += [row for row in _of(study, solutions, entry, parts, own) if row.concern not in replaced]
    for field in () if route is None else route.fields:
        if field.within_limit is None or not field.limit_t:
            continue
        for concern, factor in (("bend", BEND), ("end", END)):
            then = factor * field.judged_b_rms_t
            within = then <= field.limit_t
            changes = within is not field.within_limit
            rows.append(ReservationResult("route", field.receptor, field.section, concern, then, within, changes, ""))
    return tuple(rows)


def _of(
    study: Study,
    solutions: tuple[Solution, ...],
    entry: Judged,
    parts: Sequence[PartResult],
    circuits: Sequence[Complexes],
) -> Iterator[ReservationResult]:
    """`circuits`, shape (c, 2) each: Fields of the circuits at the place, one for each frequency. [T]"""
    kind = "zone" if isinstance(entry, ZoneResult) else "receptor"
    field, error = (
        (entry.b_max_rms_t, entry.b_max_rms_error_t)
        if isinstance(entry, ZoneResult)
        else (entry.b_rms_t, entry.b_rms_error_t)
    )
    place = np.array([[entry.x_m, entry.y_m]])
    share = entry.exposure_index if entry.exposure_index is not None else field / (entry.limit_t or np.inf)
    for concern, then, words in _cases(solutions, place, field, circuits):
        within = bool(share * (then + error) / field <= 1) if field > 0 else None
        changes = within is not None and within is not entry.within_limit
        yield ReservationResult(kind, entry.name, "", concern, then, within, changes, words)
    for concern, words in _doubts(study, solutions[0], entry, place, parts):
        yield ReservationResult(kind, entry.name, "", concern, None, None, changes_verdict=True, words=words)


def _cases(
    solutions: tuple[Solution, ...], place: Floats, field: float, circuits: Sequence[Complexes]
) -> Iterator[tuple[str, float, str]]:
    """What may be otherwise on site, the field then [T], and what it is in words where a number belongs to it."""
    base = solutions[0]
    yield "bend", BEND * field, ""
    yield "end", END * field, ""
    distances = np.linalg.norm(base.model.axes - place, axis=1)
    currents = root_sum_square([np.abs(solution.model.currents) for solution in solutions])
    off = mu_0 * SHIFT / (2 * np.pi) * float(np.linalg.norm(currents / distances**2))
    yield "laying", field + off, ""
    if any(is_magnetic(part) or part.steel is not None for part in base.section.parts):
        bare = float(root_sum_square([resultant(formula_field(one.model, place)) for one in solutions])[0])
        yield "steel", max(field, bare), ""
    net = NET_SHARE * max((abs(phase.current) for phase in base.section.phases), default=0.0)
    away = float(np.linalg.norm(base.model.axes.mean(axis=0) - place[0]))
    if net > 0 and away > 0:
        yield "net current", field + mu_0 * net / (2 * np.pi * away), f"{net:.2g} A"
    some_off = highest_with_some_off(solved_circuits(base), circuits) if circuits else None
    if some_off is not None and some_off[0] > field * (1 + WORTH_TELLING):
        yield "circuits off", *some_off


def _doubts(
    study: Study, base: Solution, entry: Judged, place: Floats, parts: Sequence[PartResult]
) -> Iterator[tuple[str, str]]:
    """Cautions without a number that a verdict should not be read without."""
    if isinstance(entry, ReceptorResult):
        if not entry.within_tolerance:
            yield "accuracy", "its numerical error is above what was asked"
        if entry.b_rms_t < float(least_field(base.section, place)[0]):
            yield "cancelling", "the fields of circuits cancel there, so that millimetres decide"
    metal = metal_at(base.section, place)[0]
    if metal is not None:
        yield "in metal", f"it lies in {metal}, where nothing can be measured"
    if doubtful_currents(study, base.section, computed_currents(parts)):
        yield "current", "a conductor carries more than its area can bear"
