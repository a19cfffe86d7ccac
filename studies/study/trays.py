"""Trays of the study file with their covers, and what must agree within a tray."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.study.entries import (
    FROM_FILE,
    Angle,
    Coordinate,
    Entry,
    KeyTable,
    MaterialName,
    Name,
    Point,
    Temperature,
    Thickness,
    input_error,
    is_from_file,
    list_entry,
    quantity_entry,
    word_entry,
)
from studies.study.findings import Finding, Place, Plain, Reader, as_list, not_held
from studies.study.key_sets import KeySet, chosen, key_findings
from studies.study.parts import IN_CONTACT, INSULATED, JOINED
from studies.text.problems import choice_of

PROFILES: Mapping[str, KeySet] = MappingProxyType(
    {
        "channel": KeySet(
            required=("inside_width", "inside_height"),
            optional=("lip", "lips", "dividers", "divider_height", "cover", "open_area"),
        ),
        "plate": KeySet(required=("width",), optional=("open_area",)),
        "ladder": KeySet(required=("inside_width", "inside_height"), optional=("rail_flange", "rails", "cover")),
        "duct": KeySet(required=("inside_width", "inside_height"), optional=("dividers", "divider_height")),
        "conduit": KeySet(required=("inside_diameter",)),
    }
)
"""Profiles of trays by name."""

COVERS = ("closed",)
"""Covers that need no words of their own: in contact with the tray and one part with it."""

LIPS = ("inward", "outward")
"""Where the lips at the top of a channel's walls point."""

RAILS = (JOINED, INSULATED)
"""What the rungs of a ladder do to its rails."""

COVER_TABLE = '{ gap = "5 mm", edge = "20 mm" }'


class Cover(KeyTable):
    """A cover that does not touch its tray, a part of its own."""

    gap: Annotated[float, quantity_entry("cover gap")]
    """clear gap over the top of the tray, and beside the walls where there are edges"""
    thickness: Thickness | None = None
    """sheet thickness; without one, the tray's"""
    material: MaterialName | None = None
    """material; without one, the tray's"""
    edge: Annotated[float, quantity_entry("edge")] | None = None
    """length of the down-turned edges below the cover's underside"""


def _cover(value: object, info: ValidationInfo) -> str | Cover:
    if isinstance(value, Cover) or (isinstance(value, str) and value in COVERS):
        return value
    if isinstance(value, Mapping):
        from_file = is_from_file(info)
        return Cover.model_validate(value, context={FROM_FILE: from_file}, by_alias=True, by_name=not from_file)
    right = choice_of(value if isinstance(value, str) else "", COVERS)
    raise input_error("is no known cover", f"{right}, or {COVER_TABLE} for a cover that does not touch")


class Tray(KeyTable):
    """A tray with its cover and dividers; which sizes it has follows from its profile."""

    name: Name = Field(examples=['"T1"'])
    """name of the tray"""
    profile: Annotated[str, word_entry("profile", PROFILES)]
    """shape; it decides which of the keys below go with it"""
    rests_at: Point = Field(examples=['["0 mm", "0 mm"]'])
    """where cables rest: middle of the inside floor or of a plate's upper face, lowest point of a bore"""
    thickness: Thickness
    """sheet or wall thickness"""
    material: MaterialName = Field(examples=['"mild-steel"'])
    """built-in material, or one of the study"""
    temperature: Temperature = 20.0
    """temperature of tray and cover"""
    turned: Angle = 0.0
    """angle counter-clockwise about rests_at"""
    inside_width: Annotated[float, quantity_entry("tray width")] | None = None
    """width between the walls or rails"""
    inside_height: Annotated[float, quantity_entry("tray height")] | None = None
    """height from the inside floor to the top"""
    inside_diameter: Annotated[float, quantity_entry("inside diameter")] | None = None
    """bore of a conduit"""
    width: Annotated[float, quantity_entry("tray width")] | None = None
    """width of a plate"""
    lip: Annotated[float, quantity_entry("lip")] = 0.0
    """how far the lips reach beyond the wall"""
    lips: Annotated[str, word_entry("direction of lips", LIPS)] | None = None
    """where lips point, "inward" without it"""
    dividers: Annotated[tuple[Coordinate, ...], list_entry('["-50 mm", "50 mm"]', least=1)] | None = None
    """positions of upright sheets from the middle, to the right"""
    divider_height: Annotated[float, quantity_entry("tray height")] | None = None
    """height of the dividers; without it, the inside height"""
    rail_flange: Annotated[float, quantity_entry("lip")] = 0.0
    """how far the flanges of C-shaped rails reach from the web; 0 for plain rails"""
    rails: Annotated[str, word_entry("joining of rails", RAILS, '"insulated"')] = JOINED
    """whether rungs of metal join the rails, or the rails are insulated from each other"""
    cover: (
        Annotated[
            str | Cover,
            Entry(
                *(_cover, '"closed", or a table with gap, thickness, material, edge', '"closed"'),
                schema=lambda own: {"anyOf": [{"enum": list(COVERS)}, *own["anyOf"][1:]]},
            ),
        ]
        | None
    ) = None
    """one that is "closed" touches and is one part with the tray; one with a gap is a part of its own"""
    open_area: Annotated[float, quantity_entry("open area")] = 0.0
    """share of holes in a perforated sheet, which is taken as homogeneous"""


