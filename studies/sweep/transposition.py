"""A route transposed at each third, from three cross-sections that are its sections.

They are those of a variant's `transpose`, or three cases of a study that differ in nothing but the cyclic order of one
circuit's phases. Their series impedances are averaged, which is what three equal sections of a run do; screens and
parallel cables are taken to be joined at both ends of each section.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from studies.phases import LINES
from studies.sweep.case import Case
from studies.sweep.compared import quantity_of
from studies.sweep.measured import Measured
from studies.sweep.number import NOTHING, Number
from studies.sweep.phase_state import FROM_PHASES, PhaseState, mean_state
from studies.sweep.turning import circuits_of, cyclic_orders


def transpositions(cases: Sequence[Case]) -> list[tuple[int, int, int]]:
    """Indices of each three cases that together are a transposed route, in the order of their first.

    Cases that differ in more than the order of one circuit's phases, by L1 to L2, L2 to L3, L3 to L1, are none; nor
    are cases that a variant of the study has transposed already.
    """
    stated = {frozenset(section.key for section in case.sections) for case in cases if len(case.sections) > 1}
    groups: dict[str, dict[tuple[str, ...], int]] = {}
    for index, case in enumerate(cases):
        if len(case.sections) > 1:
            continue
        for position, circuit in enumerate(circuits_of(case.data)):
            phases = circuit.get("phases")
            if not isinstance(phases, list) or not set(LINES) <= set(phases):
                continue
            rest = {key: value for key, value in case.data.items() if key not in ("title", "circuits")}
            others = [
                {**own, "phases": min(cyclic_orders(tuple(phases)))} if k == position else own
                for k, own in enumerate(circuits_of(case.data))
            ]
            same = json.dumps([position, rest, others], sort_keys=True, default=str)
            groups.setdefault(same, {}).setdefault(tuple(phases), index)
    found = [tuple(sorted(group.values())) for group in groups.values() if len(group) == len(LINES)]
    return sorted(
        (first, second, third)
        for first, second, third in found
        if frozenset(cases[k].key for k in (first, second, third)) not in stated
    )


def transposed(sections: Sequence[Measured]) -> Measured:
    """The numbers of a route of equal sections, by what each quantity's table entry says of it."""
    phases = tuple(mean_state(states) for states in _matched(sections))
    derived = {key: of(phases) for key, of in FROM_PHASES.items()}
    numbers: dict[str, Number] = {}
    for name in sections[0].numbers:
        quantity = quantity_of(name)
        values = [section.number(name) for section in sections]
        if any(value.value is None for value in values):
            numbers[name] = NOTHING
        elif quantity.along == "phases":
            numbers[name] = derived[quantity.key].get(name.partition(".")[2], NOTHING)
        elif quantity.along == "mean":
            numbers[name] = _mean(values)
        else:
            pick = min if quantity.better == "higher" else max
            numbers[name] = pick(values, key=lambda number: float(number.value or 0.0))
    cautions = dict.fromkeys(caution for section in sections for caution in section.cautions)
    return Measured(numbers, phases, tuple(cautions))


def _mean(numbers: Sequence[Number]) -> Number:
    def mean(values: Sequence[float | None]) -> float | None:
        known = [value for value in values if value is not None]
        return sum(known) / len(known) if len(known) == len(values) else None

    return Number(
        mean([None if number.value is None else float(number.value) for number in numbers]),
        mean([number.error for number in numbers]),
        mean([number.formula for number in numbers]),
    )


def _matched(sections: Sequence[Measured]) -> list[tuple[PhaseState, ...]]:
    """The states of each phase in all sections."""
    of = [{(state.circuit, state.phase): state for state in section.phases} for section in sections]
    return [tuple(section[key] for section in of) for key in of[0]]
