"""What the tables of a report hold of fields, exposure, zones and distances, with the verdict that each entry gets."""

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from studies.data.reference_levels import reference_level
from studies.result import Result
from studies.section.parts import parallel_conductors
from studies.section.spectrum import components
from studies.text.numbers import plain
from tests.studies.cells import FLUX, Expected, Known, err, num, off, percents, words


def verdict(limit: float | None, within: bool | None, share: float) -> str:
    """The word for a field of a share of its limit."""
    if limit is None:
        return "no limit stated"
    return "within the limit" if within else "above the limit" if share > 1 else "limit within the error"


def share_of(entry: Any) -> tuple[float, float]:
    """Field, or exposure index, over what is allowed, with its error; of a receptor or a zone."""
    value, error = _field(entry)
    limit = entry.limit_t or math.nan
    if entry.exposure_index is None:
        return value / limit, error / limit
    own = getattr(entry, "exposure_error", None)
    return entry.exposure_index, entry.exposure_index * error / value if own is None else own


def _field(entry: Any) -> tuple[float, float]:
    if hasattr(entry, "b_max_rms_t"):
        return entry.b_max_rms_t, entry.b_max_rms_error_t
    return entry.b_rms_t, entry.b_rms_error_t


def _margin() -> Expected:
    """What is left to the limit, or the multiple of it that a field above it is."""

    def left(entry: Any) -> float | None:
        return None if entry.limit_t is None or sum(share_of(entry)) > 1 else 1 - sum(share_of(entry))

    def words_of(entry: Any) -> str:
        if entry.limit_t is None:
            return "–"
        share, error = share_of(entry)
        if share <= 1:  # with its error
            return f"up to {plain(share + error, 3 if share + error > 1.01 else 5)} times the limit"
        return f"{plain(share)} times the limit"

    return replace(percents("Margin", left), otherwise=words_of)


def _verdict(entry: Any) -> str:
    """With the study's steel, and with another one where the verdict turns."""
    share = share_of(entry)[0]
    word = verdict(entry.limit_t, entry.within_limit, share)
    if entry.limit_t is None or entry.other_steel_within_limit in (None, entry.within_limit):
        return word
    return f"{word}; {verdict(entry.limit_t, entry.other_steel_within_limit, 2.0)} with the other steel"


def receptor_verdict(result: Result) -> Callable[[Any], str]:
    """The verdict, with a word on the list below where it holds only on a straight run as drawn, or is in doubt."""
    return lambda entry: _verdict(entry) + beside_verdict(result, entry, "but see below")


def beside_verdict(result: Result, entry: Any, see: str) -> str:
    """What is said after the verdict of a place: of the run in space if that is higher, else where it may not hold."""
    for row in result.reservations:
        if row.place == entry.name and row.concern == "course":
            times = f"{plain(row.b_rms_t / entry.b_rms_t)} times the field along the course"
            return f" on a straight run, ABOVE it with {times}" if row.changes_verdict else f", {times}"
    net = [row for row in result.reservations if row.place == entry.name and row.concern == "stated net current"]
    if any(row.changes_verdict for row in net):
        return " without net currents, ABOVE it with them"
    doubted = {row.place for row in result.reservations if row.changes_verdict and row.kind != "route"}
    return f", {see}" if entry.within_limit and entry.name in doubted else ""


def limit_words(limit: float) -> re.Pattern[str]:
    """Any way to write a limit; a terminal has ordinary spaces."""
    units = {"nT": 1e9, "µT": 1e6, "mT": 1e3, "T": 1.0}
    ways = "|".join(re.escape(f"{limit * per:.6g}") + rf"[\u202f ]{unit}" for unit, per in units.items())
    return re.compile(rf"({ways})$")


def level_and_index(result: Result) -> Iterator[Expected]:
    """The reference level of receptors that have one, and the exposure index where there are several frequencies."""
    if any(receptor.limit_name is not None for receptor in result.receptors):
        yield words("Level", lambda r: r.limit_name)
    if any(receptor.exposure_index is not None and len(receptor.spectrum) > 1 for receptor in result.receptors):
        yield num("Index", "–", lambda r: r.exposure_index)


