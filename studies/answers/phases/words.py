"""Impedances of the phases and sequence impedances as blocks."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.phases.rows import PhaseResult, SequenceResult
from studies.text.blocks import Block, Section, Text
from studies.text.grid import Cell, Grid, Head, error_cell
from studies.text.numbers import NONE, difference, pair_with_error, percent, significant, with_error
from studies.text.units import MILLIHENRY_PER_KM, OHM_PER_KM, PER_CENT

Row = tuple[str | Cell, ...]

JUDGES_BALANCE = (
    "|Z21/Z11|, negative over positive sequence, judges how equal the phases are: it is the unbalance V2/V1 of their "
    "drops, and vanishes in a symmetrical or fully transposed run."
)
COMMON = (
    "|Z01/Z11|, V0/V1 of the drops, is a voltage common to the three phases and in none from line to line: it matters "
    "only where a neutral or the earth joins both ends of the run."
)


def impedance_section(result: Answers) -> Section:
    """Impedance of each phase, and the sequence impedances of three-phase circuits."""
    blocks: list[Block] = [
        Grid(
            "Impedance of the phases with the study's currents",
            (
                Head("Phase"),
                Head("R", "Ω/km"),
                Head("X", "Ω/km"),
                Head("±", "Ω/km"),
                Head("R, line formula", "Ω/km"),
                Head("X, line formula", "Ω/km"),
                Head("L", "mH/km"),
                Head("L, line formula", "mH/km"),
                Head("Difference, line", "%"),
                Head("L, mean by GMD", "mH/km"),
                Head("Difference, GMD", "%"),
            ),
            tuple(_phase_row(phase) for phase in result.phases),
            "R + jX: voltage along the phase over its current. With unequal distances the phases exchange power, so "
            "that R of one lies above and of another below its ac resistance. X and L hold the voltage that is common "
            "to the phases too: V2/V1 below judges how unequal they are. Line formula: each phase with its own "
            "distances. Mean by GMD: (µ₀/2π) ln(GMD/GMR), one value for all phases. Difference: formula over finite "
            "element less one." + (" * The error estimate is above what was asked." if _any_marked(result) else ""),
        )
    ]
    if result.sequence_impedance:
        blocks.append(_sequence_table(result.sequence_impedance, result.accuracy.tolerance))
        blocks.append(_balance_table(result.sequence_impedance))
    else:
        blocks.append(Text(("No circuit has the three phases L1, L2 and L3: there are no sequence impedances.",)))
    return Section("Impedances", "impedances", tuple(blocks))


def _phase_row(phase: PhaseResult) -> Row:
    name = f"{phase.circuit} {phase.phase}"
    if phase.z_ohm_per_m is None:
        return (name, *([NONE] * 10))
    error = phase.z_error_ohm_per_m or 0.0
    resistance, reactance, spread = pair_with_error(phase.z_ohm_per_m.real, phase.z_ohm_per_m.imag, error, OHM_PER_KM)
    formula = phase.formula_z_ohm_per_m
    return (
        name,
        resistance,
        reactance,
        error_cell(spread, phase.within_tolerance),
        significant(formula.real if formula is not None else None, OHM_PER_KM),
        significant(formula.imag if formula is not None else None, OHM_PER_KM),
        significant(phase.inductance_h_per_m, MILLIHENRY_PER_KM),
        significant(phase.formula_inductance_h_per_m, MILLIHENRY_PER_KM),
        percent(difference(phase.formula_inductance_h_per_m, phase.inductance_h_per_m)),
        significant(phase.gmd_inductance_h_per_m, MILLIHENRY_PER_KM),
        percent(difference(phase.gmd_inductance_h_per_m, phase.inductance_h_per_m)),
    )


def _sequence_table(sequences: tuple[SequenceResult, ...], tolerance: float) -> Grid:
    return Grid(
        "Sequence impedances",
        (
            Head("Circuit"),
            Head("R1", "Ω/km"),
            Head("X1", "Ω/km"),
            Head("±", "Ω/km"),
            Head("R1, formula", "Ω/km"),
            Head("X1, formula", "Ω/km"),
            Head("X1 difference", "%"),
        ),
        tuple(_sequence_row(sequence, tolerance) for sequence in sequences),
        "Each circuit alone, the others without current. Z1 by formula: ac resistance by IEC 60287-1-1 and the GMD/GMR "
        "reactance.",
    )


def _balance_table(sequences: tuple[SequenceResult, ...]) -> Grid:
    return Grid(
        "Unbalance of the phases",
        (
            Head("Circuit"),
            Head("|Z21|", "Ω/km"),
            Head("|Z21/Z11|", "%"),
            Head("±", "%"),
            Head("|Z21/Z11|, line formula", "%"),
            Head("|Z01|", "Ω/km"),
            Head("|Z01/Z11|", "%"),
            Head("±", "%"),
            Head("|Z01/Z11|, line formula", "%"),
        ),
        tuple(_balance_row(sequence) for sequence in sequences),
        f"Voltages of a positive-sequence current, each circuit alone; Z11 is Z1. {JUDGES_BALANCE} {COMMON} Line "
        "formula: line currents at the axes, each phase with its own distances.",
    )


def _balance_row(sequence: SequenceResult) -> Row:
    return (
        sequence.circuit,
        significant(abs(sequence.z21_ohm_per_m), OHM_PER_KM, 3),
        *with_error(sequence.z21_over_z11, sequence.z21_over_z11_error, PER_CENT),
        percent(sequence.formula_z21_over_z11, signed=False),
        significant(abs(sequence.z01_ohm_per_m), OHM_PER_KM, 3),
        *with_error(sequence.z01_over_z11, sequence.z01_over_z11_error, PER_CENT),
        percent(sequence.formula_z01_over_z11, signed=False),
    )


def _sequence_row(sequence: SequenceResult, tolerance: float) -> Row:
    z1 = sequence.z1_ohm_per_m
    resistance, reactance, spread = pair_with_error(z1.real, z1.imag, sequence.z1_error_ohm_per_m, OHM_PER_KM)
    return (
        sequence.circuit,
        resistance,
        reactance,
        error_cell(spread, sequence.z1_error_ohm_per_m <= tolerance * abs(z1)),
        significant(sequence.formula_z1_ohm_per_m.real, OHM_PER_KM),
        significant(sequence.formula_z1_ohm_per_m.imag, OHM_PER_KM),
        percent(difference(sequence.formula_z1_ohm_per_m.imag, z1.imag)),
    )


def _any_marked(result: Answers) -> bool:
    return any(not phase.within_tolerance for phase in result.phases)
