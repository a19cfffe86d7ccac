"""Steel in the summary of the report."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.steel.steel_words import curves_in_words, other_steel_rows, third_harmonic_words
from studies.text.numbers import difference, percent, quantity
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH

MOST_OTHER = 6
"""Numbers of another steel in the summary; the section on saturation has them all."""


def steel_line(result: Answers) -> str:
    """How far the steel saturates, and what another steel would change."""
    if not result.saturation:
        return ""
    worst = max(result.saturation, key=lambda part: part.mean_peak_b_t)
    loss = sum(part.loss_w_per_m for part in result.saturation)
    linear = sum(part.linear_loss_w_per_m for part in result.saturation)
    return (
        f"Saturating steel: {worst.part} swings to {quantity(worst.mean_peak_b_t, FLUX_DENSITY)}, mean of its area; "
        f"all such steel loses {quantity(loss, LOSS_PER_LENGTH)}, {percent(difference(loss, linear))} % "
        f"against the same steel without saturation. {third_harmonic_words(result)}{_other_steel(result)}"
    ).strip()


def _other_steel(result: Answers) -> str:
    """The spread of two steels in one sentence."""
    rows = other_steel_rows(result)
    if not rows:
        return ""
    listed = "; ".join(f"{name} {other} in place of {own} ({off})" for name, own, other, off, _ in rows[:MOST_OTHER])
    return f" With the curve of another steel, {curves_in_words(result)[1]}: {listed}."
