"""Zones and limit distances in words: tables, the section of the report, and sentences."""

from __future__ import annotations

from collections.abc import Mapping

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.limits.compute import outer_rectangle
from studies.answers.limits.rows import (
    DIRECTIONS,
    MET,
    NOT_MET,
    LimitDistanceResult,
    LimitReach,
    ZoneResult,
    limit_reaches,
)
from studies.answers.limits.verdicts import limit_words, margin_or_times, sheet_row, tone, verdict
from studies.answers.reservations.words import beside_verdicts, reservation_list, reservations_of
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.section.judged_places import receptor_place, zone_place
from studies.text.blocks import Block, Figure, Section
from studies.text.numbers import plain, value_with_error
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, LENGTH, METRE, NUMBER, PER_CENT, unit_for

ZONE_NOTE = (
    "Highest: the highest resultant, rms, in the air outside cables and metal, where a person or instrument can be. It "
    "lies on the outline of that air: an edge of the zone, or a few millimetres from a cable or metal in it. ±: from "
    "the change of the field between the last two meshes. Limit: of a reference level, its value at the first "
    "frequency. Margin: remainder to the limit after field and error, over the limit; above the limit, the field as a "
    "multiple of it."
)
METAL_NOTE = (
    "Not judged, as limits hold in air. Flux density: the highest resultant, rms; at sharp corners of steel it grows "
    "with every finer mesh. ±: jump across the edges of triangles, or twice the change from the mesh before, whichever "
    "is larger."
)
DISTANCE_NOTE = (
    "Beyond these distances the limit is met. They start at the outline: the upright rectangle around all cables and "
    "metal, {width}\u202fm wide and {height}\u202fm high. Largest: in any direction. ±: change of the distance that "
    "the error of the field causes. From the middle: distance of the same point from the middle of the outline. "
    "Far form: distance from the middle by the far field of line currents, without trays, metalwork and metal layers. "
    "Right, Up, Left, Down: straight out from the middle of that side; a dash if the words under Largest hold for all."
)


