"""Cases whose run is transposed: those that a variant's `transpose` asks for, and those that three cases are together.

Such a case is the study with a `[[route]]` of three equal sections, and is solved as one.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence

from studies.compare.case import Draft
from studies.section.cross_section import cross_section
from studies.section.turning import UNIT_LENGTH, cyclic_orders, equal_thirds
from studies.study.dotted_keys import Tree
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
