"""Forces of short circuits: tables for page and terminal, and the sentences beside them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.numbers import GAP, per_cent, plain, value_with_error
from studies.text.table import Column, Table
from studies.text.units import FORCE, FORCE_PER_LENGTH, KILOAMPERE, METRE, NEWTON, NEWTON_PER_METRE, PER_CENT, unit_for

ARROWS = "→↗↑↖←↙↓↘"
"""Directions in steps of 45 degrees from x."""
DESIGN_NOTE = (
    "Force: the greatest of the three-phase fault and of all two-phase faults, each with its own peak current; for "
    "straight runs, without the dynamics of cables and cleats."
)
MEANING = (
    "Peak force: the greatest with the dc offset of the worst inception, from J × B of the finite elements; the offset "
    "part is taken with a static field, which time-stepping showed to be up to 1.5 % low. Without offset: the greatest "
    "force of sinusoidal currents whose crest is the peak current in every phase at once. The factors of IEC 61914 and "
    "the line currents hold for such currents, so both are compared with this force; in a real three-phase fault only "
    "one phase reaches the peak. Difference: IEC 61914, with its factors as printed, / force without offset − 1."
)
TWO_PHASES = (
    "The stated current is that of the three-phase fault. A two-phase fault has √3/2 of it, with the same factor κ "
    "(IEC 60909-0 with equal positive- and negative-sequence impedances, far from generators [D]). A circuit of two "
    "phases has the stated current itself."
)
STEEL = (
    "Without steel: the peak force as if no metal were magnetic. Steel with a magnetisation curve is taken as it is at "
    "the crest of the force. If steel of constant permeability would carry more than steel can, the force lies between "
    "the two values, and cleats are designed for the larger."
)


def fault_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Forces of the faults; None if the study states none."""
    if not result.faults:
        return None
    blocks: list[Block] = [design_table(result)]
    pictures = [png for name, png in figures.items() if name.startswith(names.FAULT_FORCES)]
    for number, rows in enumerate(_groups(result.faults)):
        blocks.append(_forces(rows))
        blocks += _reasons(rows)
        if number < len(pictures):
            caption = f"{_title(rows[0])}: greatest force on each cable, to scale."
            blocks.append(Figure(caption, caption, pictures[number]))
    blocks.append(Table("Two-phase faults, greatest force of all cables", PAIRS, result.fault_pairs))
    steel = (STEEL,) if any(entry.force_without_steel_n_per_m is not None for entry in result.faults) else ()
    blocks.append(Text((MEANING, TWO_PHASES, *steel)))
    cautions = dict.fromkeys(c for fault in result.fault_forces for forces in fault.reported() for c in forces.cautions)
    blocks.append(Text(tuple(cautions)))
    return Section("Forces in a short circuit", "forces", tuple(blocks))


def _fault(entry: FaultForceResult | FaultDesignResult) -> str:
    return entry.fault if _is_three_phase(entry) else f"{entry.fault}, {_phases(entry)}"


def _is_three_phase(entry: FaultForceResult | FaultDesignResult) -> bool:
    return entry.faulted_phases.count("-") == 2


def _phases(entry: FaultForceResult | FaultDesignResult | FaultPairResult) -> str:
    return entry.faulted_phases.replace("-", "–")


def _cable(entry: FaultForceResult | FaultDesignResult) -> str:
    return f"{entry.cable}\u00a0{entry.phase}"


