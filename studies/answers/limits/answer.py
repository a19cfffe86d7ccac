"""Answers on limits: the highest field in zones, and how far each limit reaches."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.limits.compute import limit_distance_results, zone_results
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.answers.limits.words import (
    distance_rows,
    distance_table,
    limit_section,
    place_lines,
    zone_rows,
    zone_table,
)


def _zones(asked: Asked) -> tuple[ZoneResult, ...]:
    known: tuple[ZoneResult, ...] | None = asked.refined.get("zones")
    return zone_results(asked.study, asked.solutions) if known is None else known


def _distances(asked: Asked) -> tuple[LimitDistanceResult, ...]:
    known: tuple[LimitDistanceResult, ...] | None = asked.refined.get("limit_distances")
    return limit_distance_results(asked.study, asked.solutions) if known is None else known


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.limits.figure import draw_limit_distances, shown_limits

    return {names.LIMIT_DISTANCES: partial(draw_limit_distances, seen)} if shown_limits(seen) else {}


ZONES = Answer(
    "zones",
    "zones",
    _zones,
    sections={"Zones and distances": limit_section},
    brief=lambda seen: (zone_table(seen),),
    sheet=zone_rows,
    lines=place_lines,
    notes=place_lines,
    sees=("limit_distances", "receptors", "reservations"),
)
LIMIT_DISTANCES = Answer(
    "limit_distances",
    "limit distances",
    _distances,
    brief=lambda seen: (distance_table(seen),),
    sheet=distance_rows,
    figures=_figure,
    sees=("receptors", "zones"),
)
