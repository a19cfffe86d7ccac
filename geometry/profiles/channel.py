"""Channel trays: a floor and two walls, with lips, dividers and a cover."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from geometry.dimensions import (
    require_below,
    require_choice,
    require_lengths,
)
from geometry.network import Rectangle, network_of_rectangles
from geometry.profiles.solids import MAIN
from geometry.shapes import Shape, wall_along

COVER = "cover"
"""Suffix of a cover that is a separate solid."""
INWARD, OUTWARD = "inward", "outward"


@dataclass(frozen=True)
class Divider:
    """An upright sheet on the floor of a tray, in contact with it."""

    position: float
    """Middle of the divider from the middle of the floor, to the right. [m]"""
    height: float
    """Above the inside floor, above 0. [m]"""
    thickness: float
    """Above 0. [m]"""

    def __post_init__(self) -> None:
        """Refuse lengths that no divider can have."""
        require_lengths(self, "height", "thickness")


@dataclass(frozen=True)
class Cover:
    """A plate over a tray, from outside to outside of its walls (from end to end of outward lips).

    With down-turned edges it is wider by the edges and their gaps.
    """

    thickness: float
    """Above 0. [m]"""
    clear_gap: float = 0.0
    """Between the top of the tray and the cover; 0 for a cover in contact, which is one solid with the tray. [m]"""
    edge: float = 0.0
    """Length of the down-turned edges below the underside of the cover; 0 for a flat cover. [m]"""
    edge_gap: float = 0.0
    """Between the sides of the tray and the down-turned edges; 0 for edges in contact. [m]"""

    def __post_init__(self) -> None:
        """Refuse lengths that no cover can have."""
        require_lengths(self, "thickness")
        require_lengths(self, "clear_gap", "edge", "edge_gap", above=False)
        if self.edge_gap > 0 and not self.edge > 0:
            raise ValueError(f"edge_gap of a cover must be 0 m if edge is 0 m: {self.edge_gap}")
        if self.clear_gap > 0 and self.edge > self.clear_gap and self.edge_gap == 0:
            raise ValueError(
                f"edge_gap of a cover must be above 0 m if clear_gap is ({self.clear_gap:g} m), or its edges touch "
                f"the sides of the tray: {self.edge_gap}"
            )


@dataclass(frozen=True)
class ChannelTray:
    """A channel tray. Its origin is the middle of the inside floor, with the floor below it and the walls above.

    The floor reaches from outside to outside of the walls. A perforated tray has the dimensions of a plain one.
    """

    inside_width: float
    """Between the walls, above 0. [m]"""
    inside_height: float
    """From the inside floor to the top of the walls and lips, above 0. [m]"""
    thickness: float
    """Of floor, walls and lips, above 0. [m]"""
    lip: float = 0.0
    """Length of the lips at the top of the walls, from the face of the wall; 0 for a plain channel. [m]"""
    lip_side: str = INWARD
    """Whether the lips reach over the inside ("inward") or away from it ("outward")."""
    dividers: tuple[Divider, ...] = ()
    cover: Cover | None = None

    def __post_init__(self) -> None:
        """Refuse dimensions that do not fit together."""
        require_lengths(self, "inside_width", "inside_height", "thickness")
        require_lengths(self, "lip", above=False)
        require_choice(self, "lip_side", (INWARD, OUTWARD))
        if self.lip > 0:
            require_below(self, "thickness", self.inside_height, "its inside_height, if it has lips")
        if self.lip_side == INWARD:
            require_below(self, "lip", self.inside_width / 2, "half its inside_width")
        self._check_dividers()
        self._check_cover()

    def solids(self) -> dict[str, Shape]:
        """The tray under "", and a cover that does not touch it under "cover"."""
        solids = {MAIN: self._body()}
        if self.cover is not None and self.cover.clear_gap > 0:
            solids[COVER] = _loose_cover(self.cover, self.outer_half_width, self.inside_height)
        return solids

    @property
    def outer_half_width(self) -> float:
        """Half the overall width of the tray without its cover. [m]"""
        outward = self.lip if self.lip_side == OUTWARD else 0.0
        return self.inside_width / 2 + self.thickness + outward

    def _body(self) -> Shape:
        """The tray, with a cover in contact: one mitred wall if possible, else a network of rectangles."""
        contact = self.cover if self.cover is not None and self.cover.clear_gap == 0 else None
        plain_cover = contact is not None and contact.edge == 0 and contact.thickness == self.thickness
        if self.dividers or (contact is not None and not (plain_cover and self.lip == 0)):
            return network_of_rectangles([*self._sheets(), *(self._contact_cover(contact) if contact else ())])
        half, height, t = self.inside_width / 2, self.inside_height, self.thickness
        inside = [(-half, height), (-half, 0.0), (half, 0.0), (half, height)]
        if self.lip > 0:  # the path follows the inside faces: under inward lips, over outward ones
            reach = (half - self.lip, height - t) if self.lip_side == INWARD else (half + t + self.lip, height)
            top = height - t if self.lip_side == INWARD else height
            ends = [(-reach[0], reach[1]), (reach[0], reach[1])]
            inside = [ends[0], (-half, top), (-half, 0.0), (half, 0.0), (half, top), ends[1]]
        return wall_along(inside, t, side="right", closed=contact is not None)

    def _sheets(self) -> list[Rectangle]:
        half, height, t = self.inside_width / 2, self.inside_height, self.thickness
        wall = half + t
        sheets = [
            Rectangle(-wall, -t, wall, 0.0),
            Rectangle(-wall, 0.0, -half, height),
            Rectangle(half, 0.0, wall, height),
        ]
        if self.lip > 0:
            near, far = (half - self.lip, half) if self.lip_side == INWARD else (wall, wall + self.lip)
            sheets += [Rectangle(-far, height - t, -near, height), Rectangle(near, height - t, far, height)]
        sheets += [
            Rectangle(d.position - d.thickness / 2, 0.0, d.position + d.thickness / 2, d.height) for d in self.dividers
        ]
        return sheets

    def _contact_cover(self, cover: Cover) -> list[Rectangle]:
        half, under = self.outer_half_width, self.inside_height
        over = under + cover.thickness
        if cover.edge == 0:
            return [Rectangle(-half, under, half, over)]
        inside, low = half + cover.edge_gap, under - cover.edge
        outside = inside + cover.thickness
        return [
            Rectangle(-outside, under, outside, over),
            Rectangle(-outside, low, -inside, under),
            Rectangle(inside, low, outside, under),
        ]

    def _check_dividers(self) -> None:
        ordered = sorted(self.dividers, key=lambda divider: divider.position)
        for divider in ordered:
            reach = self.inside_width / 2 - divider.thickness / 2
            if not abs(divider.position) < reach:
                raise ValueError(
                    f"position of a divider must lie between -{reach:g} and {reach:g} m, clear of the tray's walls: "
                    f"{divider.position}"
                )
            under_lip = self.lip > 0 and self.lip_side == INWARD and abs(divider.position) > reach - self.lip
            most = self.inside_height - (self.thickness if under_lip else 0.0)
            if divider.height > most:
                raise ValueError(
                    f"height of a divider must be at most {most:g} m, where the tray's lip or top is: {divider.height}"
                )
        for left, right in itertools.pairwise(ordered):
            least = (left.thickness + right.thickness) / 2
            if not right.position - left.position > least:
                raise ValueError(
                    f"positions of neighbouring dividers must differ by more than their thickness, {least:g} m: "
                    f"{left.position} and {right.position}"
                )

    def _check_cover(self) -> None:
        cover = self.cover
        if cover is None or cover.edge == 0:
            return
        top = self.inside_height if self.lip == 0 or self.lip_side == INWARD else self.thickness
        most = cover.clear_gap + (self.inside_height + self.thickness if cover.edge_gap > 0 else top)
        if not cover.edge <= most:
            raise ValueError(f"edge of a cover must be at most {most:g} m, the height of the tray: {cover.edge}")


def _loose_cover(cover: Cover, half: float, top: float) -> Shape:
    """A cover that does not touch its tray, of given half width and top. [m]"""
    under = top + cover.clear_gap
    if cover.edge == 0:
        return wall_along([(half, under), (-half, under)], cover.thickness, side="right")
    inside = half + cover.edge_gap
    path = [(inside, under - cover.edge), (inside, under), (-inside, under), (-inside, under - cover.edge)]
    return wall_along(path, cover.thickness, side="right")
