"""Verdicts of receptors and zones against their limits, in numbers and words."""

from __future__ import annotations

from collections.abc import Mapping

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.figure_names import several_frequencies
from studies.answers.limits.rows import ZoneResult
from studies.answers.reservations.words import TURNED
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.text.grid import Tone
from studies.text.numbers import plain, stated, value_with_error
from studies.text.units import FLUX_DENSITY, NUMBER, Unit

Limited = ReceptorResult | ZoneResult
MOST_NAMES = 3
"""Names listed with a limit in a figure."""


def field_of(entry: Limited) -> tuple[float, float]:
    """Resultant rms flux density and its error estimate. [T]"""
    if isinstance(entry, ZoneResult):
        return entry.b_max_rms_t, entry.b_max_rms_error_t
    return entry.b_rms_t, entry.b_rms_error_t


def ratio(entry: Limited) -> float | None:
    """Field over its limit, or the exposure index of a reference level; None without a limit. [-]"""
    if entry.limit_t is None:
        return None
    return entry.exposure_index if entry.exposure_index is not None else field_of(entry)[0] / entry.limit_t


def margin(entry: Limited) -> float | None:
    """Remainder to the limit, over the limit, with the error counted against it. [-]"""
    share = ratio(entry)
    if share is None or entry.limit_t is None:
        return None
    value, error = field_of(entry)
    if entry.exposure_error is not None:
        return 1 - share - entry.exposure_error
    return 1 - share * (1 + error / value) if value > 0 else 1 - error / entry.limit_t


def margin_or_times(entry: Limited) -> float | str | None:
    """The margin [-]; in words the multiple of the limit if the field, or the field with its error, is above it."""
    left = margin(entry)
    return times(entry) if left is not None and left < 0 else left


def times(entry: Limited) -> str:
    """Field, or exposure index, in multiples of the limit; with its error if the field alone is not above it."""
    share, worst = ratio(entry) or 0.0, 1 - (margin(entry) or 0.0)
    if share <= 1 < worst:
        return f"up to {plain(worst, 3 if worst > 1.01 else 5)} times the limit"
    return f"{plain(share)} times the limit"


def verdict(entry: Limited, beside: str = "") -> str:
    """Whether a receptor or zone is within its limit, in words; of a receptor within metal also the metal.

    `beside`: what is said after it, by `beside_verdicts`.
    """
    inside = entry.inside if isinstance(entry, ReceptorResult) else None
    return _verdict(entry) + (f", inside {inside}" if inside else "") + beside


def _verdict(entry: Limited) -> str:
    share = ratio(entry)
    if share is None:
        return "no limit stated" if entry.limit_name is None else "not judged"
    above = "above the limit" if share > 1 or entry.within_limit else "limit within the error"
    return verdict_words(entry, "within the limit", above)


def verdict_words(entry: Limited, within: str, above: str) -> str:
    """The verdict in two given words, of both steels if they do not agree; nothing without a limit."""
    if entry.within_limit is None:
        return ""
    word = within if entry.within_limit else above
    if entry.other_steel_within_limit in (None, entry.within_limit):
        return word
    return f"{word}; {within if entry.other_steel_within_limit else above} with the other steel"


def sheet_row(
    result: Answers, entry: Limited, unit: Unit, beyond: Mapping[str, str], beside: Mapping[str, str]
) -> SheetRow:
    """A receptor or zone on the sheet to sign, its field in a unit.

    `beyond`: the cases beyond the error by the names of places; `beside`: what is said after their verdicts.
    """
    is_zone, index = isinstance(entry, ZoneResult), limits_index(result, entry)
    value, limit = value_with_error(*field_of(entry), unit), None
    if entry.limit_t is not None:
        limit = f"index 1 of {entry.limit_name}" if index else stated(entry.limit_t, unit)
        limit += f", {entry.limit_name}" if entry.limit_name is not None and not index else ""
    if index and entry.exposure_index is not None:
        value += f", exposure index {value_with_error(entry.exposure_index, entry.exposure_error or 0.0, NUMBER)}"
    return SheetRow(
        f"Highest field in “{entry.name}”" if is_zone else f"Field at “{entry.name}”",
        value,
        limit,
        None if TURNED in beside.get(entry.name, "") else margin_or_times(entry),
        verdict(entry, beside.get(entry.name, "")),
        tone(entry, beside.get(entry.name, "")),
        beyond.get(entry.name),
        "limits" if is_zone else "receptors",
    )


def tone(entry: Limited, beside: str = "") -> Tone:
    """How the verdict stands out, with what is said after it; a place without a limit does not."""
    if entry.limit_t is None:
        return "" if entry.limit_name is None else "bad"
    return "good" if within(entry) and TURNED not in beside else "bad"


def within(entry: Limited) -> bool:
    """Whether the field stays within its limit, with the curve of the other steel too if there is one."""
    return bool(entry.within_limit) and entry.other_steel_within_limit is not False


def limit_words(result: Answers, limit: float) -> str:
    """A limit [T] as stated, in the unit of the result."""
    return stated(limit, result_units(result).of(FLUX_DENSITY, [limit]))


def limit_names(result: Answers) -> dict[float, str]:
    """Each distinct limit of the flux density [T], smallest first, with its value and the places that have it.

    A reference level of several frequencies limits a sum of ratios and no flux density: see `index_limit_names`.
    """
    having = [entry for entry in _limited(result) if not limits_index(result, entry)]
    found = {}
    for limit in sorted({entry.limit_t for entry in having if entry.limit_t is not None}):
        own = [entry.name for entry in having if entry.limit_t == limit]
        found[limit] = f"{limit_words(result, limit)} {', '.join(_shortened(own))}"
    return found


def index_limit_names(result: Answers) -> dict[str, str]:
    """Each reference level that limits the exposure to several frequencies, with the places that have it."""
    having = [entry for entry in _limited(result) if limits_index(result, entry)]
    return {
        name: ", ".join(_shortened([entry.name for entry in having if entry.limit_name == name]))
        for name in dict.fromkeys(entry.limit_name for entry in having)
        if name is not None
    }


def limits_index(result: Answers, entry: Limited) -> bool:
    """Whether the limit of a receptor or zone limits the exposure to several frequencies."""
    return entry.limit_name is not None and several_frequencies(result)


def _limited(result: Answers) -> tuple[Limited, ...]:
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    return tuple(entry for entry in entries if entry.limit_t is not None)


def _shortened(names: list[str]) -> list[str]:
    return names if len(names) <= MOST_NAMES else [*names[: MOST_NAMES - 1], f"and {len(names) - MOST_NAMES + 1} more"]
