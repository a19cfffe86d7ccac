"""Capacitances and charging currents: the table for page and terminal, and the sentences beside it."""

from __future__ import annotations

from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.charging.rows import ChargingResult
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Caution, Section, Text
from studies.text.numbers import per_cent, value_with_error, with_unit
from studies.text.table import Column, Table
from studies.text.units import (
    CURRENT,
    LENGTH,
    METRE,
    MILLIAMPERE,
    MILLIAMPERE_PER_KM,
    PER_CENT,
    PICOFARAD_PER_METRE,
    VOLTAGE,
)

EQUAL = 1e-3
"""Deviation up to which the phases of a circuit charge alike. [-]"""
NOTE = (
    "Capacitance: charge over phase voltage with a balanced supply, of all cables of the phase; trays, metalwork and "
    "screens at earth, insulation and jacket with the stated permittivity. ±: of mesh and gap; a permittivity is "
    "seldom known as well. Deviation: the largest of a phase's charging current from the mean of its circuit."
)


def charging_section(result: Answers) -> Section | None:
    """Capacitance and charging current; None if the study states no supply or permittivity."""
    if not result.charging:
        return None
    sentences = tuple(_circuit(result, own) for own in _by_circuit(result.charging))
    blocks: list[Block] = [Text(sentences), charging_table(result)]
    cautions = _cautions(result.charging)
    if cautions:
        blocks.append(Caution("Assumptions of the capacitances", cautions))
    return Section("Capacitance and charging current", "charging", tuple(blocks))


def charging_rows(result: Answers) -> list[SheetRow]:
    """The largest charging current of each circuit on the sheet to sign."""
    rows = []
    for own in _by_circuit(result.charging):
        whole = own[0].run_charging_current_a is not None
        most = max(own, key=lambda r: (r.run_charging_current_a if whole else None) or r.charging_current_a_per_m)
        value = value_with_error(most.charging_current_a_per_m, most.charging_current_error_a_per_m, MILLIAMPERE_PER_KM)
        if whole:
            value = value_with_error(
                most.run_charging_current_a or 0.0, most.run_charging_current_error_a or 0.0, MILLIAMPERE
            )
        of = f"Charging current of {most.circuit}, largest phase" + (", whole run" if whole else "")
        rows.append(SheetRow(of, value, beyond="the permittivity is seldom known as well", section="charging"))
    return rows


def charging_table(result: Answers) -> Table[ChargingResult]:
    """Capacitance and charging current of each phase, beside the formulas."""
    formulas = dict.fromkeys(name for entry in result.charging for name in entry.formulas_f_per_m)
    columns: tuple[Column[ChargingResult], ...] = (
        Column("Phase", lambda r: f"{r.circuit} {r.phase}", brief=True),
        Column(
            *("Capacitance", lambda r: r.capacitance_f_per_m, PICOFARAD_PER_METRE),
            error=lambda r: r.capacitance_error_f_per_m,
            brief=True,
        ),
        *(_formula(name) for name in formulas),
        Column(
            *("Charging current", lambda r: r.charging_current_a_per_m, MILLIAMPERE_PER_KM),
            error=lambda r: r.charging_current_error_a_per_m,
            brief=True,
        ),
        Column("Deviation", lambda r: r.circuit_inequality, PER_CENT, brief=True),
        Column(
            *("Whole run", lambda r: r.run_charging_current_a, MILLIAMPERE, lambda r: r.run_charging_current_error_a),
            brief=True,
            optional=True,
        ),
        Column("Method", lambda r: r.method),
    )
    return Table("Capacitance and charging current of the phases", columns, result.charging, NOTE)


def _formula(name: str) -> Column[ChargingResult]:
    return Column(name, lambda r: r.formulas_f_per_m.get(name), PICOFARAD_PER_METRE)


def _by_circuit(entries: Sequence[ChargingResult]) -> list[list[ChargingResult]]:
    names = dict.fromkeys(entry.circuit for entry in entries)
    return [[entry for entry in entries if entry.circuit == name] for name in names]


def _circuit(result: Answers, own: list[ChargingResult]) -> str:
    """How unequal the phases of a circuit charge, and the charging current of the whole run."""
    first = own[0]
    supply = result.study.supply
    voltage = "" if supply is None else f" at {with_unit(supply.voltage, VOLTAGE)}"
    words = [
        f"{first.circuit}{voltage}: the phases {_alike(first.circuit_inequality, ' from their mean charging current')}."
    ]
    if result.route is not None and first.run_charging_current_a is not None:
        largest = max(entry.run_charging_current_a or 0.0 for entry in own)
        words.append(
            f"Over the run of {with_unit(result.route.length_m, (METRE,))} the largest is "
            f"{with_unit(largest, CURRENT)}; the phases, each where the sections place it, "
            f"{_alike(first.run_inequality or 0.0)}."
        )
    if first.neutral_displacement_v is not None and supply is not None:
        share = per_cent(first.neutral_displacement_v * 3**0.5 / supply.voltage, signed=False)
        words.append(
            "The neutral is insulated: no charging current returns by the earth, and the neutral stands at "
            f"{with_unit(first.neutral_displacement_v, VOLTAGE)} against it, {share} of the phase voltage."
        )
    return " ".join(words)


def _alike(deviation: float, of: str = "") -> str:
    return "charge alike" if deviation <= EQUAL else f"deviate by up to {per_cent(deviation, signed=False)}{of}"


def _cautions(entries: Sequence[ChargingResult]) -> tuple[str, ...]:
    found = []
    touching = [entry for entry in entries if entry.touching and entry.gap_capacitance_f_per_m is not None]
    if touching:
        most = min(touching, key=lambda entry: (entry.gap_capacitance_f_per_m or 0.0) / entry.capacitance_f_per_m)
        less = (most.gap_capacitance_f_per_m or 0.0) / most.capacitance_f_per_m - 1
        found.append(
            "The capacitance of cables that touch metal or each other is the limit for a vanishing gap, the largest "
            f"possible. Real cables are less straight: a gap of {with_unit(most.gap_m or 0.0, LENGTH)} about "
            f"each changes the capacitance of {most.circuit} {most.phase} by {per_cent(less)}."
        )
    if any(entry.method == "finite element" for entry in entries):
        found.append(
            "The charging current of cables without screen depends on all metal around them and partly flows through "
            "trays and earth. Along a length without metal near the cables, it is a fraction of this."
        )
    return tuple(found)
