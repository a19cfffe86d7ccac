"""Voltages at the end of a circuit with its stated load, or with the currents of the study."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes
from studies.answers.route.rows import DeliveredResult
from studies.answers.route.supply import (
    CLOSED,
    CurrentLoad,
    Delivered,
    Load,
    balanced_voltages,
    current_load,
    deliver,
    impedance_load,
)
from studies.section.run_parts import Route
from studies.solve.error_floors import level_floored
from studies.solve.two_meshes import Pair
from studies.study.decisions import CONSTANT_IMPEDANCE
from studies.study.file import Study
from studies.study.phases import LINES
from studies.text.numbers import stated_number
from studies.text.units import LOSS, unit_for

STUDY_CURRENTS = "the study's currents, that of L1 in phase with the supply"


@dataclass(frozen=True)
class Arrived:
    """A load with its supply, and the state at the load."""

    words: str
    supply_voltages: Complexes
    """To neutral, shape (3,). [V]"""
    load: Load
    delivered: Delivered


def arrived(study: Study, route: Route, circuit: str, currents: dict[tuple[str, str], complex]) -> Arrived | None:
    """State at the load of a circuit; None without a supply or if the currents have no return.

    Currents that do not sum to zero need a neutral conductor of the circuit to return by, and one that does not share
    its return with the earth.
    """
    if study.supply is None:
        return None
    supply = balanced_voltages(study.supply.voltage)
    load, words = _load(study, circuit, currents)
    neutral = next((tie for tie in route.ties if f"{circuit} N" in tie.parts), None)
    if neutral is not None and neutral.impedance is not None:
        return None
    if isinstance(load, CurrentLoad) and neutral is None:
        flowing = np.array(load.currents)
        if abs(flowing.sum()) > CLOSED * np.abs(flowing).max():
            return None
    return Arrived(words, supply, load, deliver(route, circuit, supply, load))


def delivered_result(circuit: str, pair: Pair[Arrived], formula: Arrived) -> DeliveredResult:
    """The state at a load as plain data, from two meshes and by closed forms."""
    now = pair.now.delivered
    lines = level_floored(pair.of(lambda one: one.delivered.line_phasors))
    phases = level_floored(pair.of(lambda one: one.delivered.load_voltages))
    # sequence voltages are sums of the phases', whose errors need not cancel as two meshes have it
    sequences = level_floored(
        [*pair.of(lambda one: one.delivered.sequence_ratios), phases.max() / np.abs(now.load_voltages).mean()]
    )
    return DeliveredResult(
        circuit=circuit,
        load=pair.now.words,
        phase_drop_v=tuple(now.drops.tolist()),
        phase_drop_error_v=tuple(phases.tolist()),
        line_voltage_v=tuple(now.line_voltages.tolist()),
        line_voltage_error_v=tuple(lines.tolist()),
        relative_drop=_drop(pair.now),
        relative_drop_error=float(lines.max() / abs(pair.now.supply_voltages[0] - pair.now.supply_voltages[1])),
        v2_over_v1=now.negative_sequence,
        v2_over_v1_error=float(sequences[1]),
        v0_over_v1=now.zero_sequence,
        v0_over_v1_error=float(sequences[0]),
        nema_unbalance=now.largest_deviation,
        nema_unbalance_error=float(2 * lines.max() / now.line_voltages.mean()),
        i2_over_i1=now.current_unbalance,
        i2_over_i1_error=float(pair.of(lambda one: one.delivered.current_ratio)),
        formula_relative_drop=_drop(formula),
        formula_v2_over_v1=formula.delivered.negative_sequence,
    )


def _drop(found: Arrived) -> float:
    """Largest fall of a line voltage over that of the supply. [-]"""
    return float(found.delivered.relative_line_drops.max())


def _load(study: Study, circuit: str, currents: dict[tuple[str, str], complex]) -> tuple[Load, str]:
    assert study.supply is not None
    stated = next((load for load in study.loads if (load.circuit or study.circuits[0].name) == circuit), None)
    if stated is None:
        one, two, three = (currents[circuit, line] for line in LINES)
        return CurrentLoad((one, two, three)), STUDY_CURRENTS
    make = impedance_load if stated.kind == CONSTANT_IMPEDANCE else current_load
    load = make(stated.power, stated.power_factor, study.supply.voltage, stated.leading)
    way = "leading" if stated.leading else "lagging"
    of = "impedance" if stated.kind == CONSTANT_IMPEDANCE else "current"
    unit = unit_for(stated.power, LOSS)
    power = f"{stated_number(stated.power, unit, 4)} {unit.symbol}"  # the words stand in files, too
    words = f"{power} at power factor {stated.power_factor:g} {way}, constant {of}"
    return load, words
