"""What is left to a limit, in numbers and words, of a receptor or a zone."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.figure_names import frequencies
from studies.answers.limits.rows import ZoneResult
from studies.answers.result_units import result_units
from studies.answers.steel.steel_words import verdict_words
from studies.text.grid import Cell, Tone
from studies.text.numbers import NONE, plain, stated
from studies.text.units import FLUX_DENSITY, Unit

Limited = ReceptorResult | ZoneResult


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
    """What is left to the limit with the error counted against it, over the limit. [-]"""
    share = ratio(entry)
    if share is None or entry.limit_t is None:
        return None
    value, error = field_of(entry)
    if entry.exposure_error is not None:
        return 1 - share - entry.exposure_error
    return 1 - share * (1 + error / value) if value > 0 else 1 - error / entry.limit_t


def verdict(entry: Limited, doubted: bool = False) -> str:
    """Whether a receptor or zone is within its limit, in words; of a receptor in no air also what it lies in.

    `doubted`: whether it holds only as drawn, for which a list below the table gives the reasons.
    """
    within = entry.inside if isinstance(entry, ReceptorResult) else None
    return _verdict(entry) + (f", inside {within}" if within else "") + (", but see below" if doubted else "")


def _verdict(entry: Limited) -> str:
    share = ratio(entry)
    if share is None:
        return "no limit stated" if entry.limit_name is None else "not judged"
    above = "above the limit" if share > 1 or entry.within_limit else "limit within the error"
    return verdict_words(entry, "within the limit", above)


def tone(entry: Limited) -> Tone:
    """How the verdict stands out; not at all where nothing is to be judged."""
    if entry.limit_t is None:
        return "" if entry.limit_name is None else "bad"
    return "good" if within(entry) else "bad"


def verdict_cell(entry: Limited) -> str | Cell:
    """Verdict and tone for a table."""
    return Cell(verdict(entry), tone(entry)) if tone(entry) else verdict(entry)


def within(entry: Limited) -> bool:
    """Whether the field stays within its limit, with the other steel as well where there is one."""
    return bool(entry.within_limit) and entry.other_steel_within_limit is not False


def times(entry: Limited) -> str:
    """Field in multiples of the limit, in words."""
    share = plain(ratio(entry) or 0.0, 3)
    return f"{share} times what is allowed" if entry.exposure_index is not None else f"{share} times the limit"


def receptor_unit(result: Answers) -> Unit:
    """One unit for the fields and limits of all receptors and zones."""
    return result_units(result).of(FLUX_DENSITY)


def limit_text(result: Answers, entry: Limited, unit: Unit) -> str:
    """The limit of a receptor or zone as running text."""
    if entry.limit_t is None:
        return NONE
    level = stated(entry.limit_t, unit)
    if entry.limit_name is None:
        return level
    at = f" at {result.cross_section.frequency:g}\u202fHz" if len(frequencies(result)) > 1 else ""
    return f"{level}{at} ({entry.limit_name})"
