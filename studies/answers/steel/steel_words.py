"""What is told beside the numbers of saturating steel: another steel, the third harmonic, hysteresis."""

from __future__ import annotations

import math
from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.text.engineering import difference, engineering, percent

RULE_ACCURACY = (
    "Against solutions over time with the same curves the rule was within 5.5 % in the loss of thick plates, up to 7 % "
    "low in the loss of a channel tray, up to 3 % low in the field beside it, and 9 % low in the limit of a "
    "rectangular curve; the ± of the loss contains this error, at the level of saturation that was found"
)
TYPICAL_ANGLE = (
    "Typical loss angles of steel sheet are 15 to 20° at hundreds of A/m and fall to 0 at low field (20° in a public "
    "material table of 1018 steel [seen]; Rayleigh's law gives 23° at most [derived])."
)

Limited = ReceptorResult | ZoneResult


def verdict_words(entry: Limited, within: str, above: str) -> str:
    """The verdict in two given words, of both steels where they do not agree; nothing without a limit."""
    if entry.within_limit is None:
        return ""
    word = within if entry.within_limit else above
    if entry.other_steel_within_limit in (None, entry.within_limit):
        return word
    return f"{word}; {within if entry.other_steel_within_limit else above} with the other steel"


def curves_in_words(result: Answers) -> tuple[str, str]:
    """Names of the study's magnetisation curves, and of those of the other steel."""
    own = dict.fromkeys(part.curve for part in result.saturation if part.other_curve)
    other = dict.fromkeys(part.other_curve for part in result.saturation if part.other_curve)
    return ", ".join(own), ", ".join(other)


def other_steel_rows(result: Answers) -> tuple[tuple[str, str, str, str, str], ...]:
    """Of receptors, zones and such parts: name, number with each steel, difference, verdict with the other."""
    rows: list[tuple[str, float, float, str, str]] = []
    fields: Sequence[Limited] = (*result.receptors, *result.zones)
    for entry in fields:
        zone = isinstance(entry, ZoneResult)
        own = entry.b_max_rms_t if isinstance(entry, ZoneResult) else entry.b_rms_t
        other = entry.other_steel_b_max_rms_t if isinstance(entry, ZoneResult) else entry.other_steel_b_rms_t
        if other is not None:
            words = {None: "", True: "within", False: "ABOVE"}[entry.other_steel_within_limit]
            rows.append((f"{'zone ' if zone else ''}{entry.name}", own, other, "T", words))
    steels = {part.part for part in result.saturation}
    rows += [
        (f"loss of {loss.part}", loss.loss_w_per_m, loss.other_steel_loss_w_per_m, "W/m", "")
        for loss in result.losses
        if loss.part in steels and loss.other_steel_loss_w_per_m is not None
    ]
    return tuple(
        (name, engineering(own, unit, 3), engineering(other, unit, 3), percent(difference(own, other)), words)
        for name, own, other, unit, words in rows
    )


def other_steel_table(result: Answers) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Head and rows of the numbers that depend on the steel."""
    return ("steel", *curves_in_words(result), "differs", ""), other_steel_rows(result)


def third_harmonic_words(result: Answers) -> str:
    """How large the third harmonic of the field beside saturating steel may be; empty without such steel."""
    shares = [r.third_harmonic_b_rms_t / r.b_rms_t for r in result.receptors if r.third_harmonic_b_rms_t and r.b_rms_t]
    if not shares:
        return ""
    return (
        f"Saturating steel adds a field at three times the frequency, at most {100 * max(shares):.2g} % of the "
        "fundamental at the receptors. It is in no other number; it raises an rms resultant by 0.5 % or less."
    )


def hysteresis_words(angles: Sequence[float]) -> str:
    """Whether curves have hysteresis by a stated loss angle [rad]."""
    stated = sorted({round(math.degrees(angle), 1) for angle in angles if angle > 0})
    if not stated:
        return f"without hysteresis. {TYPICAL_ANGLE}"
    some = "" if all(angle > 0 for angle in angles) else " of some parts"
    return f"with hysteresis{some} by the stated loss angle of {', '.join(f'{angle:g}°' for angle in stated)}."