def field_tables(result: Result) -> Iterator[Known]:
    shares = (
        (
            num("Closed-form shares", FLUX, lambda r: r.line_formula_shared_b_rms_t),
            num("Difference", "%", lambda r: off(r.line_formula_shared_b_rms_t, r.b_rms_t)),
        )
        if parallel_conductors(result.cross_section)
        else ()
    )
    if result.receptors:
        yield Known(
            "Flux density at the receptors, rms",
            result.receptors,
            (
                words("Receptor", lambda r: r.name),
                num("x", "m", lambda r: r.x_m),
                num("y", "m", lambda r: r.y_m),
                num("Resultant", FLUX, lambda r: r.b_rms_t),
                err(FLUX, lambda r: r.b_rms_error_t, within=lambda r: r.within_tolerance),
                num("Major axis", FLUX, lambda r: r.b_major_axis_rms_t),
                num("Line formula", FLUX, lambda r: r.line_formula_b_rms_t),
                num("Difference", "%", lambda r: off(r.line_formula_b_rms_t, r.b_rms_t)),
                *shares,
                num("Limit", FLUX, lambda r: r.limit_t),
                *level_and_index(result),
                _margin(),
                words("Verdict", receptor_verdict(result)),
            ),
        )
    if any(len(receptor.spectrum) > 1 for receptor in result.receptors):
        yield Known(
            "Flux density by frequency",
            [(receptor, part) for receptor in result.receptors for part in receptor.spectrum],
            (
                words("Receptor", lambda row: row[0].name),
                num("Frequency", "Hz", lambda row: row[1].frequency_hz),
                num("Resultant", FLUX, lambda row: row[1].b_rms_t),
                err(FLUX, lambda row: row[1].b_rms_error_t),
            ),
        )
    entries: tuple[Any, ...] = (*result.receptors, *result.zones)
    judged = [entry for entry in entries if entry.limit_name is not None]
    if not judged:
        return
    yield Known(
        "Exposure against reference levels",
        judged,
        (
            words("Place", lambda entry: entry.name),
            words("Level", lambda entry: entry.limit_name),
            num("Exposure index", "–", lambda entry: entry.exposure_index),
            err("–", lambda entry: getattr(entry, "exposure_error", None)),
            num("Root of squares", "–", _root_of_squares),
            words("Verdict", receptor_verdict(result)),
        ),
    )
    levels = dict.fromkeys(entry.limit_name for entry in judged)
    yield Known(
        "Reference levels, rms",
        [(str(name), part.frequency) for name in levels for part in components(result.study)],
        (
            words("Level", lambda row: row[0]),
            num("Frequency", "Hz", lambda row: row[1]),
            num("Flux density", FLUX, lambda row: reference_level(*row).value_t),
            words("Source", lambda row: _level_source(*row)),
        ),
    )


def _level_source(name: str, frequency: float) -> re.Pattern[str]:
    """Source, its mark in words, and a note where there is one."""
    level = reference_level(name, frequency)
    note = re.escape(f"; {level.note}") if level.note else ""
    return re.compile(rf"{re.escape(level.source)} \[[^]]+\]{note}$")


def _root_of_squares(entry: Any) -> float | None:
    spectrum = getattr(entry, "spectrum", ())
    if len(spectrum) < 2:
        return None
    levels = [reference_level(entry.limit_name, part.frequency_hz).value_t for part in spectrum]
    return math.sqrt(sum((part.b_rms_t / level) ** 2 for part, level in zip(spectrum, levels, strict=True)))


