"""Width of the cables of a study, the clear gaps that they keep, and the cases in which the rule for gaps lapses.

The gaps are geometry. A code uses them under conditions of its own, which `RULE` states; no current rating follows
from this module.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import shapely

from geometry.shapes import boundary_loops
from studies.section.placement import GROUP_CLEAR_GAP

if TYPE_CHECKING:
    from studies.section.parts import CrossSection, PlacedCable
    from studies.study.file import Study
    from studies.study.trays import Tray

CLEAR_DIAMETERS = 1.0
"""Clear gap between single cables of one layer; common practice, no source. [cable diameters]"""
TOUCHING = 1.05
"""Largest distance between the axes of a trefoil. [cable diameters]"""
EQUAL_SIDES = 0.02
"""Largest relative difference of the sides of a trefoil. [-]"""
ROUNDING = 1e-6
"""Share by which a gap may fall short, since lengths are rounded. [-]"""
LAYER, GROUPS, BOTH, ALONE = "1 diam.", "2.15 diam.", "1, 2.15 diam.", "alone"
NOT_KEPT, CLOSED = "not kept", "closed"
IN_WORDS = {
    LAYER: "one cable diameter in a single layer",
    GROUPS: "2.15 times the largest diameter between trefoil groups",
    BOTH: "one cable diameter between single cables, 2.15 times the largest diameter beside trefoil groups",
    ALONE: "none needed, one cable or one trefoil group alone",
    NOT_KEPT: "neither one cable diameter in a single layer nor 2.15 times the largest diameter between trefoil groups",
    CLOSED: "gaps under a cover or in closed metal, for which there is no rule",
}
"""The gaps that cables keep, or the reason why there is no rule for them, by the word of a table."""
RULE = (
    "The rule for clear gaps is common practice (no source) on open trays without a cover. In NEC 2023, 392.80(A)(2), "
    "(c) and (d) [seen], it is for single conductors of 1/0 AWG (53.5 mm²) and larger: a spaced layer uses the "
    "free-air table (310.17), trefoil groups use another, lower one (310.20). It lapses under a cover longer than 6 ft "
    "(1.8 m)."
)
"""Conditions of the rule. Public threads on the code quote its paragraphs and tables; a tray maker's manual, with older
numbering, states the length of the cover."""
LEAST_AREA = 53.49e-6
"""1/0 AWG, the smallest conductor of the rule. [m^2]"""


@dataclass(frozen=True)
class Spacing:
    """Which clear gaps the cables of a cross-section keep."""

    kept: str
    """LAYER, GROUPS, BOTH, ALONE or NOT_KEPT, by geometry alone."""
    closed_by: tuple[str, ...]
    """Trays with a cover and closed metal that hold cables."""
    least_area: float
    """Of the smallest conductor. [m^2]"""

    @property
    def word(self) -> str:
        """The gaps kept, for a table; CLOSED if they are kept but there is no rule for them."""
        return CLOSED if self.closed_by and self.kept != NOT_KEPT else self.kept

    @property
    def rule_met(self) -> bool:
        """Whether the gaps of the rule are kept on trays without a cover."""
        return self.word not in (NOT_KEPT, CLOSED)

    def sentences(self) -> tuple[str, ...]:
        """Sentences on the gaps kept, on features outside the rule and, if gaps are kept, on its conditions."""
        found = [f"Clear gaps kept: {IN_WORDS[self.kept]}."]
        if self.word == CLOSED:
            found.append(f"Cables lie under a cover or in closed metal ({', '.join(self.closed_by)}): the rule lapses.")
        if self.least_area < LEAST_AREA and self.kept != NOT_KEPT:
            found.append(f"The smallest conductor has {1e6 * self.least_area:.4g} mm², too small for the rule.")
        return tuple(found) if self.kept == NOT_KEPT else (*found, RULE)


def spacing_of(study: Study, section: CrossSection) -> Spacing:
    """The clear gaps that the cables of a cross-section keep, and the metal closed around them."""
    areas = (study.cables[circuit.cable].conductor.area for circuit in study.circuits)
    return Spacing(gaps_kept(section.cables, study.trays), _closed_by(study, section), min(areas))


def width_used(cables: Sequence[PlacedCable], trays: Iterable[Tray]) -> float:
    """Width of the cables, from outside to outside; of several trays, that of the fullest. [m]"""
    rows = _rows(cables, trays)
    return max(max(body.right for body in row) - min(body.left for body in row) for row in rows)


def gaps_kept(cables: Sequence[PlacedCable], trays: Iterable[Tray]) -> str:
    """Which clear gaps the cables keep.

    cables: Every cable of the study.
    trays: The trays on which they lie; cables on no tray count as one row of their own.
    Returns kept: LAYER: single cables in one layer with a clear gap of one diameter at least; GROUPS: trefoil groups
        with a clear gap of 2.15 diameters of the larger cable at least to what is beside them; BOTH; ALONE: nothing is
        beside another; NOT_KEPT. Common practice, no source.
    """
    rows = _rows(cables, trays)
    if not all(_row_is_spaced(row) for row in rows):
        return NOT_KEPT
    pairs = [pair for row in rows for pair in pairwise(sorted(row, key=lambda body: body.left))]
    with_groups = {first.is_group or second.is_group for first, second in pairs}
    if not with_groups:
        return ALONE
    return BOTH if len(with_groups) > 1 else GROUPS if with_groups == {True} else LAYER


def _closed_by(study: Study, section: CrossSection) -> tuple[str, ...]:
    """Trays with a cover that hold cables, and closed metal around cables."""
    found = [
        tray.name
        for tray in study.trays
        if tray.cover is not None
        and any(_lies_on(_local(cable, tray), cable.layers.outer_radius, tray) for cable in section.cables)
    ]
    axes = [shapely.Point(cable.axis) for cable in section.cables]
    for part in section.parts:
        pockets = () if part.cable is not None else boundary_loops(part.shape)[1]
        if any(shapely.Polygon(pocket).contains(axis) for pocket in pockets for axis in axes):
            found.append(part.name)
    return tuple(dict.fromkeys(found))


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
    """The bodies of each tray, in the directions of the tray; bodies on no tray are the last row."""
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
    """Whether three successive cables of one circuit touch, or nearly touch, in a triangle."""
    if len(cables) < 3 or len({cable.circuit for cable in cables}) > 1:
        return False
    sides = [math.dist(places[i], places[j]) for i, j in ((0, 1), (1, 2), (2, 0))]
    diameter = 2 * cables[0].layers.outer_radius
    return max(sides) <= TOUCHING * diameter and max(sides) - min(sides) <= EQUAL_SIDES * max(sides)
