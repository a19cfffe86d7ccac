"""Forces of faults in a terminal."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.faults.rows import FaultForceResult
from studies.text.engineering import difference, percent, three_digits
from studies.text.plain_table import Row


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
