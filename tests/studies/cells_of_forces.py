"""Columns of charging currents and of the forces of faults."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from studies.answers.faults.rows import FaultForceResult
from studies.result import Result
from tests.studies.cells import (
    Known,
    err,
    num,
    words,
)

ARROWS = "→↗↑↖←↙↓↘"


def charging_table(result: Result) -> Known:
    names = list(dict.fromkeys(name for entry in result.charging for name in entry.formulas_f_per_m))
    run = any(entry.run_charging_current_a is not None for entry in result.charging)
    whole = (
        (
            num("Whole run", "mA", lambda row: row.run_charging_current_a),
            err("mA", lambda row: row.run_charging_current_error_a),
        )
        if run
        else ()
    )
    return Known(
        "Capacitance and charging current of the phases",
        result.charging,
        (
            words("Phase", lambda row: f"{row.circuit} {row.phase}"),
            num("Capacitance", "pF/m", lambda row: row.capacitance_f_per_m),
            err("pF/m", lambda row: row.capacitance_error_f_per_m),
            *(num(name, "pF/m", _formula(name)) for name in names),
            num("Charging current", "mA/km", lambda row: row.charging_current_a_per_m),
            err("mA/km", lambda row: row.charging_current_error_a_per_m),
            num("Deviation", "%", lambda row: row.circuit_inequality),
            *whole,
            words("Method", lambda row: row.method),
        ),
    )


def fault_tables(result: Result) -> Iterator[Known]:
    yield _design(result)
    for rows in faults_of(result):
        phases = rows[0].faulted_phases.replace("-", "–")
        what = "Three-phase fault" if phases.count("–") == 2 else f"Worst two-phase fault, {phases},"
        cleat = (num("Per cleat", "N", lambda row: row.force_per_cleat_n),) if rows[0].cleat_spacing_m else ()
        bare = (
            num("Without steel", "N/m", lambda row: row.force_without_steel_n_per_m),
            err("N/m", lambda row: row.force_without_steel_error_n_per_m),
        )
        yield Known(
            f"{what} of {rows[0].circuit}, {1e-3 * rows[0].peak_current_a:#.3g} kA peak",
            rows,
            (
                words("Cable", cable_and_phase),
                num("Current, peak", "kA", lambda row: row.cable_peak_current_a),
                num("Peak force", "N/m", lambda row: row.peak_force_n_per_m),
                err("N/m", lambda row: row.peak_force_error_n_per_m),
                words("Direction", lambda row: _arrow(row.direction_deg)),
                num("Fx", "N/m", lambda row: row.fx_n_per_m),
                num("Fy", "N/m", lambda row: row.fy_n_per_m),
                *cleat,
                *(bare if rows[0].force_without_steel_n_per_m is not None else ()),
                *((words("Steel", steel_bound),) if any(row.steel_exceeded for row in rows) else ()),
                num("Without offset", "N/m", lambda row: row.alternating_peak_force_n_per_m),
                num("Line currents", "N/m", lambda row: row.line_force_n_per_m),
                num("IEC 61914", "N/m", lambda row: row.standard_force_n_per_m),
                num("Difference", "%", lambda row: row.standard_difference),
                words("IEC 61914 case", lambda row: row.standard),
            ),
        )
    yield Known(
        "Two-phase faults, greatest force of all cables",
        result.fault_pairs,
        (
            words("Fault", lambda row: f"{row.circuit} {row.faulted_phases.replace('-', '–')}"),
            num("Peak", "kA", lambda row: row.peak_current_a),
            num("Greatest force", "N/m", lambda row: row.greatest_force_n_per_m),
            err("N/m", lambda row: row.greatest_force_error_n_per_m),
            words("On", lambda row: row.cable),
            words("", lambda row: "worst" if row.worst else ""),
        ),
    )


def faults_of(result: Result) -> list[list[FaultForceResult]]:
    """The rows of each fault."""
    groups: list[list[FaultForceResult]] = []
    for entry in result.faults:
        if groups and groups[-1][0].fault == entry.fault and entry.cable not in {own.cable for own in groups[-1]}:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups


def cable_and_phase(row: Any) -> Any:
    """The two with a space that does not break; a terminal has ordinary spaces."""
    return re.compile(f"{re.escape(row.cable)}[ \u00a0]{row.phase}$")


def fault_name(row: Any) -> str:
    """Circuit and kind, with the phases of a two-phase fault."""
    phases = row.faulted_phases.replace("-", "–")
    return f"{row.fault}, {phases}" if phases.count("–") == 1 else str(row.fault)


def steel_bound(row: Any) -> str:
    """Whether the force lies between the values with and without steel."""
    return "force between the two" if row.steel_exceeded else "–"


def _design(result: Result) -> Known:
    cleats = (
        num("Cleats every", "m", lambda row: row.cleat_spacing_m),
        num("Per cleat", "N", lambda row: row.force_per_cleat_n),
        err("N", lambda row: row.force_per_cleat_error_n),
    )
    return Known(
        "Force to design cleats for",
        result.fault_design,
        (
            words("Fault", fault_name),
            num("Peak", "kA", lambda row: row.peak_current_a),
            words("On", cable_and_phase),
            num("Force", "N/m", lambda row: row.force_n_per_m),
            err("N/m", lambda row: row.force_error_n_per_m),
            num("IEC 61914", "N/m", lambda row: row.standard_force_n_per_m),
            *(cleats if any(row.force_per_cleat_n is not None for row in result.fault_design) else ()),
            words("Reason", lambda row: row.why),
        ),
    )


def _arrow(degrees: float) -> str:
    return f"{ARROWS[round(degrees / 45) % 8]} {degrees:.0f}°".replace("-", "−")


def _formula(name: str) -> Callable[[Any], Any]:
    return lambda row: row.formulas_f_per_m.get(name)
