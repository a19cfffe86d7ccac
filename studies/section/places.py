"""Lines through the cross-sections of a route: conductors, layers of metal around them, and bonded metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from studies.section.parts import CrossSection, StudyPart
from studies.study.parts import CONDUCTOR, METAL_LAYERS

BONDED_METAL = "bonded metal"
"""Trays, covers and other metal without a cable that share a bond with cables, and so are tied to them at both ends of
the run. Metal that is bonded to metal alone, as the rails of a ladder are by its rungs, is tied all along."""
FOLLOWED = (*METAL_LAYERS, BONDED_METAL)
"""Kinds of lines of a run beside the conductors; other metal has no net current in any section."""


@dataclass(frozen=True)
class Place:
    """Place of a conductor, a layer of metal or bonded metal in a cross-section."""

    circuit: str
    """Empty for metal without a cable."""
    phase: str
    """Phase label that the study gives the cable there; empty for metal without a cable."""
    position: int
    """Position of the cable in its circuit, from 1; 0 for metal without a cable."""
    layer: str
    """conductor, the name of the layer of metal, or the part itself if it has no cable."""

    @property
    def line(self) -> tuple[str, str, str]:
        """Circuit, phase and layer: the line here, except for its number among parallel cables."""
        return self.circuit, self.phase, self.layer


def parts_followed(section: CrossSection, layers: Sequence[str] = FOLLOWED) -> tuple[StudyPart, ...]:
    """The conductors of a cross-section, then the parts of some kinds of `FOLLOWED`, kind by kind."""
    bonded = bonded_metal(section)
    found = [part for part in section.parts if part.kind == CONDUCTOR]
    for layer in layers:
        if layer == BONDED_METAL:
            found += [part for part in section.parts if part.name in bonded]
        else:
            found += [part for part in section.parts if part.kind == layer and part.cable is not None]
    return tuple(found)


def places_of(section: CrossSection, layers: Sequence[str] = FOLLOWED) -> tuple[Place, ...]:
    """The places of the parts that are followed, in the order of `parts_followed`."""
    return tuple(place_of(part) for part in parts_followed(section, layers))


def place_of(part: StudyPart) -> Place:
    """The place of a part."""
    if part.cable is None:
        return Place("", "", 0, part.name)
    return Place(part.cable.circuit, part.cable.phase, part.cable.position, part.kind)


def bonded_metal(section: CrossSection) -> frozenset[str]:
    """Names of the trays and other metal without a cable that are in a bond with cables."""
    of_cables = {part.name for part in section.parts if part.cable is not None}
    tied = {part for tie in section.ties if of_cables.intersection(tie.parts) for part in tie.parts}
    return frozenset(tied - of_cables)
