"""Charging currents and fault forces as blocks."""

from __future__ import annotations

from collections.abc import Mapping

from studies.decided import FaultForceResult
from studies.figures import names
from studies.figures.engineering import Unit, plain
from studies.report.blocks import Block, Column, Figure, Section, Table, Text
from studies.report.numbers import significant, with_error
from studies.results import Result

PICOFARAD_PER_METRE = Unit("pF/m", 1e-12)
MILLIAMPERE_PER_KM = Unit("mA/km", 1e-6)
NEWTON_PER_METRE = Unit("N/m", 1.0)


def charging_section(result: Result) -> Section | None:
    """Capacitance and charging current; None where the study states no supply or permittivity."""
    if not result.charging:
        return None
    formulas = list(dict.fromkeys(name for entry in result.charging for name in entry.formulas_f_per_m))
    columns = (
        Column("Phase"),
        Column("Capacitance", "pF/m"),
        *(Column(name, "pF/m") for name in formulas),
        Column("Charging current", "mA/km"),
        Column("±", "mA/km"),
    )
    rows = []
    for entry in result.charging:
        current, error = with_error(
            entry.charging_current_a_per_m, entry.charging_current_error_a_per_m, MILLIAMPERE_PER_KM
        )
        rows.append(
            (
                f"{entry.circuit} {entry.phase}",
                significant(entry.capacitance_f_per_m, PICOFARAD_PER_METRE),
                *(significant(entry.formulas_f_per_m.get(name), PICOFARAD_PER_METRE) for name in formulas),
                current,
                error,
            )
        )
    note = (
        "Charge over phase voltage with balanced voltages; trays, metalwork and screens at earth. Insulation and "
        "jacket have the stated permittivity. Cables that touch are taken to the limit of a vanishing gap."
    )
    return Section("Capacitance and charging current", "charging", (Table("Phases", columns, tuple(rows), note),))


def fault_section(result: Result, figures: Mapping[str, bytes]) -> Section | None:
    """Forces of the faults; None where the study asks for none."""
    if not result.faults:
        return None
    columns = (
        Column("Fault"),
        Column("Cable"),
        Column("Peak force", "N/m"),
        Column("±", "N/m"),
        Column("Fx", "N/m"),
        Column("Fy", "N/m"),
        Column("Steady current, peak", "N/m"),
        Column("Line currents", "N/m"),
        Column("IEC 61914", "N/m"),
        Column("IEC 61914 case"),
    )
    cautions = dict.fromkeys(c for forces in result.decisions.fault_forces for c in forces.cautions)
    note = (
        "Peak force: the greatest with the dc offset of the worst inception, from J x B of the finite elements; the "
        "offset part is taken with a static field, which time-stepping showed to be up to 1.5 % low. IEC 61914 factors "
        "as printed."
    )
    blocks: list[Block] = [
        Table("Greatest force on each cable", columns, tuple(_force_row(entry) for entry in result.faults), note)
    ]
    blocks += _pictures(figures, names.FAULT_FORCES, "Greatest force on each cable, to scale.")
    blocks.append(Text(tuple(cautions)))
    return Section("Forces in a short circuit", "forces", tuple(blocks))


def _force_row(entry: FaultForceResult) -> tuple[str, ...]:
    force, error = with_error(entry.peak_force_n_per_m, entry.peak_force_error_n_per_m, NEWTON_PER_METRE)
    return (
        f"{entry.fault}, {plain(entry.peak_current_a / 1e3)}\u202fkA peak",
        f"{entry.cable} {entry.phase}",
        force,
        error,
        significant(entry.fx_n_per_m, NEWTON_PER_METRE),
        significant(entry.fy_n_per_m, NEWTON_PER_METRE),
        significant(entry.alternating_peak_force_n_per_m, NEWTON_PER_METRE),
        significant(entry.line_force_n_per_m, NEWTON_PER_METRE),
        significant(entry.standard_force_n_per_m, NEWTON_PER_METRE),
        entry.standard,
    )


def _pictures(figures: Mapping[str, bytes], stem: str, caption: str) -> list[Block]:
    return [Figure(caption, caption, png) for name, png in figures.items() if name.startswith(stem)]
