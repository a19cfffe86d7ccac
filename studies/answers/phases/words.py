"""Tables of the impedances of phases and sequences."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.phases.rows import PhaseResult, SequenceResult, compared_inductances
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Section, Text
from studies.text.numbers import DIFFERENCE, GAP, brief, value_with_error
from studies.text.table import Column, Table, difference_column
from studies.text.units import MILLIHENRY_PER_KM, OHM_PER_KM, PER_CENT

ANCHOR = "impedances"
"""Of the section."""
NOT_COMPARED = (
    " No difference for a circuit with less than a fifth of the current of another: most of its voltage may be induced "
    "by that one, and L then says little of its own inductance; the sequence impedances do."
)
NO_SEQUENCES = "No circuit has the three phases L1, L2 and L3: there are no sequence impedances."
PHASE_NOTE = (
    "R + jX: voltage along the phase over its current. If the distances are unequal, mutual coupling carries active "
    "power from phase to phase: R of one phase is above its ac resistance, R of another below. X and L contain the "
    "voltage common to all phases; the unbalance V2/V1 in the table below does not. Line formula: line currents at the "
    "axes, each phase with its own distances. Mean by GMD: (µ₀/2π) ln(GMD/GMR), one value for all phases. Difference: "
    f"{DIFFERENCE}."
)
SEQUENCE_NOTE = (
    "Each circuit alone, the others without current. Formula: ac resistance by IEC 60287-1-1 and the GMD/GMR "
    f"reactance. Difference: {DIFFERENCE}."
)
RATIOS = (
    "|Z21/Z11|, negative over positive sequence: unbalance V2/V1 of the voltage drops; 0 in a symmetrical or fully "
    "transposed run. |Z01/Z11|, zero over positive sequence: V0/V1 of the drops. The zero-sequence voltage is common "
    "to the three phases and cancels from line to line. It matters only if a neutral or the earth joins both ends of "
    "the run."
)
BALANCE_NOTE = (
    f"Voltages of a positive-sequence current, each circuit alone. Z11: the same as Z1. {RATIOS} Line formula: line "
    "currents at the axes, each phase with its own distances."
)


def impedance_section(result: Answers) -> Section:
    """Impedance of each phase, and the sequence impedances of three-phase circuits."""
    blocks: list[Block] = [phase_table(result)]
    if result.sequence_impedance:
        blocks += [_sequence_table(result), balance_table(result)]
    else:
        blocks.append(Text((NO_SEQUENCES,)))
    return Section("Impedances", ANCHOR, tuple(blocks))


def phase_rows(result: Answers) -> list[SheetRow]:
    """The reactances of each circuit's phases on the sheet to sign."""
    rows = []
    for circuit in dict.fromkeys(phase.circuit for phase in result.phases):
        own = [phase for phase in result.phases if phase.circuit == circuit and phase.z_ohm_per_m is not None]
        if own:
            values = ", ".join(
                f"{phase.phase} {brief((phase.z_ohm_per_m or 0j).imag, OHM_PER_KM, phase.z_error_ohm_per_m)}"
                for phase in own
            )
            rows.append(
                SheetRow(f"Reactance of the phases of {circuit}", f"{values}{GAP}{OHM_PER_KM.symbol}", section=ANCHOR)
            )
    return rows


def unbalance_rows(result: Answers) -> list[SheetRow]:
    """The unbalance that each circuit causes, on the sheet to sign."""
    return [
        SheetRow(
            f"Unbalance |Z21/Z11| of {row.circuit}",
            value_with_error(row.z21_over_z11, row.z21_over_z11_error, PER_CENT),
            section=ANCHOR,
        )
        for row in result.sequence_impedance
    ]


def phase_table(result: Answers) -> Table[PhaseResult]:
    """Impedance and inductance of each phase beside its formulas."""
    own = compared_inductances(result.phases)
    columns: tuple[Column[PhaseResult], ...] = (
        Column("Phase", lambda p: f"{p.circuit} {p.phase}", brief=True),
        Column(
            *(("R", "X"), lambda p: p.z_ohm_per_m, OHM_PER_KM, lambda p: p.z_error_ohm_per_m),
            missed=lambda p: not p.within_tolerance,
            key="z",
            brief=True,
        ),
        Column(("R, line formula", "X, line formula"), lambda p: p.formula_z_ohm_per_m, OHM_PER_KM, key="formula_z"),
        Column("L", lambda p: p.inductance_h_per_m, MILLIHENRY_PER_KM, brief=True),
        Column("L, line formula", lambda p: p.formula_inductance_h_per_m, MILLIHENRY_PER_KM, brief=True),
        difference_column(
            lambda p: p.formula_inductance_h_per_m, lambda p: own.get(id(p)), True, heading="Difference, line"
        ),
        Column("L, mean by GMD", lambda p: p.gmd_inductance_h_per_m, MILLIHENRY_PER_KM, brief=True),
        difference_column(lambda p: p.gmd_inductance_h_per_m, lambda p: own.get(id(p)), heading="Difference, GMD"),
    )
    note = PHASE_NOTE + NOT_COMPARED * (len(own) < len(result.phases))
    return Table("Impedance of the phases with the study's currents", columns, result.phases, note)


def _sequence_table(result: Answers) -> Table[SequenceResult]:
    tolerance = result.accuracy.tolerance
    columns: tuple[Column[SequenceResult], ...] = (
        Column("Circuit", lambda s: s.circuit),
        Column(
            *(("R1", "X1"), lambda s: s.z1_ohm_per_m, OHM_PER_KM, lambda s: s.z1_error_ohm_per_m),
            missed=lambda s: s.z1_error_ohm_per_m > tolerance * abs(s.z1_ohm_per_m),
            key="z1",
        ),
        Column(("R1, formula", "X1, formula"), lambda s: s.formula_z1_ohm_per_m, OHM_PER_KM, key="formula_z1"),
        difference_column(
            lambda s: s.formula_z1_ohm_per_m.imag, lambda s: s.z1_ohm_per_m.imag, heading="X1 difference"
        ),
    )
    return Table("Sequence impedances", columns, result.sequence_impedance, SEQUENCE_NOTE)


def balance_table(result: Answers) -> Table[SequenceResult]:
    """Negative- and zero-sequence voltage of each circuit's positive-sequence current."""
    columns: tuple[Column[SequenceResult], ...] = (
        Column("Circuit", lambda s: s.circuit, brief=True),
        Column("|Z21|", lambda s: abs(s.z21_ohm_per_m), OHM_PER_KM, digits=3),
        Column("|Z21/Z11|", lambda s: s.z21_over_z11, PER_CENT, lambda s: s.z21_over_z11_error, brief=True),
        Column("|Z21/Z11|, line formula", lambda s: s.formula_z21_over_z11, PER_CENT, brief=True),
        Column("|Z01|", lambda s: abs(s.z01_ohm_per_m), OHM_PER_KM, digits=3),
        Column("|Z01/Z11|", lambda s: s.z01_over_z11, PER_CENT, lambda s: s.z01_over_z11_error, brief=True),
        Column("|Z01/Z11|, line formula", lambda s: s.formula_z01_over_z11, PER_CENT, brief=True),
    )
    return Table("Unbalance of the phases", columns, result.sequence_impedance, BALANCE_NOTE, brief_note=RATIOS)
