"""What cases are compared by: one table of the quantities, each with its unit, its meaning and which way is better."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from studies.figures.engineering import FLUX_DENSITY, LOSS_PER_LENGTH, Unit
from studies.parts import CONDUCTOR, METAL_LAYERS
from studies.results import PartResult, Result
from studies.sweep.phase_state import PhaseState, by_circuit, inequality, sequence_drops
from studies.sweep.spacing import spacing_rules_met, width_used

Value = float | int | bool | None
Named = Mapping[str, Value]
Better = Literal["lower", "higher", ""]
Along = Literal["worst", "mean", "phases"]

RATIO = (Unit("–", 1.0),)
PER_CENT = (Unit("%", 0.01),)
OHM_PER_KM = (Unit("Ω/km", 1e-3),)
VOLT_PER_KM = (Unit("V/km", 1e-3),)
MILLIMETRE = (Unit("mm", 1e-3),)


@dataclass(frozen=True)
class Quantity:
    """One quantity by which cases are compared."""

    key: str
    """Its column, with the SI unit in it; of one that each receptor or circuit has, the column is `key.name`."""
    heading: str
    units: tuple[Unit, ...]
    """Units that it is shown in, smallest first; empty for yes and no."""
    better: Better
    """Which way is better; empty where neither is."""
    meaning: str
    of: Callable[[Result], Value | Named]
    each: Literal["", "receptor", "circuit"] = ""
    along: Along = "worst"
    """What stands for a route of equal sections: the worst of them, their mean, or what their phase voltages give."""


def phase_states(result: Result) -> tuple[PhaseState, ...]:
    """The phases of a result."""
    return tuple(
        PhaseState(phase.circuit, phase.phase, phase.current_a, phase.voltage_v_per_m) for phase in result.phases
    )


def circuit_inequality(phases: tuple[PhaseState, ...]) -> Named:
    """Inequality of the phases of each circuit. [-]"""
    return {circuit: inequality(lines) for circuit, lines in by_circuit(phases).items()}


def negative_drop(phases: tuple[PhaseState, ...]) -> Named:
    """Negative-sequence voltage drop of each circuit. [V/m]"""
    return {circuit: abs(sequence_drops(lines)[1]) for circuit, lines in by_circuit(phases).items()}


def drop_unbalance(phases: tuple[PhaseState, ...]) -> Named:
    """Negative- over positive-sequence voltage drop of each circuit. [-]"""
    found: dict[str, Value] = {}
    for circuit, lines in by_circuit(phases).items():
        positive, negative = sequence_drops(lines)
        found[circuit] = abs(negative) / abs(positive) if positive != 0 else None
    return found


FROM_PHASES: Mapping[str, Callable[[tuple[PhaseState, ...]], Named]] = {
    "phase_inequality": circuit_inequality,
    "u2_v_per_m": negative_drop,
    "u2_over_u1": drop_unbalance,
}
"""Quantities that follow from the voltages and currents of the phases alone."""


def _worst_over_limit(result: Result) -> Value:
    ratios = [receptor.b_rms_t / receptor.limit_t for receptor in result.receptors if receptor.limit_t is not None]
    return max(ratios, default=None)


def _loss(result: Result, kinds: tuple[str, ...]) -> float:
    return sum((loss.loss_w_per_m for loss in result.losses if loss.kind in kinds), 0.0)


def _other_loss(result: Result) -> float:
    """Loss of all that is no part of a cable. [W/m]"""
    return sum((loss.loss_w_per_m for loss in result.losses if loss.kind not in (CONDUCTOR, *METAL_LAYERS)), 0.0)


def _circulating_loss(result: Result) -> float:
    """Loss that the net currents of the cables' metal layers would have alone, spread evenly over them. [W/m]"""
    return sum((part.current_rms_a**2 * part.r_dc_ohm_per_m for part in result.parts if part.kind in METAL_LAYERS), 0.0)


def _largest_share(result: Result) -> Value:
    shares = [part.share_of_phase for part in _parallel_conductors(result) if part.share_of_phase is not None]
    return max(shares, default=None)


def _parallel_conductors(result: Result) -> list[PartResult]:
    cables = {cable.label: cable for cable in result.cross_section.cables}
    counts: dict[tuple[str, str], int] = {}
    for cable in cables.values():
        counts[cable.circuit, cable.phase] = counts.get((cable.circuit, cable.phase), 0) + 1
    parallel = {label for label, cable in cables.items() if counts[cable.circuit, cable.phase] > 1}
    return [part for part in result.parts if part.kind == CONDUCTOR and part.part.rpartition(".")[0] in parallel]


QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        "worst_field_over_limit",
        "Worst field over limit",
        RATIO,
        "lower",
        "Largest resultant rms flux density over its limit, of all receptors with a limit; 1 is at the limit.",
        _worst_over_limit,
    ),
    Quantity(
        "highest_b_rms_t",
        "Highest field",
        FLUX_DENSITY,
        "lower",
        "Largest resultant rms flux density of all receptors.",
        lambda result: max((receptor.b_rms_t for receptor in result.receptors), default=None),
    ),
    Quantity(
        "b_rms_t",
        "Field at",
        FLUX_DENSITY,
        "lower",
        "Resultant rms flux density at the receptor.",
        lambda result: {receptor.name: receptor.b_rms_t for receptor in result.receptors},
        each="receptor",
    ),
    Quantity(
        "total_loss_w_per_m",
        "Total loss",
        LOSS_PER_LENGTH,
        "lower",
        "Loss of all parts, per metre of run.",
        lambda result: sum(loss.loss_w_per_m for loss in result.losses),
        along="mean",
    ),
    Quantity(
        "tray_loss_w_per_m",
        "Tray loss",
        LOSS_PER_LENGTH,
        "lower",
        "Loss of trays, covers and metal nearby.",
        _other_loss,
        along="mean",
    ),
    Quantity(
        "conductor_loss_w_per_m",
        "Conductor loss",
        LOSS_PER_LENGTH,
        "lower",
        "Loss of the cables' conductors, skin and proximity effect included.",
        lambda result: _loss(result, (CONDUCTOR,)),
        along="mean",
    ),
    Quantity(
        "screen_loss_w_per_m",
        "Screen loss",
        LOSS_PER_LENGTH,
        "lower",
        "Loss of screens, sheaths and armours, by circulating and by eddy currents.",
        lambda result: _loss(result, METAL_LAYERS),
        along="mean",
    ),
    Quantity(
        "circulating_loss_w_per_m",
        "of it circulating",
        LOSS_PER_LENGTH,
        "lower",
        "Square of the net current of each screen, sheath and armour times its dc resistance.",
        _circulating_loss,
        along="mean",
    ),
    Quantity(
        "x1_ohm_per_m",
        "Reactance X1 of",
        OHM_PER_KM,
        "lower",
        "Imaginary part of the circuit's positive-sequence impedance, the other circuits without current.",
        lambda result: {entry.circuit: entry.z1_ohm_per_m.imag for entry in result.sequence_impedance},
        each="circuit",
        along="mean",
    ),
    Quantity(
        "phase_inequality",
        "Phase inequality of",
        PER_CENT,
        "lower",
        "Largest less smallest inductance of the circuit's phases over their mean, with the study's currents.",
        lambda result: circuit_inequality(phase_states(result)),
        each="circuit",
        along="phases",
    ),
    Quantity(
        "u2_v_per_m",
        "Voltage drop V2 of",
        VOLT_PER_KM,
        "lower",
        "Negative-sequence part of the voltage drops along the phases with the study's currents, per kilometre of run; "
        "over the system's phase voltage it is the unbalance V2/V1 that each kilometre adds.",
        lambda result: negative_drop(phase_states(result)),
        each="circuit",
        along="phases",
    ),
    Quantity(
        "u2_over_u1",
        "Drop V2/V1 of",
        PER_CENT,
        "lower",
        "Negative- over positive-sequence part of the voltage drops along the phases with the study's currents; the "
        "same for any length.",
        lambda result: drop_unbalance(phase_states(result)),
        each="circuit",
        along="phases",
    ),
    Quantity(
        "width_m",
        "Width used",
        MILLIMETRE,
        "lower",
        "Width that the cables take from outside to outside, on the fullest tray.",
        lambda result: width_used(result.cross_section.cables, result.study.trays),
    ),
    Quantity(
        "spacing_rules_met",
        "Spacing rules met",
        (),
        "higher",
        "Single cables in one layer with a clear gap of one diameter at least, trefoil groups with a clear gap of 2.15 "
        "diameters at least to what is beside them; cables so laid keep their full current rating (common practice, no "
        "source).",
        lambda result: spacing_rules_met(result.cross_section.cables, result.study.trays),
    ),
    Quantity(
        "largest_share",
        "Largest share of a parallel cable",
        PER_CENT,
        "lower",
        "Current of the most loaded of parallel cables over an equal share; none where no phase has parallel cables.",
        _largest_share,
    ),
    Quantity(
        "worst_error",
        "Worst numerical error",
        PER_CENT,
        "",
        "Largest estimate of the relative numerical error of the numbers that the study asks for.",
        lambda result: result.accuracy.worst_error,
    ),
    Quantity(
        "unknowns",
        "Unknowns",
        RATIO,
        "",
        "Unknowns of the finest mesh.",
        lambda result: result.accuracy.levels[-1].unknowns,
    ),
)
"""Every quantity by which cases are compared, in the order of the columns."""


def column(quantity: Quantity, name: str = "") -> str:
    """Name of a quantity's column; of one that each receptor or circuit has, that of the named one."""
    return f"{quantity.key}.{name}" if quantity.each else quantity.key


def quantity_of(column_name: str) -> Quantity:
    """The quantity of a column."""
    key = column_name.partition(".")[0]
    return next(quantity for quantity in QUANTITIES if quantity.key == key)


def heading(column_name: str) -> str:
    """Heading of a column in words."""
    quantity = quantity_of(column_name)
    name = column_name.partition(".")[2]
    return f"{quantity.heading} {name}" if name else quantity.heading


def numbers_of(result: Result) -> dict[str, Value]:
    """Every compared quantity of a result by its column."""
    found: dict[str, Value] = {}
    for quantity in QUANTITIES:
        value = quantity.of(result)
        if isinstance(value, Mapping):
            found |= {column(quantity, name): entry for name, entry in value.items()}
        else:
            found[quantity.key] = value
    return found
