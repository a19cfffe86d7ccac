"""Answers on limits: the highest field in zones, and how far each limit reaches."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.limits.compute import limit_distance_results, zone_results
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult


def _zones(asked: Asked) -> tuple[ZoneResult, ...]:
    return zone_results(asked.study, asked.solutions, asked.refined.get("zones"))


def _distances(asked: Asked) -> tuple[LimitDistanceResult, ...]:
    return limit_distance_results(asked.study, asked.solutions, asked.refined.get("limit_distances"))


ZONES = Answer("zones", "zones", _zones)
LIMIT_DISTANCES = Answer("limit_distances", "limit distances", _distances)