def limit_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Highest fields of the zones and distances of the limits; None if there are neither."""
    blocks: list[Block] = []
    if result.zones:
        blocks.append(zone_table(result))
        blocks += reservation_list(result, ("zone",))
        if any(zone.metal is not None for zone in result.zones):
            blocks.append(_metal_table(result))
    if result.limit_distances:
        blocks.append(distance_table(result))
        if names.LIMIT_DISTANCES in figures:
            blocks.append(
                Figure(
                    f"Distances from the dotted outline of all cables and metal, beyond which the limits are met"
                    f"{names.without_net_currents(result)}. Dashed: the far form of line currents, without metal.",
                    "Plans of the section with the distances at which the limits are met.",
                    figures[names.LIMIT_DISTANCES],
                )
            )
    return Section("Zones and distances", "limits", tuple(blocks)) if blocks else None


def zone_table(result: Answers) -> Table[ZoneResult]:
    """The highest field of each zone in air against its limit."""
    beside, several = beside_verdicts(result, "but see below"), names.several_frequencies(result)
    columns: tuple[Column[ZoneResult], ...] = (
        Column("Zone", lambda z: z.name, brief=True),
        Column("From x", lambda z: z.x0_m, METRE, digits=3),
        Column("From y", lambda z: z.y0_m, METRE, digits=3),
        Column("To x", lambda z: z.x1_m, METRE, digits=3),
        Column("To y", lambda z: z.y1_m, METRE, digits=3),
        Column(
            *("Highest", lambda z: z.b_max_rms_t, FLUX_DENSITY, lambda z: z.b_max_rms_error_t),
            missed=lambda z: not z.within_tolerance,
            brief=True,
        ),
        Column("Limit", lambda z: z.limit_t, FLUX_DENSITY, stated=True, brief=True),
        Column("Level", lambda z: z.limit_name, brief=True, optional=True),
        Column("Index", lambda z: z.exposure_index if several else None, NUMBER, digits=3, brief=True, optional=True),
        Column("Margin", margin_or_times, PER_CENT, signed=True, unit_in_cells=True),
        Column("Verdict", lambda z: verdict(z, beside.get(z.name, "")), tone=tone, brief=True),
        Column("At x", lambda z: z.x_m, METRE, digits=3, brief=True),
        Column("At y", lambda z: z.y_m, METRE, digits=3, brief=True),
        Column("Where", lambda z: z.where, brief=True),
    )
    caption = "Highest flux density of the zones, in air"
    return Table(caption, columns, result.zones, ZONE_NOTE, units=result_units(result))


def _metal_table(result: Answers) -> Table[ZoneResult]:
    columns: tuple[Column[ZoneResult], ...] = (
        Column("Zone", lambda z: z.name),
        Column("Highest in", lambda z: z.metal),
        Column("Flux density", lambda z: z.metal_b_max_rms_t, FLUX_DENSITY, lambda z: z.metal_b_max_rms_error_t),
        Column("At x", lambda z: z.metal_x_m, METRE),
        Column("At y", lambda z: z.metal_y_m, METRE),
    )
    found = [zone for zone in result.zones if zone.metal is not None]
    return Table("Flux density in the metal of the zones", columns, found, METAL_NOTE)


def distance_table(result: Answers) -> Table[LimitReach]:
    """The distances at which each limit is met, a row for each limit."""
    several, reaches = names.several_frequencies(result), limit_reaches(result.limit_distances)

    def limit(reach: LimitReach) -> str:
        row = reach.overall
        if several and row.limit_name is not None:
            return f"index 1 of {row.limit_name}"
        return limit_words(result, row.limit_t) + (f", {row.limit_name}" if row.limit_name is not None else "")

    columns: tuple[Column[LimitReach], ...] = (
        Column("Limit", limit, brief=True),
        Column("Of", lambda r: ", ".join(r.overall.of), brief=True),
        Column("Largest", lambda r: _away(r.overall), METRE, lambda r: _error(r.overall), brief=True),
        Column("From the middle", lambda r: r.overall.from_centre_m, METRE),
        Column("Far form", lambda r: r.overall.far_form_from_centre_m, METRE),
        *(_side(direction) for direction in DIRECTIONS),
    )
    width, height = (plain(2 * float(half)) for half in outer_rectangle(result.cross_section).half)
    note = DISTANCE_NOTE.format(width=width, height=height)
    caption = f"Distances beyond which the limits are met{names.without_net_currents(result)}"
    return Table(caption, columns, reaches, note)


def _side(direction: str) -> Column[LimitReach]:
    def away(reach: LimitReach) -> float | str | None:
        return None if reach.state_everywhere else _away(reach.rows[direction])

    def error(reach: LimitReach) -> float | None:
        return _error(reach.rows[direction])

    return Column(direction.capitalize(), away, METRE, error, brief=True)


def _away(row: LimitDistanceResult) -> float | str | None:
    """A distance from the outline [m], or words."""
    if row.state != MET:
        return "not met within 1\u202fkm" if row.state == NOT_MET else row.state
    return "at the outline" if row.at_outline else row.from_outline_m


def _error(row: LimitDistanceResult) -> float | None:
    return row.error_m if row.state == MET else None


def zone_rows(result: Answers) -> list[SheetRow]:
    """The zones on the sheet to sign."""
    unit, beyond = result_units(result).of(FLUX_DENSITY), reservations_of(result, "zone")
    beside = beside_verdicts(result, "as drawn only")
    return [sheet_row(result, zone, unit, beyond, beside) for zone in result.zones]


def distance_rows(result: Answers) -> list[SheetRow]:
    """How far each limit reaches, on the sheet to sign."""
    rows = []
    for reach in limit_reaches(result.limit_distances):
        row, away = reach.overall, _away(reach.overall)
        value = str(away)
        if isinstance(away, float):
            value = f"{value_with_error(away, row.error_m or 0.0, unit_for(away, LENGTH))} from the outline"
        limit = row.limit_name or limit_words(result, row.limit_t)
        of = f"Distance beyond which {limit} is met{names.without_net_currents(result)}"
        rows.append(SheetRow(of, value, section="limits"))
    return rows


def place_lines(result: Answers) -> list[str]:
    """A sentence on each such receptor or zone of a solved study, with the flux density in the metal of zones."""
    receptors = [f"{entry.name} lies {receptor_place(entry.inside)}." for entry in result.receptors if entry.inside]
    zones = [
        f"Zone {zone.name} is {zone_place(zone.solids, zone.clearance_m)}.{_metal_sentence(zone)}"
        for zone in result.zones
        if zone.solids
    ]
    return [*receptors, *zones]


def _metal_sentence(zone: ZoneResult) -> str:
    if zone.metal is None or zone.metal_b_max_rms_t is None:
        return ""
    unit = unit_for(zone.metal_b_max_rms_t, FLUX_DENSITY)
    value = value_with_error(zone.metal_b_max_rms_t, zone.metal_b_max_rms_error_t or 0.0, unit)
    place = f"x = {plain(zone.metal_x_m or 0.0)}\u202fm, y = {plain(zone.metal_y_m or 0.0)}\u202fm"
    return f" Not judged: up to {value} within {zone.metal}, at {place}."
