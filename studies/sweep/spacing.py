"""How much width the cables of a study take, and whether they keep the spacings that leave their full rating."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from studies.placement import GROUP_CLEAR_GAP

if TYPE_CHECKING:
    from studies.cross_section import PlacedCable
    from studies.study import Tray

CLEAR_DIAMETERS = 1.0
"""Clear gap between single cables of one layer; common practice, no source. [cable diameters]"""
TOUCHING = 1.05
"""Axes of a trefoil are not further apart than this. [cable diameters]"""
EQUAL_SIDES = 0.02
"""Sides of a trefoil differ by no more than this share. [-]"""
ROUNDING = 1e-6
"""Share by which a gap may fall short where a length was rounded. [-]"""


@dataclass(frozen=True)
class _Body:
    """A single cable or a trefoil group as it lies on its tray."""

    left: float
    right: float
    bottom: float
    top: float
    diameter: float
    """Of its largest cable. [m]"""
    is_group: bool


def width_used(cables: Sequence[PlacedCable], trays: Iterable[Tray]) -> float:
    """Width that the cables take, from outside to outside; that of the fullest tray where there are several. [m]"""
    rows = _rows(cables, trays)
    return max(max(body.right for body in row) - min(body.left for body in row) for row in rows)


def spacing_rules_met(cables: Sequence[PlacedCable], trays: Iterable[Tray]) -> bool:
    """Whether the cables lie as common practice asks of cables that are to keep their full current rating.

    Parameters
    ----------
    cables : sequence of PlacedCable
        Every cable of the study.
    trays : iterable of Tray
        The trays on which they lie; those that lie on none are taken as one row of their own.

    Returns
    -------
    met : bool
        Single cables in one layer with a clear gap of one diameter at least, trefoil groups with a clear gap of 2.15
        diameters at least to whatever is beside them. Common practice, no source.
    """
    return all(_row_is_spaced(row) for row in _rows(cables, trays))


def _row_is_spaced(row: Sequence[_Body]) -> bool:
    ordered = sorted(row, key=lambda body: body.left)
    for first, second in pairwise(ordered):
        largest = max(first.diameter, second.diameter)
        needed = (GROUP_CLEAR_GAP if first.is_group or second.is_group else CLEAR_DIAMETERS) * largest
        if second.left - first.right < needed - ROUNDING * largest:
            return False
        if second.bottom >= first.top or first.bottom >= second.top:  # steps are layers too
            return False
    return True


def _rows(cables: Sequence[PlacedCable], trays: Iterable[Tray]) -> list[list[_Body]]:
    """The bodies of each tray, in the tray's own directions; those that lie on no tray are the last row."""
    rows: list[list[_Body]] = []
    left = list(cables)
    for tray in trays:
        places = {id(cable): _local(cable, tray) for cable in left}
        own = [cable for cable in left if _lies_on(places[id(cable)], cable.layers.outer_radius, tray)]
        left = [cable for cable in left if cable not in own]
        if own:
            rows.append(_bodies(own, [places[id(cable)] for cable in own]))
    if left:
        rows.append(_bodies(left, [cable.axis for cable in left]))
    return rows


def _local(cable: PlacedCable, tray: Tray) -> tuple[float, float]:
    """Axis of a cable from the tray's resting point, along and across its floor. [m]"""
    x, y = cable.axis[0] - tray.rests_at[0], cable.axis[1] - tray.rests_at[1]
    cosine, sine = math.cos(tray.turned), math.sin(tray.turned)
    return cosine * x + sine * y, cosine * y - sine * x


def _lies_on(place: tuple[float, float], radius: float, tray: Tray) -> bool:
    width = tray.inside_width or tray.width or tray.inside_diameter or 0.0
    # above the sides of a tray lies what is no more than a cable's radius higher; a plate takes two layers
    height = (tray.inside_height or tray.inside_diameter or 4 * radius) + radius
    return abs(place[0]) < width / 2 and 0 < place[1] < height


def _bodies(cables: Sequence[PlacedCable], places: Sequence[tuple[float, float]]) -> list[_Body]:
    bodies = []
    k = 0
    while k < len(cables):
        count = 3 if _is_trefoil(cables[k : k + 3], places[k : k + 3]) else 1
        group = [
            (place, cable.layers.outer_radius)
            for cable, place in zip(cables[k : k + count], places[k : k + count], strict=True)
        ]
        bodies.append(
            _Body(
                min(x - radius for (x, _), radius in group),
                max(x + radius for (x, _), radius in group),
                min(y - radius for (_, y), radius in group),
                max(y + radius for (_, y), radius in group),
                2 * max(radius for _, radius in group),
                is_group=count == 3,
            )
        )
        k += count
    return bodies


def _is_trefoil(cables: Sequence[PlacedCable], places: Sequence[tuple[float, float]]) -> bool:
    """Whether three cables of one circuit that follow each other touch, or nearly, in a triangle."""
    if len(cables) < 3 or len({cable.circuit for cable in cables}) > 1:
        return False
    sides = [math.dist(places[i], places[j]) for i, j in ((0, 1), (1, 2), (2, 0))]
    diameter = 2 * cables[0].layers.outer_radius
    return max(sides) <= TOUCHING * diameter and max(sides) - min(sides) <= EQUAL_SIDES * max(sides)
