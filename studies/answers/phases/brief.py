"""Impedances in a terminal."""

from __future__ import annotations

import math
import textwrap

from studies.answers.answers import Answers
from studies.answers.phases.words import COMMON, JUDGES_BALANCE
from studies.text.engineering import difference, fixed, percent, three_digits
from studies.text.plain_table import PlainTable, Row
from studies.text.terminal import WIDEST

LEFT_OVER = 1e-8
"""Ratios below this are left over from rounding. [-]"""


def phase_brief(result: Answers) -> PlainTable:
    """Impedance of each phase beside its formulas."""
    return PlainTable(
        ("phase", "R = Re(u/i)", "X = Im(u/i)", "inductance", "line formula", "differs", "GMD/GMR"),
        tuple(
            (
                f"{phase.circuit} {phase.phase}",
                three_digits(phase.z_ohm_per_m.real, "Ω/m") if phase.z_ohm_per_m is not None else "–",
                three_digits(phase.z_ohm_per_m.imag, "Ω/m") if phase.z_ohm_per_m is not None else "–",
                three_digits(phase.inductance_h_per_m, "H/m"),
                three_digits(phase.formula_inductance_h_per_m, "H/m"),
                percent(difference(phase.inductance_h_per_m, phase.formula_inductance_h_per_m)),
                three_digits(phase.gmd_inductance_h_per_m, "H/m"),
            )
            for phase in result.phases
        ),
    )


def balance_table(result: Answers) -> tuple[Row, tuple[Row, ...]]:
    """Negative-sequence and common part of the drops of each circuit's phases."""
    rows = tuple(
        (
            entry.circuit,
            _per_cent(entry.z21_over_z11),
            _per_cent(entry.formula_z21_over_z11),
            _per_cent(entry.z01_over_z11),
            _per_cent(entry.formula_z01_over_z11),
        )
        for entry in result.sequence_impedance
    )
    return ("circuit", "|Z21/Z11|", "line formula", "common |Z01/Z11|", "line formula"), rows


def balance_lines(result: Answers) -> list[str]:
    """What the two ratios are."""
    return [textwrap.fill(f"{JUDGES_BALANCE} {COMMON}", WIDEST)] if result.sequence_impedance else []


def _per_cent(ratio: float) -> str:
    """A ratio in per cent with three digits; what is left over from rounding is 0."""
    if not math.isfinite(ratio):
        return "–"
    return f"{fixed(100 * ratio, 3)} %" if abs(ratio) >= LEFT_OVER else "0 %"