def limit_tables(result: Result) -> Iterator[Known]:
    if result.zones:
        yield Known(
            "Highest flux density of the zones, in air",
            result.zones,
            (
                words("Zone", lambda zone: zone.name),
                num("From x", "m", lambda zone: zone.x0_m),
                num("From y", "m", lambda zone: zone.y0_m),
                num("To x", "m", lambda zone: zone.x1_m),
                num("To y", "m", lambda zone: zone.y1_m),
                num("Highest", FLUX, lambda zone: zone.b_max_rms_t),
                err(FLUX, lambda zone: zone.b_max_rms_error_t, within=lambda zone: zone.within_tolerance),
                num("Limit", FLUX, lambda zone: zone.limit_t),
                *zone_level_and_index(result),
                _margin(),
                words("Verdict", receptor_verdict(result)),
                num("At x", "m", lambda zone: zone.x_m),
                num("At y", "m", lambda zone: zone.y_m),
                words("Where", lambda zone: zone.where),
            ),
        )
    metal = [zone for zone in result.zones if zone.metal is not None]
    if metal:
        yield Known(
            "Flux density in the metal of the zones",
            metal,
            (
                words("Zone", lambda zone: zone.name),
                words("Highest in", lambda zone: zone.metal),
                num("Flux density", FLUX, lambda zone: zone.metal_b_max_rms_t),
                err(FLUX, lambda zone: zone.metal_b_max_rms_error_t),
                num("At x", "m", lambda zone: zone.metal_x_m),
                num("At y", "m", lambda zone: zone.metal_y_m),
            ),
        )
    if result.limit_distances:
        yield Known(
            f"Distances beyond which the limits are met{without_net(result)}",
            limits_by_direction(result),
            tuple(distance_columns(result, errors=True)),
        )


def without_net(result: Result) -> str:
    """What is added where numbers are without the net currents of a study."""
    return ", without net currents" if result.study.has_net_currents() else ""


def limits_by_direction(result: Result) -> list[dict[str, Any]]:
    """The distances of each limit by their direction."""
    groups: dict[Any, dict[str, Any]] = {}
    for row in result.limit_distances:
        groups.setdefault((row.limit_t, row.limit_name, row.of), {})[row.direction] = row
    return list(groups.values())


def distance_columns(result: Result, errors: bool) -> Iterator[Expected]:
    """With errors and what stands beside them on a page, without in a terminal."""

    def column(direction: str, heading: str) -> Iterator[Expected]:
        def away(rows: Any) -> float | None:
            row = rows[direction]
            return row.from_outline_m if row.state == "met" and not _at_outline(row) else None

        def error(rows: Any) -> float | None:
            return rows[direction].error_m if away(rows) is not None else None

        def state(rows: Any) -> str:
            states = {row.state for row in rows.values()}
            if direction != "overall" and len(states) == 1 and "met" not in states:
                return "–"  # as all round
            row = rows[direction]
            if row.state == "met":
                return "at the outline"
            return "not met within 1\u202fkm" if row.state == "not met" else row.state

        yield replace(num(heading, "m", away), otherwise=state)
        if errors:
            yield err("m", error)

    yield words("Limit", lambda rows: _distance_limit(result, rows["overall"]))
    yield words("Of", lambda rows: ", ".join(rows["up"].of))
    yield from column("overall", "Largest")
    if errors:
        yield num("From the middle", "m", lambda rows: rows["overall"].from_centre_m)
        yield num("Far form", "m", lambda rows: rows["overall"].far_form_from_centre_m)
    for side in ("right", "up", "left", "down"):
        yield from column(side, side.capitalize())


def _distance_limit(result: Result, row: Any) -> Any:
    """A stated limit, a reference level with its flux density, or the index of several frequencies."""
    if row.limit_name is None:
        return limit_words(row.limit_t)
    if len(components(result.study)) > 1:
        return f"index 1 of {row.limit_name}"
    return re.compile(limit_words(row.limit_t).pattern.removesuffix("$") + re.escape(f", {row.limit_name}") + "$")


def _at_outline(row: Any) -> bool:
    """Whether distance and error are less than can be measured, a tenth of a millimetre."""
    return row.from_outline_m == 0 and row.error_m is not None and row.error_m <= 1e-4


def zone_level_and_index(result: Result) -> Iterator[Expected]:
    """The reference level of zones that have one, and the exposure index if there are several frequencies."""
    if any(zone.limit_name is not None for zone in result.zones):
        yield words("Level", lambda zone: zone.limit_name)
    if len(components(result.study)) > 1 and any(zone.exposure_index is not None for zone in result.zones):
        yield num("Index", "–", lambda zone: zone.exposure_index)
