"""The numbers of a case, of a transposed run those of its sections together."""

from __future__ import annotations

from collections.abc import Sequence

from studies.compare.case_numbers import NOTHING, CaseNumber
from studies.compare.measured import Measured, measure
from studies.compare.phase_state import MEASURES, PhaseState, mean_state, number_of_phases
from studies.compare.quantities import quantity_of
from studies.runner import run, run_sections
from studies.study.file import Study
from studies.study.route_changes import is_transposed


def measured_case(study: Study) -> Measured:
    """The numbers of a case, of a transposed run those of its sections together."""
    if not is_transposed(study):
        return measure(run(study))
    length = sum(section.length for section in study.route)
    return along([measure(section) for section in run_sections(study)], [one.length / length for one in study.route])


def along(sections: Sequence[Measured], weights: Sequence[float]) -> Measured:
    """The numbers of a run from those of its sections, as each quantity says; weights: shares of its length."""
    phases = tuple(mean_state(states, weights) for states in _matched(sections))
    derived = {key: number_of_phases(key, phases) for key in MEASURES}
    numbers: dict[str, CaseNumber] = {}
    for name in sections[0].numbers:
        quantity = quantity_of(name)
        values = [section.number(name) for section in sections]
        if any(value.value is None for value in values):
            numbers[name] = NOTHING
        elif quantity.along == "phases":
            numbers[name] = derived[quantity.key].get(name.partition(".")[2], NOTHING)
        elif quantity.along == "mean":
            numbers[name] = _mean(values, weights)
        else:
            pick = min if quantity.better == "higher" else max
            numbers[name] = pick(values, key=lambda number: float(number.value or 0.0))
    cautions = dict.fromkeys(caution for section in sections for caution in section.cautions)
    limits = dict.fromkeys(limit for section in sections for limit in section.contours)
    contours = {limit: tuple(line for one in sections for line in one.contours.get(limit, ())) for limit in limits}
    return Measured(numbers, phases, tuple(cautions), contours)


def _mean(numbers: Sequence[CaseNumber], weights: Sequence[float]) -> CaseNumber:
    def mean(values: Sequence[float | None]) -> float | None:
        known = [value * weight for value, weight in zip(values, weights, strict=True) if value is not None]
        return sum(known) if len(known) == len(values) else None

    return CaseNumber(
        mean([None if number.value is None else float(number.value) for number in numbers]),
        mean([number.error for number in numbers]),
        mean([number.formula for number in numbers]),
    )


def _matched(sections: Sequence[Measured]) -> list[tuple[PhaseState, ...]]:
    """The states of each phase in all sections."""
    of = [{(state.circuit, state.phase): state for state in section.phases} for section in sections]
    return [tuple(section[key] for section in of) for key in of[0]]
