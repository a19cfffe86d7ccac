"""Heads, rows and lines of a result's text: doubts and failures, faults, charging, and formulas of losses in metal."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.faults.rows import FaultForceResult
from studies.answers.phases.words import COMMON, JUDGES_BALANCE
from studies.answers.reservations.words import HEADING, reservation_lines
from studies.report.cautions import ALWAYS
from studies.section.run_bonds import joining_words
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.engineering import difference, fixed, percent, three_digits
from studies.text.failures import Failure

Row = tuple[str, ...]

WIDEST = 100
"""Letters of a line of running text."""
LEFT_OVER = 1e-8
"""Ratios below this are left over from rounding. [-]"""
ROUNDING = 1e-6
"""Deviations below this are left over from rounding. [-]"""


def failure_lines(result: Answers, failures: Sequence[Failure]) -> list[str]:
    """What has no verdict, and everything that failed."""
    lines = []
    if unjudged := result.unjudged():
        lines.append(textwrap.fill(f"NO VERDICT: {', '.join(unjudged)}.", WIDEST))
    if failures:
        names = [textwrap.fill(str(failure), WIDEST, subsequent_indent="  ") for failure in failures]
        lines.append("\n".join(["NOT COMPLETE: this failed, everything else stands.", *names]))
    return lines


def reservations(result: Answers) -> tuple[str, ...]:
    """How far each verdict carries."""
    lines = [
        textwrap.fill(line, WIDEST, initial_indent="  ", subsequent_indent="    ") for line in reservation_lines(result)
    ]
    return ("\n".join([f"{HEADING}:", *lines]),) if lines else ()


def caution_lines(result: Answers) -> list[str]:
    """The first sentence of each caution that this study calls for."""
    own = (re.split(r"(?<=\.)\s", caution)[0] for caution in result.cautions if caution not in ALWAYS)
    lines = [textwrap.fill(line, WIDEST, initial_indent="  ", subsequent_indent="    ") for line in own]
    return ["\n".join(["Cautions of this study; the report has them in full, with those of every study:", *lines])]


def fault_table(result: Answers) -> tuple[Row, tuple[Row, ...]]:
    """The cable with the greatest force of each fault."""
    rows = []
    groups: dict[tuple[str, float], list[FaultForceResult]] = {}
    for entry in result.faults:
        groups.setdefault((entry.fault, entry.peak_current_a), []).append(entry)
    cleats = any(entry.force_per_cleat_n is not None for entry in result.faults)
    steel = any(entry.force_without_steel_n_per_m is not None for entry in result.faults)
    for (fault, peak), own in groups.items():
        worst = max(own, key=lambda entry: entry.peak_force_n_per_m)
        pair = f" {worst.faulted_phases}" if "two" in fault else ""
        rows.append(
            (
                f"{fault}{pair}",
                three_digits(peak, "A"),
                three_digits(worst.peak_force_n_per_m, "N/m"),
                f"{worst.cable} {worst.phase}",
                *((_without_steel(worst),) if steel else ()),
                three_digits(worst.alternating_peak_force_n_per_m, "N/m"),
                three_digits(worst.standard_force_n_per_m, "N/m"),
                percent(difference(worst.alternating_peak_force_n_per_m, worst.standard_force_n_per_m)),
                *((three_digits(worst.force_per_cleat_n, "N"),) if cleats else ()),
            )
        )
    head = ("fault", "peak", "greatest force", "on", *(("without steel",) if steel else ()))
    head = (*head, "no offset", "IEC 61914", "differs")
    return (*head, *(("per cleat",) if cleats else ())), tuple(rows)


def _without_steel(entry: FaultForceResult) -> str:
    """The other bound, marked where the steel is asked for more than it can carry."""
    return three_digits(entry.force_without_steel_n_per_m, "N/m") + (" (bound)" if entry.steel_exceeded else "")


def design_table(result: Answers) -> tuple[Row, tuple[Row, ...]]:
    """The force that the cleats of each faulted circuit must hold."""
    cleats = any(entry.force_per_cleat_n is not None for entry in result.fault_design)
    rows = tuple(
        (
            f"{entry.fault} {entry.faulted_phases}",
            three_digits(entry.peak_current_a, "A"),
            three_digits(entry.force_n_per_m, "N/m"),
            f"{entry.cable} {entry.phase}",
            *((three_digits(entry.force_per_cleat_n, "N"),) if cleats else ()),
            entry.why,
        )
        for entry in result.fault_design
    )
    return ("design cleats for", "peak", "force", "on", *(("per cleat",) if cleats else ()), "because"), rows


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


def metal_formula_lines(result: Answers) -> list[str]:
    """What the formulas of losses in screens, sheaths and trays are, and where they are used outside their range."""
    parts: dict[tuple[str, str], list[str]] = {}
    for loss in result.losses:
        if loss.kind != CONDUCTOR and loss.formula_loss_w_per_m is not None:
            name = loss.formula.rpartition(", ")[0] if loss.kind in METAL_LAYERS else loss.formula
            parts.setdefault((name, loss.formula_outside_range), []).append(loss.part)
    return [
        f"Loss formula of {', '.join(names)}: {formula}{f' (outside its range: {outside})' if outside else ''}."
        for (formula, outside), names in parts.items()
    ]


def run_lines(result: Answers) -> list[str]:
    """How the lines of the run are joined and turned; nothing without a route."""
    if result.route is None:
        return []
    return [textwrap.fill(f"The run: {joining_words(result.cross_section, result.study)}", WIDEST)]
