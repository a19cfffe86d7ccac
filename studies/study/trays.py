"""Trays of the study file: channels, plates, ladders, ducts and conduits, with their covers."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.study.entries import (
    FROM_FILE,
    Angle,
    Coordinate,
    Entry,
    MaterialName,
    Name,
    Point,
    Table,
    Temperature,
    Thickness,
    fault,
    is_from_file,
    list_entry,
    quantity_entry,
    word_entry,
)
from studies.study.key_sets import PROFILES
from studies.study.parts import INSULATED, JOINED
from studies.text.problems import choice_of

COVERS = ("closed",)
"""Covers that need no words of their own: in contact with the tray and one part with it."""

LIPS = ("inward", "outward")
"""Where the lips at the top of a channel's walls point."""

RAILS = (JOINED, INSULATED)
"""What the rungs of a ladder do to its rails."""

COVER_TABLE = '{ gap = "5 mm", edge = "20 mm" }'


class Cover(Table):
    """A cover that does not touch its tray, a part of its own.

    Clear gap between the top of the tray and the cover [m], which is also that between the walls and down-turned edges;
    thickness [m] and material, without a statement those of the tray; length of the down-turned edges [m].
    """

    gap: Annotated[
        float,
        quantity_entry("cover gap"),
        Field(description="clear gap over the top of the tray, and beside the walls where there are edges"),
    ]
    thickness: Annotated[Thickness | None, Field(description="sheet thickness; without one, the tray's")] = None
    material: Annotated[MaterialName | None, Field(description="material; without one, the tray's")] = None
    edge: Annotated[
        Annotated[float, quantity_entry("edge")] | None,
        Field(description="length of the down-turned edges below the cover's underside"),
    ] = None


def _cover(value: object, info: ValidationInfo) -> str | Cover:
    if isinstance(value, Cover) or (isinstance(value, str) and value in COVERS):
        return value
    if isinstance(value, Mapping):
        from_file = is_from_file(info)
        return Cover.model_validate(value, context={FROM_FILE: from_file}, by_alias=True, by_name=not from_file)
    right = choice_of(value if isinstance(value, str) else "", COVERS)
    raise fault("is no known cover", f"{right}, or {COVER_TABLE} for a cover that does not touch")


class Tray(Table):
    """A tray.

    Profile; the point on which cables rest [m]: middle of the inside floor of a channel, ladder or duct, middle of the
    upper face of a plate, lowest point of the bore of a conduit; the angle by which it is turned about it [rad];
    sizes [m]; material; temperature [degC]; share of holes in a perforated sheet [-].
    """

    name: Annotated[Name, Field(description="name of the tray")]
    profile: Annotated[
        str,
        word_entry("profile", PROFILES),
        Field(description="shape; it decides which of the keys below go with it", examples=['"channel"']),
    ]
    rests_at: Annotated[
        Point, Field(description="where cables rest: middle of the inside floor, of a plate's upper face, of a bore")
    ]
    thickness: Annotated[Thickness, Field(description="sheet or wall thickness")]
    material: Annotated[
        MaterialName, Field(description="built-in material, or one of the study", examples=['"mild-steel"'])
    ]
    temperature: Annotated[Temperature, Field(description="temperature of tray and cover")] = 20.0
    turned: Annotated[Angle, Field(description="angle counter-clockwise about rests_at")] = 0.0
    inside_width: Annotated[
        Annotated[float, quantity_entry("tray width")] | None, Field(description="width between the walls or rails")
    ] = None
    inside_height: Annotated[
        Annotated[float, quantity_entry("tray height")] | None,
        Field(description="height from the inside floor to the top"),
    ] = None
    inside_diameter: Annotated[
        Annotated[float, quantity_entry("inside diameter")] | None, Field(description="bore of a conduit")
    ] = None
    width: Annotated[Annotated[float, quantity_entry("tray width")] | None, Field(description="width of a plate")] = (
        None
    )
    lip: Annotated[
        float,
        quantity_entry("lip"),
        Field(description="how far the lips reach beyond the wall"),
    ] = 0.0
    lips: Annotated[
        Annotated[str, word_entry("direction of lips", LIPS)] | None,
        Field(description='where lips point; without it "inward"'),
    ] = None
    dividers: Annotated[
        Annotated[tuple[Coordinate, ...], list_entry('["-50 mm", "50 mm"]', least=1)] | None,
        Field(description="positions of upright sheets from the middle, to the right"),
    ] = None
    divider_height: Annotated[
        Annotated[float, quantity_entry("tray height")] | None,
        Field(description="height of the dividers; without it, the inside height"),
    ] = None
    rail_flange: Annotated[
        float,
        quantity_entry("lip"),
        Field(description="how far the flanges of C-shaped rails reach from the web; 0 for plain rails"),
    ] = 0.0
    rails: Annotated[
        str,
        word_entry("joining of rails", RAILS, '"insulated"'),
        Field(description="whether rungs of metal join the rails, or the rails are insulated from each other"),
    ] = JOINED
    cover: Annotated[
        Annotated[
            str | Cover,
            Entry(_cover, '"closed", or a table with gap, thickness, material, edge', '"closed"'),
        ]
        | None,
        Field(description='"closed" touches and is one part with the tray; one with a gap is a part of its own'),
    ] = None
    open_area: Annotated[
        float,
        quantity_entry("open area"),
        Field(description="share of holes in a perforated sheet, which is taken as homogeneous"),
    ] = 0.0
