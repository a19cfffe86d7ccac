"""Errors of placement: bodies that overlap, metal that touches metal, formations across a tray's wall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from geometry.clearance import Overlap, clearance, overlaps
from geometry.shapes import Disc, Shape
from studies.section.air import air_of
from studies.section.loop_places import loop_problems
from studies.section.parts import METALWORK, TRAY, PlacedCable, StudyPart
from studies.section.pierced import hole_problems
from studies.section.placement import bodies_of
from studies.section.survey_file import survey_problems
from studies.study.file import Study
from studies.study.trays import Tray
from studies.text.problems import Problem

JACKET_TOLERANCE = 2e-5
"""Largest overlap of cables and trays that still counts as touching, since positions are rounded. [m]"""

UNLESS_INTENDED = 'a smaller spacing, or arrangement = "positions" if this is intended'
METAL_GAP = 5e-5
"""Least distance between two separate conducting parts. [m]"""


def placement_problems(study: Study, cables: tuple[PlacedCable, ...], parts: tuple[StudyPart, ...]) -> list[Problem]:
    """All errors of placement, overlaps first; distances between metals are checked only if nothing overlaps."""
    problems = [*_overlap_problems(study, cables, parts), *_beyond_wall_problems(study, cables)]
    if problems:
        return problems
    return [
        *_metal_problems(study, parts),
        *_airless_zones(study, cables, parts),
        *_laying_problems(study, cables, parts),
        *loop_problems(study, cables, parts),
        *survey_problems(study, cables, parts),
        *hole_problems(study, cables),
    ]


def _laying_problems(study: Study, cables: tuple[PlacedCable, ...], parts: Sequence[StudyPart]) -> list[Problem]:
    """A laying spread must be smaller than the gaps of the drawing, and than the cables where they touch."""
    asked = study.laying_tolerance
    if asked is None:
        return []
    saturating = [part.name for part in parts if part.cable is None and part.steel is not None]
    if asked.permeability and saturating:
        wrong = f"is spread, but the permeability of {saturating[0]} follows from its curve: the steel saturates"
        return [
            study.problem("laying_tolerance → permeability", wrong, "leave it out, or steel that does not saturate")
        ]
    worst: dict[str, tuple[float, str]] = {}
    bodies = bodies_of(study, cables)
    for keys, room, what in _rooms(cables, bodies, [part for part in parts if part.cable is None]):
        for key in keys:
            if getattr(asked, key) > room and room < worst.get(key, (np.inf, ""))[0]:
                worst[key] = (room, what)
    return [
        study.problem(
            f"laying_tolerance → {key}",
            f"is larger than {what}, {room * 1e3:.3g} mm: the cables would not be laid as drawn",
            f"{room * 1e3:.3g} mm at most, or cables further apart",
            f'"{getattr(asked, key) * 1e3:.3g} mm"',
        )
        for key, (room, what) in worst.items()
    ]


def _rooms(
    cables: tuple[PlacedCable, ...], bodies: Sequence[int], metal: Sequence[StudyPart]
) -> Iterator[tuple[tuple[str, ...], float, str]]:
    """Spreads that must be smaller than a length [m], the length, and what it is."""
    for k, cable in enumerate(cables):
        radius = cable.layers.outer_radius
        body = Disc(cable.axis, radius)
        for m, other in enumerate(cables[k + 1 :], k + 1):
            gap = clearance(body, Disc(other.axis, other.layers.outer_radius))
            away = np.abs(np.subtract(other.axis, cable.axis))
            if gap > JACKET_TOLERANCE:
                key = "within" if bodies[m] == bodies[k] else "across" if away[0] >= away[1] else "up"
                yield (key,), gap, f"the clear gap between {cable.label} and {other.label}"
            else:
                keys = ("within",) if bodies[m] == bodies[k] else ("across", "up")
                yield keys, radius, f"the radius of {cable.label}, which touches {other.label}"
        for part in metal:
            if clearance(body, part.shape) <= JACKET_TOLERANCE:
                yield ("across", "up"), radius, f"the radius of {cable.label}, which touches {part.name}"


def _airless_zones(study: Study, cables: tuple[PlacedCable, ...], parts: Sequence[StudyPart]) -> list[Problem]:
    """A zone must contain air, since limits are judged there."""
    wrong = "is filled by cables or metal; the field of a zone is judged in its air"
    right = "a window that contains air outside cables and metal"
    return [
        study.problem(f'zones "{zone.name}" → window', wrong, right)
        for zone in study.zones
        if air_of(cables, parts, np.asarray(zone.window[0]), np.asarray(zone.window[1])) is None
    ]


def _overlap_problems(study: Study, cables: tuple[PlacedCable, ...], parts: tuple[StudyPart, ...]) -> list[Problem]:
    bodies: list[tuple[str, Shape]] = [
        (f'circuits "{cable.circuit}" cable {cable.position}', Disc(cable.axis, cable.layers.outer_radius))
        for cable in cables
    ]
    tables = {TRAY: "trays", METALWORK: "metalwork"}
    bodies += [(f'{tables[part.kind]} "{part.name}"', part.shape) for part in parts if part.kind in tables]
    return [_overlap_problem(study, overlap) for overlap in overlaps(bodies, JACKET_TOLERANCE)]


def _overlap_problem(study: Study, overlap: Overlap) -> Problem:
    depth = f"{overlap.depth * 1e3:.3g} mm"
    right = f"{depth} more distance, by rests_at, spacing, positions or the size of the tray"
    return study.problem(f"{overlap.first} and {overlap.second}", f"overlap by {depth}", right)


def _metal_problems(study: Study, parts: Sequence[StudyPart]) -> list[Problem]:
    bodies = [(part.name, part.shape) for part in parts]
    right = f"a jacket or a gap of {METAL_GAP * 1e3:g} mm or more between them"
    problems = []
    for overlap in overlaps(bodies, -METAL_GAP):
        wrong = f"metal {max(-overlap.depth, 0) * 1e3:.3g} mm from metal; metal parts that touch are one conductor"
        problems.append(study.problem(f"{overlap.first} and {overlap.second}", wrong, right))
    return problems


def _beyond_wall_problems(study: Study, cables: tuple[PlacedCable, ...]) -> list[Problem]:
    """A flat or trefoil formation must not lie partly inside and partly beside a tray."""
    problems = []
    for circuit in study.circuits:
        if circuit.arrangement not in ("flat", "trefoil"):
            continue
        own = [cable for cable in cables if cable.circuit == circuit.name]
        problems += _partly_in_conduits(study, own)
        for tray in (tray for tray in study.trays if tray.inside_width is not None and tray.turned == 0):
            inside = np.array([_between_walls(cable, tray) for cable in own])
            if not inside.any() or inside.all():
                continue
            outside = [cable for cable, within in zip(own, inside, strict=True) if not within]
            outside = [cable for cable in outside if _at_wall_height(cable, tray)]
            if not outside:
                continue
            beyond = max(abs(cable.axis[0] - tray.rests_at[0]) - (tray.inside_width or 0.0) / 2 for cable in outside)
            listing = ", ".join(str(cable.position) for cable in outside)
            wrong = f'beyond the walls of tray "{tray.name}" by {beyond * 1e3:.3g} mm, with other cables in it'
            right = f"a wider tray, {UNLESS_INTENDED}"
            problems.append(study.problem(f'circuits "{circuit.name}" cable {listing}', wrong, right))
    return problems


def _partly_in_conduits(study: Study, own: list[PlacedCable]) -> list[Problem]:
    conduits = [tray for tray in study.trays if tray.inside_diameter is not None]
    outside = [str(cable.position) for cable in own if not any(_in_conduit(cable, tray) for tray in conduits)]
    if not 0 < len(outside) < len(own):
        return []
    wrong, right = "outside every conduit, while other cables lie in one", f"a wider conduit, {UNLESS_INTENDED}"
    return [study.problem(f'circuits "{own[0].circuit}" cable {", ".join(outside)}', wrong, right)]


def _in_conduit(cable: PlacedCable, tray: Tray) -> bool:
    radius = (tray.inside_diameter or 0.0) / 2
    away = (-radius * math.sin(tray.turned), radius * math.cos(tray.turned))
    return math.dist(cable.axis, np.add(tray.rests_at, away)) < radius


def _between_walls(cable: PlacedCable, tray: Tray) -> bool:
    return abs(cable.axis[0] - tray.rests_at[0]) < (tray.inside_width or 0.0) / 2 and _at_wall_height(cable, tray)


def _at_wall_height(cable: PlacedCable, tray: Tray) -> bool:
    above_floor = cable.axis[1] - tray.rests_at[1]
    return 0 < above_floor < (tray.inside_height or 0.0) + cable.layers.outer_radius