def tray_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each tray."""
    for index, tray in reader.entries("trays"):
        place: Place = ("trays", index)
        yield from key_findings(place, tray, Tray, PROFILES, tray.get("profile"))
        keys = chosen(PROFILES, tray.get("profile"))
        if keys is not None:
            sound = {key: entry for key, entry in tray.items() if key in keys.allowed}
            yield from _openings(reader, place, sound)
            yield from _not_there(reader, place, sound)
            yield from _dividers(reader, place, sound, reader.number(tray.get("thickness"), "thickness"))


def _openings(reader: Reader, place: Place, tray: Plain) -> Iterator[Finding]:
    """Lips and flanges that reach each other."""
    for key, between in (("lip", "lips"), ("rail_flange", "rails")):
        width = not_held(reader, tray, (key, "lip"), ("inside_width", "tray width"))
        if width is not None and not (key == "lip" and tray.get("lips") == "outward"):
            right = f"less than half of the inside width, {width / 2 * 1e3:g} mm"
            yield Finding((*place, key), f"leaves no opening between the {between}", right)


def _not_there(reader: Reader, place: Place, tray: Plain) -> Iterator[Finding]:
    """Keys that say more of what the tray has not."""
    if "lips" in tray and ("lip" not in tray or reader.number(tray["lip"], "lip") == 0):
        yield Finding((*place, "lips"), "says where lips point that the tray has not", 'lip = "15 mm" beside it')
    if "divider_height" in tray and "dividers" not in tray:
        wrong = "is the height of dividers that the tray has not"
        yield Finding((*place, "divider_height"), wrong, 'dividers = ["0 mm"] beside it')
    if tray.get("rails") == INSULATED and tray.get("cover") == IN_CONTACT:
        wrong = "insulates the rails, but a cover in contact joins them"
        yield Finding((*place, "rails"), wrong, 'rails = "joined", or a cover with a gap')


def _dividers(reader: Reader, place: Place, tray: Plain, thickness: float | None) -> Iterator[Finding]:
    height, inside = (reader.number(tray.get(key), "tray height") for key in ("divider_height", "inside_height"))
    if height is not None and inside is not None and height > inside * (1 + 1e-12):  # rounded conversion
        wrong = "is above the inside height"
        yield Finding((*place, "divider_height"), wrong, f"at most {inside * 1e3:g} mm")
    width = reader.number(tray.get("inside_width"), "tray width")
    taken: list[float] = []
    for index, divider in enumerate(as_list(tray.get("dividers"))):
        x = reader.number(divider, "coordinate")
        if x is None or thickness is None:
            continue
        where = (*place, "dividers", index)
        if width is not None and abs(x) + thickness / 2 >= width / 2:
            most = (width - thickness) / 2 * 1e3
            yield Finding(where, "is in or beyond a wall", f"from the middle, between {-most:g} and {most:g} mm")
        if any(abs(x - other) <= thickness for other in taken):
            yield Finding(where, "is in another divider", f"more than {thickness * 1e3:g} mm from it")
        taken.append(x)
