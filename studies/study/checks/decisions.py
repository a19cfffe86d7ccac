"""What does not agree in the tables of decisions: unknown circuits, receptors and zones, other phases, no current."""

from collections.abc import Iterator, Mapping

from studies.study.checks.bonds import CROSS_BONDED
from studies.study.checks.findings import Finding, Place, Reader, Table, labels_of
from studies.study.phases import LINES
from studies.text.problems import choice_of

NEEDED_BY_LOADS = {"supply": '[supply] with voltage = "400 V"', "route": '[[route]] with length = "120 m"'}
"""Tables that a load needs, each with its form."""


def decision_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within order search, route and faults."""
    circuits = {str(circuit.get("name")): circuit for _, circuit in reader.entries("circuits")}
    receptors = [str(receptor.get("name")) for _, receptor in reader.entries("receptors")]
    zones = [str(zone.get("name")) for _, zone in reader.entries("zones")]
    search = reader.data.get("order_search")
    if isinstance(search, Mapping):
        yield from _names(("order_search", "circuits"), search.get("circuits"), list(circuits), "circuit")
        yield from _names(("order_search", "receptors"), search.get("receptors"), receptors, "receptor")
        yield from _names(("order_search", "zones"), search.get("zones"), zones, "zone")
        yield from _objective(search, receptors + zones)
    yield from _run(reader, circuits)
    for index, section in reader.entries("route"):
        phases = section.get("phases")
        for name, order in phases.items() if isinstance(phases, Mapping) else ():
            place: Place = ("route", index, "phases", str(name))
            if name not in circuits:
                yield Finding(place, "is no circuit of the study", choice_of(str(name), circuits))
                continue
            own = circuits[name].get("phases")
            if isinstance(own, list | tuple) and isinstance(order, list | tuple):
                labels, wanted = sorted(map(str, own)), sorted(map(str, order))
                if labels != wanted:
                    yield Finding(place, "has other phases than the circuit", f"an order of {', '.join(labels)}")
    if isinstance(reader.data.get("supply"), Mapping):
        yield from _permittivities(reader.data.get("cables"), circuits)
    for index, fault in reader.entries("faults"):
        yield from _fault(("faults", index), fault, circuits)


def _run(reader: Reader, circuits: Mapping[str, Table]) -> Iterator[Finding]:
    """What does not agree within the sections, the screens and the loads of the run."""
    crossed = any(bond.get("kind") == CROSS_BONDED for _, bond in reader.entries("bonds"))
    names: list[object] = []
    length = 0.0
    for index, section in reader.entries("route"):
        name = section.get("name")
        if name is not None and name in names:
            yield Finding(("route", index, "name"), "is the name of another section", "a name for each")
        names.append(name)
        if "screens_turned" in section and not crossed:
            right = 'a bond of kind = "cross-bonded", or leave it out'
            yield Finding(("route", index, "screens_turned"), "turns screens that are not cross-bonded", right)
        length += reader.number(section.get("length"), "route length") or 0.0
    screens = reader.data.get("route_screens")
    if isinstance(screens, Mapping) and "route" not in reader.data:
        yield Finding(("route_screens",), "needs a route, the study has none", '[[route]] with length = "120 m"')
    elif isinstance(screens, Mapping):
        at = reader.number(screens.get("earthed_at"), "place on the route")
        if at is not None and length > 0 and at > length * (1 + 1e-9):
            yield Finding(
                ("route_screens", "earthed_at"), f"is beyond the run, {length:g} m long", f'"0 m" to "{length:g} m"'
            )
    yield from _loads(reader, circuits)


def _loads(reader: Reader, circuits: Mapping[str, Table]) -> Iterator[Finding]:
    """Loads of circuits that are not there or have no three phases, two of one circuit, and loads without a supply."""
    fed: set[str] = set()
    for index, load in reader.entries("loads"):
        for needed, right in (
            ("supply", '[supply] with voltage = "400 V"'),
            ("route", '[[route]] with length = "120 m"'),
        ):
            if needed not in reader.data:
                yield Finding(("loads", index), f"needs a {needed}, the study has none", right)
        name = load.get("circuit") or next(iter(circuits), "")
        if not isinstance(name, str):
            continue
        place: Place = ("loads", index, "circuit")
        if name not in circuits:
            yield Finding(place, "is no circuit of the study", choice_of(name, circuits))
        elif not set(LINES) <= set(labels_of(circuits[name]) or LINES):
            yield Finding(place, f"feeds a load of three phases, and {name} has not L1, L2 and L3", "another circuit")
        elif name in fed:
            yield Finding(place, f"is a second load of {name}", "one load for each circuit")
        fed.add(name)


def _permittivities(cables: object, circuits: Mapping[str, Mapping[str, object]]) -> Iterator[Finding]:
    """Cables without a permittivity beside such with one: the charging current of each depends on all."""
    laid = dict.fromkeys(str(circuit.get("cable")) for circuit in circuits.values())
    known = {name: cables.get(name) for name in laid} if isinstance(cables, Mapping) else {}
    stated = {name: "permittivity" in cable for name, cable in known.items() if isinstance(cable, Mapping)}
    if any(stated.values()):
        for name in (name for name, has in stated.items() if not has):
            wrong = "is missing, while another cable that is laid states one for the charging currents"
            yield Finding(("cables", name, "permittivity"), wrong, "permittivity = 2.5")


def _names(place: Place, names: object, known: list[str], what: str) -> Iterator[Finding]:
    for index, name in enumerate(names if isinstance(names, list | tuple) else ()):
        if isinstance(name, str) and name not in known:
            yield Finding(
                (*place, index), f"is no {what} of the study", choice_of(name, known) if known else f"[[{what}s]]"
            )


def _objective(search: Mapping[str, object], places: list[str]) -> Iterator[Finding]:
    weights = search.get("weights")
    if isinstance(weights, Mapping):
        if "objective" in search:
            yield Finding(("order_search", "weights"), "stands beside an objective", "one of the two")
        numbers = [value for value in weights.values() if isinstance(value, int | float)]
        if not any(value > 0 for value in numbers):
            yield Finding(("order_search", "weights"), "weighs nothing", "{ field = 1.0, sharing = 0.5 }")
    wants_field = weights.get("field") if isinstance(weights, Mapping) else search.get("objective", "field") == "field"
    if wants_field and not places:
        right = "a [[receptors]] or [[zones]] table, or another objective"
        yield Finding(("order_search",), "judges by the field, but the study has no receptor and no zone", right)


def _fault(
    place: Place, fault: Mapping[str, object], circuits: Mapping[str, Mapping[str, object]]
) -> Iterator[Finding]:
    name = fault.get("circuit", next(iter(circuits), None))
    if isinstance(name, str) and name not in circuits:
        yield Finding((*place, "circuit"), "is no circuit of the study", choice_of(name, circuits))
    elif isinstance(name, str):
        labels = circuits[name].get("phases")
        if isinstance(labels, list | tuple) and len(set(LINES).intersection(map(str, labels))) < 2:
            wrong = f"is on {name}, which has not two of L1, L2 and L3 to be between"
            yield Finding((*place, "circuit"), wrong, "a circuit with two of them at least")
    stated = [key for key in ("peak_current", "initial_current") if key in fault]
    if len(stated) != 1:
        wrong = "gives both peak and initial current" if stated else "gives no current"
        yield Finding(place, wrong, 'exactly one: peak_current = "40 kA" or initial_current = "18 kA"')
    needs = "initial_current" in fault
    if needs != ("resistance_over_reactance" in fault) and len(stated) == 1:
        wrong = "is missing with initial_current" if needs else "does not go with peak_current"
        right = "resistance_over_reactance = 0.2" if needs else "leave it out"
        yield Finding((*place, "resistance_over_reactance"), wrong, right)
