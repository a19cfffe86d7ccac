"""Forces of short circuits as blocks."""

from __future__ import annotations

from collections.abc import Mapping

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Grid, Head
from studies.text.numbers import NONE, percent, plain, significant, with_error
from studies.text.units import METRE, Unit

NEWTON_PER_METRE = Unit("N/m", 1.0)
NEWTON = Unit("N", 1.0)
KILOAMPERE = Unit("kA", 1e3)
ARROWS = "→↗↑↖←↙↓↘"
"""Directions in steps of 45 degrees from x."""


def fault_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Forces of the faults; None where the study asks for none."""
    if not result.faults:
        return None
    blocks: list[Block] = [_design(result)]
    groups = _groups(result.faults)
    pictures = [png for name, png in figures.items() if name.startswith(names.FAULT_FORCES)]
    for number, rows in enumerate(groups):
        blocks.append(_table(rows))
        blocks += _reasons(rows)
        if number < len(pictures):
            caption = f"{_name(rows[0])}: greatest force on each cable, to scale."
            blocks.append(Figure(caption, caption, pictures[number]))
    blocks.append(_pairs(result))
    steel = (_STEEL,) if any(entry.force_without_steel_n_per_m is not None for entry in result.faults) else ()
    blocks.append(Text((_MEANING, _TWO_PHASES, *steel)))
    cautions = dict.fromkeys(c for fault in result.fault_forces for forces in fault.reported() for c in forces.cautions)
    blocks.append(Text(tuple(cautions)))
    return Section("Forces in a short circuit", "forces", tuple(blocks))


_MEANING = (
    "Peak force: the greatest with the dc offset of the worst inception, from J × B of the finite elements; the offset "
    "part is taken with a static field, which time-stepping showed to be up to 1.5 % low. Without offset: the greatest "
    "force of sinusoidal currents whose crest is the peak current in every phase at once. That is what the factors of "
    "IEC 61914 and the line currents are for, and what they are compared with; in a real three-phase fault only one "
    "phase reaches the peak. Differs: IEC 61914, with its factors as printed, over the force without offset, less one."
)
_TWO_PHASES = (
    "The stated current is that of the three-phase fault. A two-phase fault has √3/2 of it, with the same factor κ "
    "(IEC 60909-0 with equal positive- and negative-sequence impedances, far from generators [D]). A circuit of two "
    "phases has the stated current itself."
)
_STEEL = (
    "Without steel: the peak force as if no metal were magnetic. Steel with a magnetisation curve is taken as it is at "
    "the crest of the force. Where steel of constant permeability would carry more than steel can, the force lies "
    "between the two values, and cleats are designed for the larger."
)


def _groups(entries: tuple[FaultForceResult, ...]) -> list[list[FaultForceResult]]:
    """The rows of each fault, in their order; a circuit that is faulted twice has them twice."""
    groups: list[list[FaultForceResult]] = []
    for entry in entries:
        known = groups and groups[-1][0].fault == entry.fault and all(e.cable != entry.cable for e in groups[-1])
        if known:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups


def _name(entry: FaultForceResult) -> str:
    phases = entry.faulted_phases.replace("-", "–")
    what = "Three-phase fault" if entry.faulted_phases.count("-") == 2 else f"Worst two-phase fault, {phases},"
    return f"{what} of {entry.circuit}, {plain(entry.peak_current_a / 1e3)}\u202fkA peak"


def _table(rows: list[FaultForceResult]) -> Grid:
    cleats = rows[0].cleat_spacing_m
    columns = (
        Head("Cable"),
        Head("Current, peak", "kA"),
        Head("Peak force", "N/m"),
        Head("±", "N/m"),
        Head("Direction"),
        Head("Fx", "N/m"),
        Head("Fy", "N/m"),
        *((Head("Per cleat", "N"),) if cleats is not None else ()),
        *((Head("Without steel", "N/m"), Head("±", "N/m")) if rows[0].steel_mean_b_t is not None else ()),
        Head("Without offset", "N/m"),
        Head("Line currents", "N/m"),
        Head("IEC 61914", "N/m"),
        Head("Differs", "%"),
        Head("IEC 61914 case"),
    )
    note = (
        ""
        if cleats is None
        else f"Per cleat: peak force times the spacing of the cleats, {plain(cleats)}\u202fm (common practice, no "
        "source); straight runs, nothing of the dynamics of cables and cleats."
    )
    return Grid(_name(rows[0]), columns, tuple(_row(entry) for entry in rows), note)


def _row(entry: FaultForceResult) -> tuple[str, ...]:
    force, error = with_error(entry.peak_force_n_per_m, entry.peak_force_error_n_per_m, NEWTON_PER_METRE)
    return (
        f"{entry.cable}\u00a0{entry.phase}",
        significant(entry.cable_peak_current_a, KILOAMPERE),
        force,
        error,
        direction(entry.direction_deg),
        significant(entry.fx_n_per_m, NEWTON_PER_METRE),
        significant(entry.fy_n_per_m, NEWTON_PER_METRE),
        *((significant(entry.force_per_cleat_n, NEWTON),) if entry.force_per_cleat_n is not None else ()),
        *_without_steel(entry),
        significant(entry.alternating_peak_force_n_per_m, NEWTON_PER_METRE),
        significant(entry.line_force_n_per_m, NEWTON_PER_METRE),
        significant(entry.standard_force_n_per_m, NEWTON_PER_METRE),
        percent(entry.standard_difference) if entry.standard_difference is not None else NONE,
        entry.standard,
    )


def _without_steel(entry: FaultForceResult) -> tuple[str, ...]:
    if entry.force_without_steel_n_per_m is None or entry.force_without_steel_error_n_per_m is None:
        return ()
    return with_error(entry.force_without_steel_n_per_m, entry.force_without_steel_error_n_per_m, NEWTON_PER_METRE)


def _design(result: Answers) -> Grid:
    """One row for each stated fault: what its cleats must hold."""
    cleats = any(entry.force_per_cleat_n is not None for entry in result.fault_design)
    columns = (
        Head("Fault"),
        Head("Peak", "kA"),
        Head("On"),
        Head("Force", "N/m"),
        Head("±", "N/m"),
        Head("IEC 61914", "N/m"),
        *((Head("Cleats every", "m"), Head("Per cleat", "N"), Head("±", "N")) if cleats else ()),
        Head("Because"),
    )
    rows = tuple(
        (
            f"{entry.fault}, {entry.faulted_phases.replace('-', '–')}",
            significant(entry.peak_current_a, KILOAMPERE),
            f"{entry.cable}\u00a0{entry.phase}",
            *with_error(entry.force_n_per_m, entry.force_error_n_per_m, NEWTON_PER_METRE),
            significant(entry.standard_force_n_per_m, NEWTON_PER_METRE),
            *(_per_cleat(entry) if cleats else ()),
            entry.why,
        )
        for entry in result.fault_design
    )
    note = (
        "The greatest force of the three-phase fault and of all two-phase ones, each with its own peak current; for "
        "straight runs, without the dynamics of cables and cleats."
    )
    return Grid("Force to design cleats for", columns, rows, note)


def _per_cleat(entry: FaultDesignResult) -> tuple[str, ...]:
    if entry.force_per_cleat_n is None or entry.force_per_cleat_error_n is None:
        return NONE, NONE, NONE
    force = with_error(entry.force_per_cleat_n, entry.force_per_cleat_error_n, NEWTON)
    return (significant(entry.cleat_spacing_m, METRE), *force)


def direction(degrees: float) -> str:
    """An arrow that points to where a force does, and its angle."""
    return f"{ARROWS[round(degrees / 45) % 8]} {degrees:.0f}°".replace("-", "\u2212")


def _reasons(rows: list[FaultForceResult]) -> list[Block]:
    """What accounts for a large difference to the standard, the cables with the same reasons together."""
    cables: dict[str, list[str]] = {}
    for entry in rows:
        if entry.standard_difference_reason:
            cables.setdefault(entry.standard_difference_reason, []).append(
                f"{entry.cable} ({percent(entry.standard_difference)}\u202f%)"
            )
    if not cables:
        return []
    return [Text(tuple(f"IEC 61914 differs for {', '.join(own)}: {reason}." for reason, own in cables.items()))]


def _pairs(result: Answers) -> Grid:
    columns = (
        Head("Fault"),
        Head("Peak", "kA"),
        Head("Greatest force", "N/m"),
        Head("±", "N/m"),
        Head("On"),
        Head(""),
    )
    rows = []
    for pair in result.fault_pairs:
        force, error = with_error(pair.greatest_force_n_per_m, pair.greatest_force_error_n_per_m, NEWTON_PER_METRE)
        rows.append(
            (
                f"{pair.circuit} {pair.faulted_phases.replace('-', '–')}",
                significant(pair.peak_current_a, KILOAMPERE),
                force,
                error,
                pair.cable,
                "worst" if pair.worst else "",
            )
        )
    return Grid("Two-phase faults, greatest force of all cables", columns, tuple(rows))
