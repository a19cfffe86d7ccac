"""Plates that cables pass through: their keys, and what must agree within a plate."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from studies.data.materials import MATERIALS
from studies.study.entries import (
    KeyTable,
    MaterialName,
    Name,
    Size,
    Temperature,
    Thickness,
    Word,
    list_entry,
    number_entry,
    quantity_entry,
    word_entry,
)
from studies.study.findings import Finding, Place, Plain, Reader, unknown

ONE_EACH, ONE_FOR_ALL = "one each", "one for all"
MAGNETIC = 1.1
"""Relative permeability above which a metal counts as magnetic. [-]"""


class Plate(KeyTable):
    """A gland plate or a wall across the run, with holes that cables pass through; no part of the cross-section."""

    name: Name = Field(examples=['"gland plate"'])
    """name of the plate"""
    of: Annotated[tuple[Word, ...], list_entry('["F1", "F2.1"]', least=1)] | None = None
    """circuits, or cables by circuit and position, that pass through it; without it, all cables"""
    openings: Annotated[str, word_entry("kind of opening", (ONE_EACH, ONE_FOR_ALL))] = ONE_EACH
    """one hole for each cable, or one opening for all of them"""
    hole_diameter: Size = Field(examples=['"40 mm"'])
    """diameter of each hole in the metal, or of the one opening"""
    edge: Size = Field(examples=['"150 mm"'])
    """distance from the middle of a hole to the edge of the plate; a plate of this radius is taken about each hole"""
    thickness: Thickness
    """thickness of the plate"""
    material: MaterialName = Field(examples=['"mild-steel"'])
    """built-in material, or one of the study; of one with a curve, its permeability at low field"""
    temperature: Temperature = 20.0
    """temperature of the plate"""
    spacing: Annotated[float, quantity_entry("spacing")] | None = None
    """distance of the holes, in one row in the order of the cables; without it, as the cables lie in the run"""
    saturation: Annotated[float, quantity_entry("saturation")] | None = None
    """flux density of a saturated plate, for the loss if the steel saturates; of common steel 1.5 T (0.75 of 2 T)"""
    slot_width: Annotated[float, quantity_entry("thickness")] | None = None
    """width of a slot from each hole to the edge or to the next hole, for the loss with slots beside that without"""
    instead: MaterialName = "aluminium"
    """metal that is not magnetic, for the loss of a plate of it, as thick, beside the stated one"""
    count: Annotated[int, number_entry(1, 1000, "2", whole=True)] = 1
    """number of such plates along the run"""


def plate_findings(reader: Reader) -> Iterator[Finding]:
    """Holes wider than their plate, keys that do not go with the openings or the metal."""
    for index, plate in reader.entries("plates"):
        place: Place = ("plates", index)
        hole, edge = (reader.number(plate.get(key), "size") for key in ("hole_diameter", "edge"))
        if hole is not None and edge is not None and hole / 2 >= edge:
            yield Finding((*place, "edge"), "lies within the hole", f"more than {hole / 2 * 1e3:g} mm, its radius")
        if plate.get("openings") == ONE_FOR_ALL:
            for key in ("spacing", "slot_width", "saturation"):
                if key in plate:
                    yield Finding(
                        (*place, key), "goes with holes of single cables", f'openings = "{ONE_EACH}", or leave it out'
                    )
        yield from _metals(reader, place, plate)


def _metals(reader: Reader, place: Place, plate: Plain) -> Iterator[Finding]:
    """Slots and saturation are for magnetic plates, what is instead of them is none."""
    own = _permeability(reader, plate.get("material"))
    for key in ("slot_width", "saturation"):
        if key in plate and own is not None and own <= MAGNETIC:
            yield Finding((*place, key), "is for magnetic metal, which the plate is not", "leave it out")
    instead = plate.get("instead")
    yield from unknown((*place, "instead"), instead, [*reader.table("materials"), *MATERIALS], "known material")
    other = _permeability(reader, instead)
    if other is not None and other > MAGNETIC:
        yield Finding((*place, "instead"), "is magnetic", 'a metal that is not, such as "aluminium" or "stainless-304"')


def _permeability(reader: Reader, name: object) -> float | None:
    """Relative permeability of a material; None where it follows from a curve of the study, or is not sound."""
    if not isinstance(name, str):
        return None
    own = reader.named("materials").get(name)
    if own is None:
        return MATERIALS[name].relative_permeability if name in MATERIALS else None
    stated = own.get("relative_permeability")
    return float(stated) if isinstance(stated, int | float) and not isinstance(stated, bool) else None
