"""Cases whose run is transposed: those that a variant's `transpose` asks for, and those that three cases are together.

Such a case is the study with a `[[route]]` of three equal sections, and is solved as one.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence

from studies.answers.route.transposed_run import is_transposed
from studies.compare.case import Draft
from studies.compare.case_numbers import NOTHING, CaseNumber
from studies.compare.measured import Measured, measure
from studies.compare.phase_state import MEASURES, PhaseState, mean_state, number_of_phases
from studies.compare.quantities import quantity_of
from studies.runner import run, run_sections
from studies.section.cross_section import cross_section
from studies.section.turning import UNIT_LENGTH, cyclic_orders, equal_thirds
from studies.study.dotted_keys import Tree
from studies.study.file import Study
from studies.study.findings import labels_of
from studies.study.phases import LINES
from studies.study.reading import loads_data
from studies.text.printable import shortened
from studies.text.problems import choice_of

EXAMPLE = 'transpose = ["F1"]'
OF_A_RUN = ("route", "route_screens", "loads")
"""Tables that need a route."""


def transposed_tables(data: Tree, circuits: Iterable[str], file: str) -> Tree:
    """The study's tables with a route of three equal sections on which some circuits are transposed."""
    with_route = "route" in data
    study = loads_data({key: data[key] for key in data if with_route or key not in OF_A_RUN}, file)
    cables = sorted(cross_section(study).cables, key=lambda cable: cable.position)
    labels = {name: [cable.phase for cable in cables if cable.circuit == name] for name in circuits}
    length = sum(section.length for section in study.route) if with_route else UNIT_LENGTH
    return {**data, "route": equal_thirds(labels, length)}


def transpose_problem(value: object, data: Tree) -> tuple[str, str] | None:
    """What is wrong with the circuits that a variant transposes, and what would be right; None where nothing is."""
    if not isinstance(value, list) or not value or not all(isinstance(name, str) for name in value):
        return "is empty" if value == [] else "is not a list of circuits", EXAMPLE
    known = {str(own.get("name")): own for own in circuits_of(data)}
    three_phase = [name for name, own in known.items() if set(LINES) <= set(labels_of(own))]
    for number, name in enumerate(value):
        if name not in known:
            return f'names "{shortened(name)}", which is no circuit', choice_of(name, three_phase or known)
        if name in value[:number]:
            return f'names "{shortened(name)}" twice', "each circuit once"
        if name not in three_phase:
            return f'names "{name}", which has not all of {", ".join(LINES)}', "circuits with three phases" + (
                f", {choice_of(name, three_phase)}" if three_phase else "; this study has none"
            )
    return None


def circuits_of(data: Tree) -> list[Tree]:
    """The circuits of a study's tables, as far as they are tables."""
    circuits = data.get("circuits")
    return [circuit for circuit in circuits if isinstance(circuit, dict)] if isinstance(circuits, list) else []


def transposed_drafts(drafts: Sequence[Draft]) -> Iterator[Draft]:
    """A further case for each three that differ in the cyclic order of one circuit's phases alone.

    Cases that differ in more, or in other orders, are none; nor are three of which a variant is the transposed run.
    """
    stated = {_same(draft.data, draft.transpose[0]) for draft in drafts if len(draft.transpose) == 1}
    groups: dict[tuple[str, str], dict[tuple[str, ...], Draft]] = {}
    for draft in drafts:
        for circuit in circuits_of(draft.data) if not draft.transpose and "route" not in draft.data else ():
            phases, name = circuit.get("phases"), str(circuit.get("name"))
            if isinstance(phases, list) and set(LINES) <= set(phases):
                groups.setdefault((name, _same(draft.data, name)), {}).setdefault(tuple(phases), draft)
    for (name, same), group in groups.items():
        if len(group) == len(LINES) and same not in stated:
            first, *others = group.values()
            listing = " and ".join((f"“{first.name}”, “{others[0].name}”", f"“{others[1].name}”"))
            changes = (f"equal thirds of {listing}",)
            yield Draft(f"{first.name}, transposed", "transposed", changes, first.data, "", (name,))


def _same(data: Tree, name: str) -> str:
    """What cases with the cyclic orders of a circuit have in common."""
    circuits = [
        {**own, "phases": min(cyclic_orders(own["phases"]))}
        if own.get("name") == name and isinstance(own.get("phases"), list)
        else own
        for own in circuits_of(data)
    ]
    rest = {key: value for key, value in data.items() if key not in ("title", "case", "document", "circuits")}
    return json.dumps([name, rest, circuits], sort_keys=True, default=str)


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
