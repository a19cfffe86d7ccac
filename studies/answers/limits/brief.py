"""Zones and limit distances in a terminal."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.judged_places import short_verdict
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.text.engineering import three_digits
from studies.text.plain_table import PlainTable

OVERALL = "overall"


LONGEST_LIMIT, LONGEST_NAME = 28, 16
"""Letters of the names of limits, and of what they are of, so that tables stay narrower than a terminal."""


def zone_brief(result: Answers) -> PlainTable:
    """The highest field of each zone."""
    several = _several(result)
    head = ("zone", "highest in air", "at x", "at y", "where", "limit", *(("index",) if several else ()), "")
    return PlainTable(
        head,
        tuple(
            (
                zone.name,
                three_digits(zone.b_max_rms_t, "T"),
                f"{zone.x_m:.3g} m",
                f"{zone.y_m:.3g} m",
                zone.where,
                _limit(zone),
                *((_index(zone.exposure_index),) if several else ()),
                short_verdict(result, zone),
            )
            for zone in result.zones
        ),
    )


def distance_brief(result: Answers) -> PlainTable:
    """How far each limit reaches in each direction."""
    return PlainTable(
        ("limit", "of", "right", "up", "left", "down", OVERALL),
        tuple(
            (_limit(rows[0]), _of(rows[0]), *(_away(row) for row in rows))
            for rows in (
                result.limit_distances[k : k + len(_DIRECTIONS)]
                for k in range(0, len(result.limit_distances), len(_DIRECTIONS))
            )
        ),
    )


_DIRECTIONS = ("right", "up", "left", "down", OVERALL)


def _several(result: Answers) -> bool:
    return any(len(receptor.spectrum) > 1 for receptor in result.receptors) or any(
        zone.exposure_index is not None for zone in result.zones
    )


def _limit(entry: ReceptorResult | ZoneResult | LimitDistanceResult) -> str:
    """Name of a reference level, or the flux density."""
    return _short(entry.limit_name or three_digits(entry.limit_t, "T"), LONGEST_LIMIT)


def _of(row: LimitDistanceResult) -> str:
    more = "" if len(row.of) == 1 else f" +{len(row.of) - 1}"
    return f"{_short(row.of[0], LONGEST_NAME)}{more}"


def _short(text: str, longest: int) -> str:
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def _away(row: LimitDistanceResult) -> str:
    return three_digits(row.from_outline_m, "m") if row.state == "met" else row.state


def _index(value: float | None) -> str:
    return "" if value is None else f"{value:.3g}"
