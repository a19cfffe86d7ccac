"""Zones and the distances at which limits are met as blocks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.answers.limits.verdicts import limit_text, margin, receptor_unit, verdict_cell
from studies.text.blocks import Block, Figure, Section
from studies.text.grid import Cell, Grid, Head, error_cell
from studies.text.numbers import NONE, percent, plain, stated, with_error
from studies.text.units import FLUX_DENSITY, METRE, common_unit

Row = tuple[str | Cell, ...]

MET = "met"
NOTE = (
    "Counted from the upright rectangle about all cables and metal: to the right, up, left and down from the middle of "
    "that side, and the largest of all directions. Beyond the distance the limit is met in that direction. ±: what the "
    "error estimate of the field makes of it. From the middle: of the same point. Far form: distance from the middle "
    "by the far form of line currents, without trays, metalwork and metal layers; one value for all directions."
)


def limit_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Highest fields of the zones, and how far each limit reaches; None where there are neither."""
    blocks: list[Block] = []
    if result.zones:
        blocks.append(_zone_table(result))
        if any(zone.metal is not None for zone in result.zones):
            blocks.append(_metal_table(result))
    if result.limit_distances:
        blocks.append(_distance_table(result))
        if names.LIMIT_DISTANCES in figures:
            blocks.append(
                Figure(
                    "How far the limits reach beyond the dotted outline of all cables and metal. Dashed: the far form "
                    "of line currents, without metal.",
                    "Plans of the section with the distances at which the limits are met.",
                    figures[names.LIMIT_DISTANCES],
                )
            )
    return Section("Zones and distances", "limits", tuple(blocks)) if blocks else None


def _zone_table(result: Answers) -> Grid:
    unit = receptor_unit(result)
    return Grid(
        "Highest flux density of the zones, in air",
        (
            Head("Zone"),
            Head("From x", "m"),
            Head("From y", "m"),
            Head("To x", "m"),
            Head("To y", "m"),
            Head("Highest", unit.symbol),
            Head("±", unit.symbol),
            Head("at x", "m"),
            Head("at y", "m"),
            Head("Where"),
            Head("Limit"),
            Head("Margin", "%"),
            Head("Verdict"),
        ),
        tuple(_zone_row(result, zone) for zone in result.zones),
        "Resultant, rms, of the air outside cables and metal, where a person or instrument can be. It is highest on "
        "the outline of that air: the edges of the zone, and a few millimetres from cables and metal in it, as the "
        "column Where has it. ±: from the change of the field between the last two meshes.",
    )


def _metal_table(result: Answers) -> Grid:
    found = [zone for zone in result.zones if zone.metal is not None]
    unit = common_unit([zone.metal_b_max_rms_t or 0.0 for zone in found], FLUX_DENSITY)
    return Grid(
        "Flux density in the metal of the zones",
        (
            Head("Zone"),
            Head("Highest in"),
            Head("Flux density", unit.symbol),
            Head("±", unit.symbol),
            Head("at x", "m"),
            Head("at y", "m"),
        ),
        tuple(
            (
                zone.name,
                zone.metal or NONE,
                *with_error(zone.metal_b_max_rms_t or 0.0, zone.metal_b_max_rms_error_t or 0.0, unit),
                plain(zone.metal_x_m or 0.0, 4),
                plain(zone.metal_y_m or 0.0, 4),
            )
            for zone in found
        ),
        "Not judged: limits hold in air. Resultant, rms. At sharp corners of steel it grows with every finer mesh. ±: "
        "the jump across the edges of triangles, or twice the change from the mesh before where that is larger.",
    )


def _zone_row(result: Answers, zone: ZoneResult) -> Row:
    unit = receptor_unit(result)
    value, error = with_error(zone.b_max_rms_t, zone.b_max_rms_error_t, unit)
    corners = (plain(place, 3) for place in (zone.x0_m, zone.y0_m, zone.x1_m, zone.y1_m))
    place = (plain(zone.x_m, 3), plain(zone.y_m, 3), zone.where)
    limit = limit_text(result, zone, unit)
    marked = error_cell(error, zone.within_tolerance)
    return (zone.name, *corners, value, marked, *place, limit, percent(margin(zone)), verdict_cell(zone))


def _distance_table(result: Answers) -> Grid:
    return Grid(
        "Distances beyond which the limits are met",
        (
            Head("Limit"),
            Head("Of"),
            Head("Direction"),
            Head("State"),
            Head("From the outline", "m"),
            Head("±", "m"),
            Head("From the middle", "m"),
            Head("Far form", "m"),
        ),
        tuple(_distance_rows(result)),
        NOTE,
    )


def _distance_rows(result: Answers) -> Iterator[Row]:
    """The rows of each limit, one row where it is nowhere exceeded, or nowhere met, in any direction."""
    groups: dict[tuple[float, str | None], list[LimitDistanceResult]] = {}
    for row in result.limit_distances:
        groups.setdefault((row.limit_t, row.limit_name), []).append(row)
    for rows in groups.values():
        state = rows[0].state
        if state != MET and all(row.state == state for row in rows):
            yield _distance_row(result, replace(rows[0], direction="all"))
        else:
            yield from (_distance_row(result, row) for row in rows)


def _distance_row(result: Answers, row: LimitDistanceResult) -> Row:
    limit = stated(row.limit_t, common_unit([row.limit_t], FLUX_DENSITY))
    if row.limit_name is not None:
        several = len(names.frequencies(result)) > 1
        limit = f"index 1 of {row.limit_name}" if several else f"{limit}, {row.limit_name}"
    away, error = NONE, NONE
    if row.from_outline_m is not None and row.state == MET:
        away, error = with_error(row.from_outline_m, row.error_m or 0.0, METRE)
        error = error if row.error_m is not None else NONE
    middle = NONE if row.from_centre_m is None else plain(row.from_centre_m, 4)
    far = NONE if row.far_form_from_centre_m is None else plain(row.far_form_from_centre_m, 4)
    return limit, ", ".join(row.of), row.direction, row.state, away, error, middle, far
