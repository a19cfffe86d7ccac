"""Charging currents in a terminal."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.text.engineering import three_digits
from studies.text.plain_table import Row

ROUNDING = 1e-6
"""Deviations below this are left over from rounding. [-]"""


def charging_table(result: Answers) -> tuple[Row, tuple[Row, ...]]:
    """Capacitance and charging current of each phase."""
    run = any(entry.run_charging_current_a is not None for entry in result.charging)
    return (
        ("charging", "capacitance", "current per m", *(("whole run",) if run else ()), "deviation"),
        tuple(
            (
                f"{entry.circuit} {entry.phase}",
                three_digits(entry.capacitance_f_per_m, "F/m"),
                three_digits(entry.charging_current_a_per_m, "A/m"),
                *((three_digits(entry.run_charging_current_a, "A"),) if run else ()),
                f"{100 * entry.circuit_inequality:.2g} %" if entry.circuit_inequality >= ROUNDING else "≈ 0",
            )
            for entry in result.charging
        ),
    )
