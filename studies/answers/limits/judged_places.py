"""Where verdicts are given, in words: in the air of zones, and what one means of a receptor within a cable or metal."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.answers.reservations.words import only_as_drawn
from studies.answers.steel.steel_words import verdict_words
from studies.section.air import air_of
from studies.section.enclosure import metal_at
from studies.section.parts import CrossSection
from studies.study.file import Study
from studies.text.engineering import engineering

MEANING = "a verdict there is of the field in the material, which no person or instrument meets"
MOST_NAMES = 4
"""Solids listed by name."""


def receptor_place(inside: str | None) -> str:
    """What to know of a receptor within a cable or metal; nothing of one in air."""
    return "" if inside is None else f"inside {inside}: {MEANING}"


def zone_place(solids: Sequence[str], clearance: float | None) -> str:
    """What to know of a zone that holds cables or metal; nothing of one in air."""
    if clearance is None or not solids:
        return ""
    more = f" and {len(solids) - MOST_NAMES} more" if len(solids) > MOST_NAMES else ""
    listing = f"{', '.join(solids[:MOST_NAMES])}{more}"
    return f"judged in the air, {1e3 * clearance:g} mm or more from {listing}"


def places_of_study(study: Study, section: CrossSection) -> dict[str, str]:
    """The same of each receptor and zone of a study that lies in or holds cables or metal, before it is solved."""
    inside = metal_at(section, [receptor.at for receptor in study.receptors])
    words = {entry.name: receptor_place(metal) for entry, metal in zip(study.receptors, inside, strict=True)}
    for zone in study.zones:
        air = air_of(section.cables, section.parts, np.asarray(zone.window[0]), np.asarray(zone.window[1]))
        if air is not None:
            words[f"zone {zone.name}"] = zone_place(tuple(air.solids), air.clearance)
    return {name: said for name, said in words.items() if said}


def place_lines(result: Answers) -> list[str]:
    """The same of a solved study, a sentence each, with the flux density in the metal of zones."""
    receptors = [f"{entry.name} lies {receptor_place(entry.inside)}." for entry in result.receptors if entry.inside]
    zones = [
        f"Zone {zone.name} is {zone_place(zone.solids, zone.clearance_m)}.{metal_sentence(zone)}"
        for zone in result.zones
        if zone.solids
    ]
    return [*receptors, *zones]


def metal_sentence(zone: ZoneResult) -> str:
    """The highest flux density in the metal of a zone, led by a space; nothing where it holds none."""
    if zone.metal is None or zone.metal_b_max_rms_t is None:
        return ""
    value = engineering(zone.metal_b_max_rms_t, "T", error=zone.metal_b_max_rms_error_t)
    return f" Not judged: up to {value} within {zone.metal}, at {zone.metal_x_m:.3g} m, {zone.metal_y_m:.3g} m."


def short_verdict(result: Answers, entry: ReceptorResult | ZoneResult) -> str:
    """The verdict as a terminal shows it, of a receptor with the cable or metal that it lies in."""
    if entry.within_limit is None and entry.limit_name is not None:
        return "NOT JUDGED"
    word = verdict_words(entry, "within", "ABOVE") + (", but" if entry.name in only_as_drawn(result) else "")
    within = entry.inside if isinstance(entry, ReceptorResult) else None
    return ", ".join(part for part in (word, f"in {within}" if within else "") if part)