DESIGN: tuple[Column[FaultDesignResult], ...] = (
    Column("Fault", _fault, brief=True),
    Column("Peak", lambda r: r.peak_current_a, KILOAMPERE, brief=True),
    Column("On", _cable, brief=True),
    Column("Force", lambda r: r.force_n_per_m, NEWTON_PER_METRE, lambda r: r.force_error_n_per_m, brief=True),
    Column("IEC 61914", lambda r: r.standard_force_n_per_m, NEWTON_PER_METRE),
    Column("Cleats every", lambda r: r.cleat_spacing_m, METRE, stated=True, optional=True),
    Column(
        *("Per cleat", lambda r: r.force_per_cleat_n, NEWTON, lambda r: r.force_per_cleat_error_n),
        brief=True,
        optional=True,
    ),
    Column("Reason", lambda r: r.why, brief=True),
)
PAIRS: tuple[Column[FaultPairResult], ...] = (
    Column("Fault", lambda r: f"{r.circuit} {_phases(r)}"),
    Column("Peak", lambda r: r.peak_current_a, KILOAMPERE),
    Column(
        *("Greatest force", lambda r: r.greatest_force_n_per_m, NEWTON_PER_METRE),
        error=lambda r: r.greatest_force_error_n_per_m,
    ),
    Column("On", lambda r: r.cable),
    Column("", lambda r: "worst" if r.worst else ""),
)
FORCES: tuple[Column[FaultForceResult], ...] = (
    Column("Cable", _cable, brief=True),
    Column("Current, peak", lambda r: r.cable_peak_current_a, KILOAMPERE),
    Column(
        *("Peak force", lambda r: r.peak_force_n_per_m, NEWTON_PER_METRE, lambda r: r.peak_force_error_n_per_m),
        brief=True,
    ),
    Column("Direction", lambda r: direction(r.direction_deg)),
    Column("Fx", lambda r: r.fx_n_per_m, NEWTON_PER_METRE),
    Column("Fy", lambda r: r.fy_n_per_m, NEWTON_PER_METRE),
    Column("Per cleat", lambda r: r.force_per_cleat_n, NEWTON, brief=True, optional=True),
    Column(
        *("Without steel", lambda r: r.force_without_steel_n_per_m, NEWTON_PER_METRE),
        error=lambda r: r.force_without_steel_error_n_per_m,
        brief=True,
        optional=True,
    ),
    Column("Steel", lambda r: "force between the two" if r.steel_exceeded else None, brief=True, optional=True),
    Column("Without offset", lambda r: r.alternating_peak_force_n_per_m, NEWTON_PER_METRE, brief=True),
    Column("Line currents", lambda r: r.line_force_n_per_m, NEWTON_PER_METRE),
    Column("IEC 61914", lambda r: r.standard_force_n_per_m, NEWTON_PER_METRE, brief=True),
    Column("Difference", lambda r: r.standard_difference, PER_CENT, signed=True, brief=True),
    Column("IEC 61914 case", lambda r: r.standard),
)
OF_FAULT: tuple[Column[FaultForceResult], ...] = (
    Column("Fault", _fault, brief=True),
    Column("Peak", lambda r: r.peak_current_a, KILOAMPERE, brief=True),
)
"""Before the columns of `FORCES` in a table of several faults."""


def design_table(result: Answers) -> Table[FaultDesignResult]:
    """The force that the cleats of each faulted circuit must hold."""
    return Table("Force to design cleats for", DESIGN, result.fault_design, DESIGN_NOTE)


def force_rows_of_sheet(result: Answers) -> list[SheetRow]:
    """The force that the cleats of each circuit must hold, on the sheet to sign."""
    rows = []
    for row in result.fault_design:
        value = value_with_error(
            row.force_n_per_m, row.force_error_n_per_m, unit_for(row.force_n_per_m, FORCE_PER_LENGTH)
        )
        if row.force_per_cleat_n is not None:
            unit = unit_for(row.force_per_cleat_n, FORCE)
            value += f"; {value_with_error(row.force_per_cleat_n, row.force_per_cleat_error_n or 0.0, unit)} per cleat"
        of = f"Force to design cleats for: {_fault(row)}, {plain(row.peak_current_a / 1e3)}{GAP}kA peak"
        beyond = "straight runs, without the dynamics of cables and cleats"
        rows.append(SheetRow(of, value, beyond=beyond, section="forces"))
    return rows


def greatest_forces(result: Answers) -> Table[FaultForceResult]:
    """The cable with the greatest force of each fault, for a terminal."""
    worst = [max(rows, key=lambda entry: entry.peak_force_n_per_m) for rows in _groups(result.faults)]
    return Table("Greatest force of each fault", (*OF_FAULT, *FORCES), worst)


def _forces(rows: Sequence[FaultForceResult]) -> Table[FaultForceResult]:
    cleats = rows[0].cleat_spacing_m
    note = (
        ""
        if cleats is None
        else f"Per cleat: peak force times the spacing of the cleats, {plain(cleats)}\u202fm (common practice, no "
        "source); straight runs, without the dynamics of cables and cleats."
    )
    return Table(_title(rows[0]), FORCES, rows, note)


def _groups(entries: Sequence[FaultForceResult]) -> list[list[FaultForceResult]]:
    """The rows of each fault, in their order; a circuit that is faulted twice has them twice."""
    groups: list[list[FaultForceResult]] = []
    for entry in entries:
        if groups and groups[-1][0].fault == entry.fault and all(e.cable != entry.cable for e in groups[-1]):
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups


def _title(entry: FaultForceResult) -> str:
    what = "Three-phase fault" if _is_three_phase(entry) else f"Worst two-phase fault, {_phases(entry)},"
    return f"{what} of {entry.circuit}, {plain(entry.peak_current_a / 1e3)}\u202fkA peak"


def direction(degrees: float) -> str:
    """An arrow in the direction of a force, and its angle."""
    return f"{ARROWS[round(degrees / 45) % 8]} {degrees:.0f}°".replace("-", "\u2212")


def _reasons(rows: Sequence[FaultForceResult]) -> list[Block]:
    """Reasons for a large difference from the standard, the cables with the same reasons together."""
    cables: dict[str, list[str]] = {}
    for entry in rows:
        if entry.standard_difference_reason:
            cables.setdefault(entry.standard_difference_reason, []).append(
                f"{entry.cable} ({per_cent(entry.standard_difference)})"
            )
    if not cables:
        return []
    return [Text(tuple(f"IEC 61914 differs for {', '.join(own)}: {reason}." for reason, own in cables.items()))]
