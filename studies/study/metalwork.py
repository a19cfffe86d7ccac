"""Metalwork of the study file and the drawing it may be taken from, and what must agree within both."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Annotated

from pydantic import Field

from studies.study.entries import (
    Angle,
    KeyTable,
    MaterialName,
    Name,
    Point,
    Size,
    Temperature,
    Thickness,
    Truth,
    Word,
    list_entry,
    text_entry,
    word_entry,
)
from studies.study.findings import Finding, Place, Plain, Reader, as_list, needed, not_held
from studies.study.key_sets import KeySet, chosen, key_findings

SHAPES: Mapping[str, KeySet] = MappingProxyType(
    {
        "path": KeySet(required=("path", "thickness"), optional=("side", "closed")),
        "I": KeySet(required=("at", "height", "width", "web", "flange"), optional=("turned",)),
        "L": KeySet(required=("at", "height", "width", "thickness"), optional=("turned",)),
        "rectangle": KeySet(required=("at", "width", "height"), optional=("turned",)),
        "tube": KeySet(required=("at", "outside_diameter", "thickness")),
        "drawing": KeySet(required=("layer",)),
    }
)
"""Shapes of metalwork by name."""

PATH = '[["0 mm", "0 mm"], ["300 mm", "0 mm"], ["300 mm", "100 mm"]]'
SIDES = ("middle", "left", "right")
"""Where a sheet lies as seen along its path."""

DRAWING_UNITS: Mapping[str, float] = MappingProxyType({"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 25.4e-3})
"""Lengths of a drawing's unit. [m]"""


class Metalwork(KeyTable):
    """Metal that carries no cables: plates, beams, brackets, pipes."""

    name: Name = Field(examples=['"beam"'])
    """name of the part"""
    material: MaterialName = Field(examples=['"mild-steel"'])
    """built-in material, or one of the study"""
    shape: Annotated[str, word_entry("shape", SHAPES)] = Field(examples=['"rectangle"'])
    """shape; it decides which of the keys below go with it"""
    temperature: Temperature = 20.0
    """temperature of the metal"""
    at: Point | None = Field(default=None, examples=['["0 mm", "0 mm"]'])
    """I: middle of the underside; L: outer corner; rectangle and tube: centre"""
    turned: Angle = 0.0
    """angle counter-clockwise about at"""
    height: Size | None = None
    """overall height before turning"""
    width: Size | None = Field(default=None, examples=['"300 mm"'])
    """overall width before turning"""
    web: Thickness | None = Field(default=None, examples=['"6 mm"'])
    """thickness of the web of an I"""
    flange: Thickness | None = Field(default=None, examples=['"9 mm"'])
    """thickness of the flanges of an I"""
    thickness: Thickness | None = None
    """thickness of a path's sheet, an L's legs, a tube's wall"""
    outside_diameter: Size | None = Field(default=None, examples=['"60 mm"'])
    """outside diameter of a tube"""
    path: Annotated[tuple[Point, ...], list_entry(PATH, least=2)] | None = None
    """corner points of a bent sheet"""
    side: Annotated[str, word_entry("side", SIDES)] | None = None
    """where the sheet lies as seen along the path, "middle" without it"""
    closed: Truth = False
    """whether the path returns to its start"""
    layer: Word | None = Field(default=None, examples=['"STEEL"'])
    """layer of the drawing"""


class Drawing(KeyTable):
    """A drawing of the cross-section: file, beside the study file; its unit; where its origin lies [m]."""

    file: Annotated[str, text_entry('"section.dxf"')]
    """path from the study file's folder"""
    unit: Annotated[str, word_entry("unit of a drawing", DRAWING_UNITS)]
    """unit of its lengths"""
    at: Point = (0.0, 0.0)
    """where the origin of the drawing lies in the study"""


THICKNESSES: Mapping[str, tuple[tuple[str, int, str], ...]] = MappingProxyType(
    {
        "I": (("flange", 2, "height"), ("web", 1, "width")),
        "L": (("thickness", 1, "height"), ("thickness", 1, "width")),
        "tube": (("thickness", 2, "outside_diameter"),),
    }
)
"""Thickness, how often it must fit, and the size into which, of shapes with thin parts."""

CLOSED_LEAST = 3
"""Least number of corners of a closed path."""


def metalwork_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each piece of metalwork."""
    for index, metal in reader.entries("metalwork"):
        place: Place = ("metalwork", index)
        shape = metal.get("shape")
        yield from key_findings(place, metal, Metalwork, SHAPES, shape)
        keys = chosen(SHAPES, shape)
        if keys is not None:
            sound = {key: entry for key, entry in metal.items() if key in keys.allowed}
            yield from _sizes(reader, place, str(shape), sound)
            yield from _path(reader, place, sound)


def _sizes(reader: Reader, place: Place, shape: str, metal: Plain) -> Iterator[Finding]:
    for key, times, of in THICKNESSES.get(shape, ()):
        whole = not_held(reader, metal, (key, "thickness"), (of, "size"), times)
        if whole is not None:
            of_words = of.replace("_", " ")
            wrong = f"does not fit into the {of_words} of {whole * 1e3:g} mm"
            yield Finding((*place, key), wrong, f"less than {whole / times * 1e3:g} mm, or a larger {of_words}")
            return


def _path(reader: Reader, place: Place, metal: Plain) -> Iterator[Finding]:
    path, closed = as_list(metal.get("path")), metal.get("closed") is True
    if closed and 0 < len(path) < CLOSED_LEAST:
        yield Finding((*place, "path"), "is closed and has two corners", f"{CLOSED_LEAST} corners or more")
        return
    points = [reader.point(point) for point in path]
    for index, point in enumerate(points):
        before = points[index - 1] if index or closed else None
        if point is not None and point == before:
            what = "the one before" if index else "the last, to which a closed path returns by itself"
            yield Finding((*place, "path", index), f"is the same point as {what}", "each corner once")


def drawing_findings(reader: Reader) -> Iterator[Finding]:
    """Circuits and metalwork of a drawing that the study has not, and a drawing that nothing is taken from."""
    users: list[Place] = [
        (key, index, choice)
        for key, choice in (("circuits", "arrangement"), ("metalwork", "shape"))
        for index, table in reader.entries(key)
        if table.get(choice) == "drawing"
    ]
    for place in users:
        yield from needed(reader, place, "drawing")
    if "drawing" in reader.data and not users:
        right = 'arrangement = "drawing" in a circuit or shape = "drawing" in metalwork, or no [drawing]'
        yield Finding(("drawing",), "is a drawing that nothing is taken from", right)
