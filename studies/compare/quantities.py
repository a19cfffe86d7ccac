"""The quantities by which cases are compared, each with its unit, its meaning and which way is better."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Literal

from studies.compare.case_numbers import (
    NOTHING,
    CaseNumber,
    Named,
    circulating_loss,
    energy_cost_of,
    energy_of,
    equal_heat_factor_of,
    highest_field,
    largest_cable_share,
    largest_current_ratio,
    loss_of,
    receptor_fields,
    tray_loss,
    worst_over_limit,
    zone_fields,
)
from studies.compare.phase_state import number_of_phases, phase_states
from studies.formulas.unbalance import DEFINITIONS, X_SPREAD
from studies.result import Result
from studies.section.spacing import RULE, spacing_of, width_used
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.failures import guarded
from studies.text.units import (
    FLUX_DENSITY,
    KILOWATT_HOUR_PER_METRE,
    LOSS_PER_LENGTH,
    MILLIMETRE,
    NUMBER,
    OHM_PER_KM,
    PER_CENT,
    VOLT_PER_KM,
    Family,
    Unit,
)

Better = Literal["lower", "higher", ""]
Along = Literal["worst", "mean", "phases"]

LINE_FIELD = "line currents at the conductor axes, parallel cables sharing equally, without tray and screens"
LINE_DROPS = "line currents at the axes, each phase with its own distances"


@dataclass(frozen=True)
class Quantity:
    """One quantity by which cases are compared."""

    key: str
    """Its column, with the SI unit in it; of one that each receptor or circuit has, the column is `key.name`."""
    heading: str
    unit: Unit | Family | None
    """Unit that it is shown in, or units to choose from; None for yes and no."""
    better: Better
    """Which way is better; empty if neither is."""
    meaning: str
    of: Callable[[Result], CaseNumber | Named]
    each: Literal["", "receptor", "zone", "circuit"] = ""
    along: Along = "worst"
    """What stands for a route of equal sections: the worst of them, their mean, or what their phase voltages give."""
    formula: str = ""
    """The closed form beside it; empty if there is none."""


def _from_phases(key: str) -> Callable[[Result], Named]:
    return lambda result: number_of_phases(key, phase_states(result))


def _reactances(result: Result) -> Named:
    """Positive-sequence reactance of each circuit beside that of GMD/GMR. [ohm/m]"""
    return {
        entry.circuit: CaseNumber(
            entry.z1_ohm_per_m.imag, entry.z1_error_ohm_per_m, complex(entry.formula_z1_ohm_per_m).imag
        )
        for entry in result.sequence_impedance
    }


def _spacing(result: Result) -> CaseNumber:
    """Whether the rule for clear gaps is met, with the gaps that are kept in a word."""
    found = spacing_of(result.study, result.cross_section)
    return CaseNumber(found.rule_met, place=found.word)


QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        *("worst_field_over_limit", "Worst field over limit", NUMBER, "lower"),
        "Largest resultant rms flux density over its limit, of all receptors and zones with a limit; 1 is at the "
        "limit. Against a reference level, the exposure index.",
        worst_over_limit,
        formula=LINE_FIELD,
    ),
    Quantity(
        *("highest_b_rms_t", "Highest field", FLUX_DENSITY, "lower"),
        "Largest resultant rms flux density of all receptors and zones.",
        highest_field,
        formula=LINE_FIELD,
    ),
    Quantity(
        *("b_rms_t", "Field at", FLUX_DENSITY, "lower"),
        "Resultant rms flux density at the receptor.",
        receptor_fields,
        each="receptor",
        formula=LINE_FIELD,
    ),
    Quantity(
        *("b_max_rms_t", "Highest field in zone", FLUX_DENSITY, "lower"),
        "Largest resultant rms flux density within the zone.",
        zone_fields,
        each="zone",
        formula=f"{LINE_FIELD}, at the place of the highest field",
    ),
    Quantity(
        *("total_loss_w_per_m", "Total loss", LOSS_PER_LENGTH, "lower"),
        "Loss of all parts, per metre of run.",
        loss_of,
        along="mean",
        formula="sum of the formulas of the parts, if each part has one",
    ),
    Quantity(
        *("loss_energy_j_per_m", "Energy of a year", KILOWATT_HOUR_PER_METRE, "lower"),
        "Energy of all losses over a year with the load that the study states, per metre of run.",
        energy_of,
        along="mean",
    ),
    Quantity(
        *("energy_cost_per_m", "Cost of a year per metre", NUMBER, "lower"),
        "Price of that energy in the study's currency, per metre of run.",
        energy_cost_of,
        along="mean",
    ),
    Quantity(
        *("tray_loss_w_per_m", "Tray loss", LOSS_PER_LENGTH, "lower"),
        "Loss of trays, covers and metal nearby.",
        tray_loss,
        along="mean",
        formula="an infinite plate like the tray's floor under line currents, if an open floor is all the metal",
    ),
    Quantity(
        *("conductor_loss_w_per_m", "Conductor loss", LOSS_PER_LENGTH, "lower"),
        "Loss of the cables' conductors, skin and proximity effect included.",
        lambda result: loss_of(result, CONDUCTOR),
        along="mean",
        formula="I² R with IEC 60287-1-1 skin and proximity factors",
    ),
    Quantity(
        *("screen_loss_w_per_m", "Screen loss", LOSS_PER_LENGTH, "lower"),
        "Loss of screens, sheaths and armours, by circulating and by eddy currents.",
        lambda result: loss_of(result, *METAL_LAYERS),
        along="mean",
        formula="IEC 60287-1-1 loss factors of three cables, circulating if bonded at both ends, else eddy",
    ),
    Quantity(
        *("circulating_loss_w_per_m", "of it circulating", LOSS_PER_LENGTH, "lower"),
        "Square of the net current of each screen, sheath and armour times its dc resistance.",
        circulating_loss,
        along="mean",
        formula="IEC 60287-1-1 circulating loss factor of three cables",
    ),
    Quantity(
        *("x1_ohm_per_m", "Reactance X1 of", OHM_PER_KM, "lower"),
        "Imaginary part of the circuit's positive-sequence impedance, the other circuits without current.",
        _reactances,
        each="circuit",
        along="mean",
        formula="w (mu0/2 pi) ln(GMD/GMR), averaged over the phases",
    ),
    Quantity(
        *("u2_over_u1", "V2/V1 of", PER_CENT, "lower"),
        "Negative- over positive-sequence part of the voltage drops along the phases with the study's currents, the "
        "same for any length; |Z21/Z11| if these are balanced and no other circuit is near. It judges how equal the "
        "phases are: no other part of the drops unbalances the voltages from line to line.",
        _from_phases("u2_over_u1"),
        each="circuit",
        along="phases",
        formula=LINE_DROPS,
    ),
    Quantity(
        *("u2_v_per_m", "Voltage unbalance V2 of", VOLT_PER_KM, "lower"),
        "Negative-sequence part of the voltage drops along the phases with the study's currents, per kilometre of run; "
        "over the system's phase voltage it is the unbalance V2/V1 that each kilometre adds.",
        _from_phases("u2_v_per_m"),
        each="circuit",
        along="phases",
        formula=LINE_DROPS,
    ),
    Quantity(
        *("u0_over_u1", "V0/V1 of", PER_CENT, ""),
        "Zero- over positive-sequence part of the same drops; |Z01/Z11| likewise. It is common to the three phases, "
        "in no voltage from line to line, and matters only if a neutral or the earth joins both ends of the run.",
        _from_phases("u0_over_u1"),
        each="circuit",
        along="phases",
        formula=LINE_DROPS,
    ),
    Quantity(
        *("phase_inequality", "x_spread of", PER_CENT, ""),
        f"{X_SPREAD}: {DEFINITIONS[X_SPREAD]}, with the study's currents. It judges nothing: u also holds the drop "
        "common to the three phases, which metal on one side of them, such as a tray's floor, makes large.",
        _from_phases("phase_inequality"),
        each="circuit",
        along="phases",
        formula=LINE_DROPS,
    ),
    Quantity(
        *("phase_inequality_between_lines", "x_spread between lines of", PER_CENT, ""),
        "The same with the drop that is common to the three phases, the mean of the three, taken off each of them: no "
        "voltage from line to line has it.",
        _from_phases("phase_inequality_between_lines"),
        each="circuit",
        along="phases",
        formula=LINE_DROPS,
    ),
    Quantity(
        *("width_m", "Tray width used", MILLIMETRE, "lower"),
        "Width that the cables take from outside to outside, on the fullest tray; from the geometry, exact.",
        lambda result: CaseNumber(width_used(result.cross_section.cables, result.study.trays)),
    ),
    Quantity(
        *("spacing_rules_met", "Clear gaps kept", None, "higher"),
        "1 diam.: one cable diameter at least between single cables of one layer. 2.15 diam.: 2.15 times the largest "
        "diameter at least between trefoil groups and what is beside them. Alone: one cable or one trefoil group on "
        "each tray. Closed: kept under a cover or in closed metal, where the rule lapses. From the geometry, exact. "
        + RULE,
        _spacing,
    ),
    Quantity(
        *("largest_share", "Largest share of a parallel cable", PER_CENT, "lower"),
        "Current of the most loaded of parallel cables over an equal share; none if no phase has parallel cables.",
        largest_cable_share,
        formula="line currents at the axes that share by their impedance matrix",
    ),
    Quantity(
        *("current_over_permitted", "Current over permitted current", NUMBER, "lower"),
        "Largest current of a cable over the permitted current that the study states for it; 1 is what is permitted.",
        largest_current_ratio,
    ),
    Quantity(
        *("equal_heat_factor", "Equal-heat factor", NUMBER, "higher"),
        "Factor on all currents at which no cable loses more than alone at its permitted current; no rating.",
        equal_heat_factor_of,
    ),
    Quantity(
        *("worst_error", "Worst numerical error", PER_CENT, ""),
        "Largest estimate of the relative numerical error of the numbers that the study asks for.",
        lambda result: CaseNumber(result.accuracy.worst_error),
    ),
    Quantity(
        *("unknowns", "Unknowns", NUMBER, ""),
        "Unknowns of the finest mesh.",
        lambda result: CaseNumber(result.accuracy.levels[-1].unknowns),
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


def numbers_of(result: Result) -> dict[str, CaseNumber]:
    """Every compared quantity of a result by its column."""
    found: dict[str, CaseNumber] = {}
    for quantity in QUANTITIES:
        value = guarded(f"compared quantity {quantity.key}", partial(quantity.of, result), NOTHING)
        if isinstance(value, Mapping):
            found |= {column(quantity, name): entry for name, entry in value.items()}
        else:
            found[quantity.key] = value
    return found
