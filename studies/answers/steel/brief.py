"""Steel and other currents in a terminal."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.text.engineering import three_digits
from studies.text.plain_table import PlainTable


def saturation_brief(result: Answers) -> PlainTable:
    """How each part of saturating steel is magnetised."""
    return PlainTable(
        ("saturating", "mean peak B", "largest", "loss", "linear loss", "solves"),
        tuple(
            (
                part.part,
                three_digits(part.mean_peak_b_t, "T"),
                three_digits(part.peak_b_t, "T"),
                three_digits(part.loss_w_per_m, "W/m"),
                three_digits(part.linear_loss_w_per_m, "W/m"),
                str(part.solves),
            )
            for part in result.saturation
        ),
    )


def sweep_brief(result: Answers) -> PlainTable:
    """Losses at other currents."""
    return PlainTable(
        ("all currents", "trays and metalwork", "square law", "conductors"),
        tuple(
            (
                f"times {point.factor:g}",
                three_digits(point.tray_loss_w_per_m, "W/m"),
                three_digits(point.quadratic_tray_loss_w_per_m, "W/m"),
                three_digits(point.conductor_loss_w_per_m, "W/m"),
            )
            for point in result.current_sweep
        ),
    )
