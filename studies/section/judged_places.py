"""Where receptors and zones are judged that lie in or hold cables or metal, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from studies.section.air import air_of
from studies.section.enclosure import metal_at
from studies.section.parts import CrossSection
from studies.study.file import Study
from studies.text.units import MILLIMETRE

IN_METAL = "a verdict there is of the field in the material, which no person or instrument meets"
MOST_SOLIDS = 4
"""Cables and metal of a zone that are listed by name."""


def places_of_study(study: Study, section: CrossSection) -> dict[str, str]:
    """Where each receptor or zone of a study is judged that lies in or holds cables or metal, before it is solved."""
    inside = metal_at(section, [receptor.at for receptor in study.receptors])
    words = {entry.name: receptor_place(metal) for entry, metal in zip(study.receptors, inside, strict=True)}
    for zone in study.zones:
        air = air_of(section.cables, section.parts, np.asarray(zone.window[0]), np.asarray(zone.window[1]))
        if air is not None:
            words[f"zone {zone.name}"] = zone_place(tuple(air.solids), air.clearance)
    return {name: place for name, place in words.items() if place}


def receptor_place(inside: str | None) -> str:
    """The place of a receptor within a solid; empty where it is in none."""
    return "" if inside is None else f"inside {inside}: {IN_METAL}"


def zone_place(solids: Sequence[str], clearance: float | None) -> str:
    """Where a zone around some solids is judged; empty where it holds none."""
    if clearance is None or not solids:
        return ""
    more = f" and {len(solids) - MOST_SOLIDS} more" if len(solids) > MOST_SOLIDS else ""
    return f"judged in the air, {MILLIMETRE.of(clearance):g} mm or more from {', '.join(solids[:MOST_SOLIDS])}{more}"
