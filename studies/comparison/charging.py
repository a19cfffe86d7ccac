"""Capacitance and charging current of a study's circuits at its supply's voltage."""

from __future__ import annotations

from studies.accuracy import Progress
from studies.capacitance.permittivities import Dielectric, Dielectrics
from studies.capacitance.result import capacitances, charging
from studies.comparison.solution import Solution
from studies.decided import ChargingResult
from studies.study import Study


def charging_results(study: Study, solution: Solution, tell: Progress) -> tuple[ChargingResult, ...]:
    """Of every circuit whose cable states a permittivity, where the study states a supply; else none."""
    if study.supply is None:
        return ()
    dielectrics = {}
    for circuit in study.circuits:
        permittivity = study.cables[circuit.cable].permittivity
        if permittivity is not None:
            own = Dielectric("stated", permittivity, "study file")
            dielectrics[circuit.name] = Dielectrics(own, own)
    if not dielectrics:
        return ()
    tell("charging the cables")
    found = capacitances(solution.section, dielectrics)
    voltages = dict.fromkeys(dielectrics, study.supply.voltage)
    return tuple(
        ChargingResult(
            circuit=entry.circuit,
            phase=entry.phase,
            capacitance_f_per_m=float(entry.capacitance),
            charging_current_a_per_m=float(abs(entry.current)),
            charging_current_error_a_per_m=float(entry.error),
            formulas_f_per_m={name: float(value) for name, value in entry.formulas.items()},
        )
        for entry in charging(solution.section, found, dielectrics, voltages)
    )
