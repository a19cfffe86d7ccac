"""Answers on limits: the highest field in zones, and how far each limit reaches."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.limits.brief import distance_brief, zone_brief
from studies.answers.limits.compute import limit_distance_results, zone_results
from studies.answers.limits.judged_places import place_lines
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.answers.limits.summary import distance_lines
from studies.answers.limits.words import limit_section


def _zones(asked: Asked) -> tuple[ZoneResult, ...]:
    return zone_results(asked.study, asked.solutions, asked.refined.get("zones"))


def _distances(asked: Asked) -> tuple[LimitDistanceResult, ...]:
    return limit_distance_results(asked.study, asked.solutions, asked.refined.get("limit_distances"))


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.limits.figure import draw_limit_distances, shows_limits

    return {names.LIMIT_DISTANCES: partial(draw_limit_distances, seen)} if shows_limits(seen) else {}


ZONES = Answer(
    "zones",
    "zones",
    _zones,
    sections={"Zones and distances": limit_section},
    brief=lambda seen: (zone_brief(seen),),
    lines=place_lines,
    notes=place_lines,
    sees=("limit_distances", "receptors", "reservations"),
)
LIMIT_DISTANCES = Answer(
    "limit_distances",
    "limit distances",
    _distances,
    brief=lambda seen: (distance_brief(seen),),
    lines=distance_lines,
    figures=_figure,
    sees=("receptors", "zones"),
)
