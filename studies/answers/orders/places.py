"""Points at which orders are judged: the receptors, and samples of each zone with what they may miss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats
from fem.field import FieldProbe
from studies.answers.limits.compute import judge as judge_limit
from studies.section.air import ZoneAir, air_of, outline_samples
from studies.section.parts import CrossSection
from studies.study.decisions import OrderSearch
from studies.study.file import Study

STEP = 0.1
"""Distance between samples on the outline of a zone's air over the distance of the nearest metal. [-]

Half a step off its highest place |B| is 0.13 % to 0.4 % lower, see `studies.section.air.STEP`.
"""
MOST_SAMPLES = 600
"""Samples of a zone; one that holds so much metal that it has more takes two or four times the step."""


@dataclass(frozen=True)
class JudgedPlace:
    """A receptor or a zone that an order is judged at."""

    name: str
    is_zone: bool
    points: Floats
    """One point, or the samples of a zone, shape (q, 2). [m]"""
    limit: float | None
    """[T]"""
    counts: bool
    """Whether the objective asks for it."""


def order_places(study: Study, section: CrossSection, probe: FieldProbe) -> tuple[JudgedPlace, ...]:
    """Receptors and zones of a study, in that order."""
    asked = study.order_search or OrderSearch()
    receptors, zones = counted(asked, [entry.name for entry in study.receptors], [zone.name for zone in study.zones])
    places = [
        JudgedPlace(entry.name, False, np.array([entry.at]), _limit(entry.limit, section), entry.name in receptors)
        for entry in study.receptors
    ]
    for zone in study.zones:
        air = air_of(section.cables, section.parts, np.asarray(zone.window[0]), np.asarray(zone.window[1]))
        if air is not None:
            points = zone_points(air, probe)
            places.append(JudgedPlace(zone.name, True, points, _limit(zone.limit, section), zone.name in zones))
    return tuple(places)


def counted(asked: OrderSearch, receptors: list[str], zones: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the receptors and zones that count: all where the study names none, else those that it names."""
    if asked.receptors is None and asked.zones is None:
        return tuple(receptors), tuple(zones)
    return asked.receptors or (), asked.zones or ()


def zone_points(air: ZoneAir, probe: FieldProbe) -> Floats:
    """Samples along the outline of a zone's air, shape (q, 2). [m]"""
    for step in (STEP, 2 * STEP, 4 * STEP):
        points = np.vstack([ring[:-1] for ring in outline_samples(air, probe.free_distance, step)])
        if len(points) <= MOST_SAMPLES:
            break
    return points


def _limit(limit: float | str | None, section: CrossSection) -> float | None:
    return judge_limit(limit, [section.frequency], [0.0], [0.0]).limit_t
