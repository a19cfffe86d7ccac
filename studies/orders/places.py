"""Points at which orders are judged: the receptors, and samples of each zone with what they may miss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from fem.field import FieldProbe
from fem.mesh import Floats
from geometry.clearance import polygon
from studies.comparison.limits import judge as judge_limit
from studies.cross_section import CrossSection
from studies.study import OrderSearch, Study

STEP = 0.1
"""Distance between samples on a zone's edge over the distance of the nearest solid. [-]

|B| of a line falls from its highest place, a distance d away, as 1/sqrt(1 + (x/d)^2), that of a group without net
current as the square of it, of two such that oppose each other as the cube. Half a step off it is
0.13 %, 0.25 % and 0.4 % lower.
"""
FINE = 400
"""Points on each edge at which the distance of the solids is looked at."""
MOST_ON_EDGE = 150
"""Samples of one edge at most, where a zone touches a solid."""
GRID = 400
"""Samples within a zone that holds or touches solids, about as many."""
ON_SURFACE = 24
"""Samples along each surface of such a solid, on either side."""
SKIN = 0.02
"""Distance of these from the surface, over the solid's area divided by its circumference. [-]"""


@dataclass(frozen=True)
class Place:
    """A receptor or a zone that an order is judged at."""

    name: str
    is_zone: bool
    points: Floats
    """One point, or the samples of a zone, shape (q, 2). [m]"""
    limit: float | None
    """[T]"""
    counts: bool
    """Whether the objective asks for it."""
    has_sources: bool = False
    """Whether cables or metal are in the zone or touch it, so that its highest field may lie between the samples."""


def places_of(study: Study, section: CrossSection, probe: FieldProbe) -> tuple[Place, ...]:
    """Receptors and zones of a study, in that order."""
    asked = study.order_search or OrderSearch()
    receptors, zones = counted(asked, [entry.name for entry in study.receptors], [zone.name for zone in study.zones])
    solids = [polygon(part.shape) for part in section.parts]
    places = [
        Place(entry.name, False, np.array([entry.at]), _limit(entry.limit, section), entry.name in receptors)
        for entry in study.receptors
    ]
    for zone in study.zones:
        low, high = np.asarray(zone.window[0]), np.asarray(zone.window[1])
        touched = [solid for solid in solids if solid.intersects(shapely.box(*low, *high))]
        points, inside = zone_points(low, high, probe, touched), bool(touched)
        places.append(Place(zone.name, True, points, _limit(zone.limit, section), zone.name in zones, inside))
    return tuple(places)


def counted(asked: OrderSearch, receptors: list[str], zones: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the receptors and zones that count: all where the study names none, else those that it names."""
    if asked.receptors is None and asked.zones is None:
        return tuple(receptors), tuple(zones)
    return asked.receptors or (), asked.zones or ()


def zone_points(low: Floats, high: Floats, probe: FieldProbe, solids: Sequence[shapely.Polygon] = ()) -> Floats:
    """Samples of a rectangle (2,), (2,) [m], shape (q, 2). [m]

    In air without sources Bx and By are harmonic, so that |Bx|^2 + |By|^2 is highest on the edge, where the samples
    lie. Where solids are in the rectangle there is a grid within as well, and samples on either side of their surfaces,
    where the field is highest as a rule.
    """
    corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    edges = [_on_edge(start, end, probe) for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    if solids:
        size = high - low
        steps = np.maximum(np.sqrt(GRID * size / size[::-1]).astype(int), 2)
        lines = [np.linspace(low[k], high[k], steps[k] + 2)[1:-1] for k in range(2)]
        edges.append(np.stack(np.meshgrid(*lines), axis=-1).reshape(-1, 2))
        around = np.vstack([_around(solid) for solid in solids])
        edges.append(around[np.all((around >= low) & (around <= high), axis=1)])
    return np.vstack(edges)


def _on_edge(start: Floats, end: Floats, probe: FieldProbe) -> Floats:
    """Samples from one corner up to, but without, the next, closer together where a solid is close."""
    along = np.linspace(0, 1, FINE + 1)
    middle = (along[1:] + along[:-1]) / 2
    length = float(np.linalg.norm(end - start))
    distance = np.maximum(probe.free_distance(start + middle[:, None] * (end - start)), length / MOST_ON_EDGE)
    count = np.concatenate([[0.0], np.cumsum(length / FINE / (STEP * distance))])
    wanted = int(min(np.ceil(count[-1]), MOST_ON_EDGE))
    at = np.interp(np.arange(wanted) / wanted * count[-1], count, along)
    return np.asarray(start + at[:, None] * (end - start), dtype=np.float64)


def _around(solid: shapely.Polygon) -> Floats:
    """Points just within and just beyond the surfaces of a solid, shape (q, 2). [m]"""
    skin = SKIN * solid.area / solid.length
    loops = [loop for side in (-skin, skin) for loop in shapely.get_parts(solid.buffer(side).boundary)]
    along = np.arange(ON_SURFACE) / ON_SURFACE
    points = [shapely.get_coordinates(shapely.line_interpolate_point(loop, along, normalized=True)) for loop in loops]
    return np.vstack(points)


def _limit(limit: float | str | None, section: CrossSection) -> float | None:
    return judge_limit(limit, [section.frequency], [0.0], [0.0]).limit_t
