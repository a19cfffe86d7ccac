"""What the tables of a report hold of fields, exposure, zones and distances, with the verdict that each entry gets."""

import math
import re
from collections.abc import Callable, Iterator
from typing import Any

from studies.data.reference_levels import reference_level
from studies.result import Result
from studies.section.cross_section import parallel_conductors
from studies.section.spectrum import components
from tests.studies.cells import FLUX, Expected, Known, err, num, off, words


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


def _margin(entry: Any) -> float | None:
    return None if entry.limit_t is None else 1 - sum(share_of(entry))


def _verdict(entry: Any) -> str:
    """With the study's steel, and with another one where the verdict turns."""
    share = share_of(entry)[0]
    word = verdict(entry.limit_t, entry.within_limit, share)
    if entry.limit_t is None or entry.other_steel_within_limit in (None, entry.within_limit):
        return word
    return f"{word}; {verdict(entry.limit_t, entry.other_steel_within_limit, 2.0)} with the other steel"


def receptor_verdict(result: Result) -> Callable[[Any], str]:
    """The verdict, with a word on the list below where it holds only on a straight run as drawn, or is in doubt."""
    doubted = {row.place for row in result.reservations if row.changes_verdict and row.kind != "route"}
    return lambda entry: _verdict(entry) + (", but see below" if entry.within_limit and entry.name in doubted else "")


def limit_words(limit: float | None, name: str | None = None) -> Any:
    """Any way to write a limit, and what may follow it."""
    if limit is None:
        return "–"
    units = {"nT": 1e9, "µT": 1e6, "mT": 1e3, "T": 1.0}
    ways = "|".join(re.escape(f"{limit * per:.6g}\u202f{unit}") for unit, per in units.items())
    return re.compile(rf"({ways})( at [\d.]+\u202fHz)?{re.escape(f' ({name})') if name else ''}$")


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
                num("Margin", "%", _margin),
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
            words("Verdict", _verdict),
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
                num("at x", "m", lambda zone: zone.x_m),
                num("at y", "m", lambda zone: zone.y_m),
                words("Where", lambda zone: zone.where),
                words("Limit", lambda zone: limit_words(zone.limit_t, zone.limit_name)),
                num("Margin", "%", _margin),
                words("Verdict", _verdict),
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
                num("at x", "m", lambda zone: zone.metal_x_m),
                num("at y", "m", lambda zone: zone.metal_y_m),
            ),
        )
    if result.limit_distances:
        yield Known(
            "Distances beyond which the limits are met",
            list(_distance_rows(result)),
            (
                words("Limit", lambda row: _distance_limit(result, row[0])),
                words("Of", lambda row: ", ".join(row[0].of)),
                words("Direction", lambda row: row[1]),
                words("State", lambda row: row[0].state),
                num("From the outline", "m", lambda row: row[0].from_outline_m if row[0].state == "met" else None),
                err("m", lambda row: row[0].error_m if row[0].state == "met" else None),
                num("From the middle", "m", lambda row: row[0].from_centre_m),
                num("Far form", "m", lambda row: row[0].far_form_from_centre_m),
            ),
        )


def _distance_limit(result: Result, row: Any) -> Any:
    if row.limit_name is None:
        return limit_words(row.limit_t)
    if len(components(result.study)) > 1:
        return f"index 1 of {row.limit_name}"
    return re.compile(limit_words(row.limit_t).pattern.removesuffix("$") + re.escape(f", {row.limit_name}") + "$")


def _distance_rows(result: Result) -> Iterator[tuple[Any, str]]:
    """Each direction; one row for all where a limit is met or exceeded in every one of them without a distance."""
    groups: dict[Any, list[Any]] = {}
    for row in result.limit_distances:
        groups.setdefault((row.limit_t, row.limit_name), []).append(row)
    for rows in groups.values():
        states = {row.state for row in rows}
        if len(states) == 1 and states != {"met"}:
            yield rows[0], "all"
        else:
            yield from ((row, row.direction) for row in rows)
