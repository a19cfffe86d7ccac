"""Capacitances and charging currents as blocks."""

from __future__ import annotations

from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.charging.rows import ChargingResult
from studies.text.blocks import Block, Caution, Section, Text
from studies.text.grid import Grid, Head
from studies.text.numbers import percent, quantity, significant, with_error
from studies.text.units import METRE, Unit

PICOFARAD_PER_METRE = Unit("pF/m", 1e-12)
MILLIAMPERE_PER_KM = Unit("mA/km", 1e-6)
MILLIAMPERE = Unit("mA", 1e-3)
GAP = (Unit("mm", 1e-3),)
VOLTAGES = (Unit("mV", 1e-3), Unit("V", 1.0), Unit("kV", 1e3))
EQUAL = 1e-3
"""Deviation up to which the phases of a circuit charge alike. [-]"""


def charging_section(result: Answers) -> Section | None:
    """Capacitance and charging current; None where the study states no supply or permittivity."""
    if not result.charging:
        return None
    blocks: list[Block] = [Text(tuple(_circuit(result, own) for own in _by_circuit(result.charging))), _table(result)]
    cautions = _cautions(result.charging)
    if cautions:
        blocks.append(Caution("What the capacitances rest on", cautions))
    return Section("Capacitance and charging current", "charging", tuple(blocks))


def _by_circuit(entries: Sequence[ChargingResult]) -> list[list[ChargingResult]]:
    names = dict.fromkeys(entry.circuit for entry in entries)
    return [[entry for entry in entries if entry.circuit == name] for name in names]


def _circuit(result: Answers, own: list[ChargingResult]) -> str:
    """How unequal the phases of a circuit charge, and what the whole run takes."""
    first = own[0]
    supply = result.study.supply
    voltage = f" at {quantity(supply.voltage, (Unit('V', 1.0), Unit('kV', 1e3)))}" if supply is not None else ""
    unequal = percent(first.circuit_inequality, signed=False)
    alike = first.circuit_inequality <= EQUAL
    how = "charge alike" if alike else f"deviate by up to {unequal}\u202f% from their mean charging current"
    words = [f"{first.circuit}{voltage}: the phases {how}."]
    if result.route is not None and first.run_charging_current_a is not None:
        largest = max(entry.run_charging_current_a or 0.0 for entry in own)
        spread = first.run_inequality or 0.0
        how = "charge alike" if spread <= EQUAL else f"deviate by up to {percent(spread, signed=False)}\u202f%"
        words.append(
            f"Over the run of {quantity(result.route.length_m, (METRE,))} the most is "
            f"{quantity(largest, (MILLIAMPERE, Unit('A', 1.0)))}; the phases, each where the sections place it, {how}."
        )
    if first.neutral_displacement_v is not None and supply is not None:
        share = percent(first.neutral_displacement_v * 3**0.5 / supply.voltage, signed=False)
        away = quantity(first.neutral_displacement_v, VOLTAGES)
        words.append(
            f"The neutral is insulated: no charging current returns by the earth, and the neutral stands at {away} "
            f"against it, {share}\u202f% of the phase voltage."
        )
    return " ".join(words)


def _table(result: Answers) -> Grid:
    entries = result.charging
    formulas = list(dict.fromkeys(name for entry in entries for name in entry.formulas_f_per_m))
    run = any(entry.run_charging_current_a is not None for entry in entries)
    columns = (
        Head("Phase"),
        Head("Capacitance", "pF/m"),
        Head("±", "pF/m"),
        *(Head(name, "pF/m") for name in formulas),
        Head("Charging current", "mA/km"),
        Head("±", "mA/km"),
        *((Head("Whole run", "mA"), Head("±", "mA")) if run else ()),
        Head("Found by"),
    )
    rows = []
    for entry in entries:
        current, error = with_error(
            entry.charging_current_a_per_m, entry.charging_current_error_a_per_m, MILLIAMPERE_PER_KM
        )
        whole = with_error(entry.run_charging_current_a or 0.0, entry.run_charging_current_error_a or 0.0, MILLIAMPERE)
        rows.append(
            (
                f"{entry.circuit} {entry.phase}",
                *with_error(entry.capacitance_f_per_m, entry.capacitance_error_f_per_m, PICOFARAD_PER_METRE),
                *(significant(entry.formulas_f_per_m.get(name), PICOFARAD_PER_METRE) for name in formulas),
                current,
                error,
                *(whole if run else ()),
                entry.method,
            )
        )
    note = (
        "Capacitance: charge over phase voltage with a balanced supply, of all cables of the phase; trays, metalwork "
        "and screens at earth, insulation and jacket with the stated permittivity. ±: of mesh and gap; a permittivity "
        "is seldom known as well."
    )
    return Grid("Phases", columns, tuple(rows), note)


def _cautions(entries: Sequence[ChargingResult]) -> tuple[str, ...]:
    found = []
    touching = [entry for entry in entries if entry.touching and entry.gap_capacitance_f_per_m is not None]
    if touching:
        most = min(touching, key=lambda entry: (entry.gap_capacitance_f_per_m or 0.0) / entry.capacitance_f_per_m)
        less = (most.gap_capacitance_f_per_m or 0.0) / most.capacitance_f_per_m - 1
        found.append(
            "Cables that touch metal or each other are taken to the limit of a vanishing gap, the largest capacitance "
            f"that they can have. Cables never lie as straight: a gap of {quantity(most.gap_m or 0.0, GAP)} about each "
            f"changes that of {most.circuit} {most.phase} by {percent(less)}\u202f%."
        )
    if any(entry.method == "finite element" for entry in entries):
        found.append(
            "The charging current of cables without screen depends on everything about them and flows in part through "
            "trays and earth; where they run off metal it is a fraction of this."
        )
    return tuple(found)
