"""A route transposed at each third, from three cases that are its sections.

Until a study can state a route, three cases that differ in nothing but the cyclic order of one circuit's phases stand
for one: their series impedances are averaged, which is what three equal sections of a route do.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace

from studies.phases import LINES
from studies.sweep.compared import FROM_PHASES, Value, quantity_of
from studies.sweep.measured import Measured
from studies.sweep.paths import Tree
from studies.sweep.phase_state import PhaseState
from studies.sweep.plan import Case

NEXT = dict(zip(LINES, (*LINES[1:], LINES[0]), strict=True))
"""Each phase with the one that takes its place in the next section."""


def transpositions(cases: Sequence[Case]) -> list[tuple[int, int, int]]:
    """Indices of each three cases that together are a transposed route, in the order of their first.

    Cases that differ in more than the order of one circuit's phases, by L1 to L2, L2 to L3, L3 to L1, are none.
    """
    groups: dict[str, dict[tuple[str, ...], int]] = {}
    for index, case in enumerate(cases):
        for position, circuit in enumerate(_circuits(case.data)):
            phases = circuit.get("phases")
            if not isinstance(phases, list) or not set(LINES) <= set(phases):
                continue
            rest = {key: value for key, value in case.data.items() if key not in ("title", "circuits")}
            others = [
                {**own, "phases": min(_orders(tuple(phases)))} if k == position else own
                for k, own in enumerate(_circuits(case.data))
            ]
            same = json.dumps([position, rest, others], sort_keys=True, default=str)
            groups.setdefault(same, {}).setdefault(tuple(phases), index)
    found = [tuple(sorted(group.values())) for group in groups.values() if len(group) == len(LINES)]
    return sorted((first, second, third) for first, second, third in found)


def transposed(sections: Sequence[Measured]) -> Measured:
    """The numbers of a route of equal sections, by what each quantity's table entry says of it."""
    phases = tuple(
        replace(states[0], voltage_v_per_m=sum(state.voltage_v_per_m for state in states) / len(states))
        for states in _matched(sections)
    )
    derived = {key: of(phases) for key, of in FROM_PHASES.items()}
    numbers: dict[str, Value] = {}
    for name in sections[0].numbers:
        quantity = quantity_of(name)
        values = [section.numbers.get(name) for section in sections]
        known = [value for value in values if value is not None]
        if len(known) < len(values):
            numbers[name] = None
        elif quantity.along == "phases":
            numbers[name] = derived[quantity.key].get(name.partition(".")[2])
        elif quantity.along == "mean":
            numbers[name] = sum(known) / len(known)
        else:
            numbers[name] = min(known) if quantity.better == "higher" else max(known)
    cautions = dict.fromkeys(caution for section in sections for caution in section.cautions)
    return Measured(numbers, phases, tuple(cautions))


def _matched(sections: Sequence[Measured]) -> list[tuple[PhaseState, ...]]:
    """The states of each phase in all sections."""
    of = [{(state.circuit, state.phase): state for state in section.phases} for section in sections]
    return [tuple(section[key] for section in of) for key in of[0]]


def _orders(phases: tuple[str, ...]) -> list[tuple[str, ...]]:
    orders = [phases]
    for _ in range(2):
        orders.append(tuple(NEXT.get(phase, phase) for phase in orders[-1]))
    return orders


def _circuits(data: Tree) -> list[Tree]:
    circuits = data.get("circuits")
    return [circuit for circuit in circuits if isinstance(circuit, dict)] if isinstance(circuits, list) else []
