"""Metalwork of the study file, and the drawing it may be taken from."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated

from pydantic import Field

from studies.study.entries import (
    Angle,
    MaterialName,
    Name,
    Point,
    Size,
    Table,
    Temperature,
    Thickness,
    Truth,
    Word,
    list_entry,
    text_entry,
    word_entry,
)
from studies.study.key_sets import FORMS, SHAPES

SIDES = ("middle", "left", "right")
"""Where a sheet lies as seen along its path."""

DRAWING_UNITS: Mapping[str, float] = MappingProxyType({"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 25.4e-3})
"""Lengths of a drawing's unit. [m]"""


class Metalwork(Table):
    """Metal that carries no cables: plates, beams, brackets, pipes.

    Shape; material; temperature [degC]; where it stands [m], the angle by which it is turned about that point [rad] and
    its sizes [m]; corner points of a path [m]; the layer of the drawing.
    """

    name: Annotated[Name, Field(description="name of the part", examples=['"beam"'])]
    material: Annotated[
        MaterialName, Field(description="built-in material, or one of the study", examples=['"mild-steel"'])
    ]
    shape: Annotated[
        str,
        word_entry("shape", SHAPES),
        Field(description="shape; it decides which of the keys below go with it", examples=['"rectangle"']),
    ]
    temperature: Annotated[Temperature, Field(description="temperature of the metal")] = 20.0
    at: Annotated[
        Point | None,
        Field(description="I: middle of the underside; L: outer corner; rectangle and tube: centre"),
    ] = None
    turned: Annotated[Angle, Field(description="angle counter-clockwise about at")] = 0.0
    height: Annotated[Size | None, Field(description="overall height before turning")] = None
    width: Annotated[Size | None, Field(description="overall width before turning")] = None
    web: Annotated[Thickness | None, Field(description="thickness of the web of an I")] = None
    flange: Annotated[Thickness | None, Field(description="thickness of the flanges of an I")] = None
    thickness: Annotated[
        Thickness | None, Field(description="thickness of a path's sheet, an L's legs, a tube's wall")
    ] = None
    outside_diameter: Annotated[Size | None, Field(description="outside diameter of a tube")] = None
    path: Annotated[
        Annotated[tuple[Point, ...], list_entry(FORMS["path"].partition(" = ")[2], least=2)] | None,
        Field(description="corner points of a bent sheet"),
    ] = None
    side: Annotated[
        Annotated[str, word_entry("side", SIDES)] | None,
        Field(description='where the sheet lies as seen along the path; without it "middle"'),
    ] = None
    closed: Annotated[Truth, Field(description="whether the path returns to its start")] = False
    layer: Annotated[Word | None, Field(description="layer of the drawing", examples=['"STEEL"'])] = None


class Drawing(Table):
    """A drawing of the cross-section: file, beside the study file; its unit; where its origin lies [m]."""

    file: Annotated[str, text_entry('"section.dxf"'), Field(description="path from the study file's folder")]
    unit: Annotated[str, word_entry("unit of a drawing", DRAWING_UNITS), Field(description="unit of its lengths")]
    at: Annotated[Point, Field(description="where the origin of the drawing lies in the study")] = (0.0, 0.0)
