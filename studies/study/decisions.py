"""What a study asks beyond its own numbers: phase orders, route, loads, faults; and what must agree among these."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.study.bonds import CROSS_BONDED
from studies.study.entries import (
    Entry,
    KeyTable,
    Name,
    PhaseLabel,
    Truth,
    Word,
    input_error,
    list_entry,
    number_entry,
    phases_entry,
    quantity_entry,
    word_entry,
)
from studies.study.findings import (
    Finding,
    Place,
    Plain,
    Reader,
    as_list,
    as_table,
    exactly_one,
    labels_of,
    needed,
    unknown,
)
from studies.study.phases import LINES

OBJECTIVES = ("field", "sharing", "inequality")
"""What a phase order may be judged by."""

CONSTANT_CURRENT, CONSTANT_IMPEDANCE = "current", "impedance"
LOADS = (CONSTANT_CURRENT, CONSTANT_IMPEDANCE)
"""What of a load does not depend on its voltage."""
MOST_TURNED = 1000
"""Most phases by which screens have gone on against the conductors. [-]"""


def _settings(value: object, info: ValidationInfo) -> object:
    if not isinstance(value, Mapping):
        raise input_error("is not a table of dotted keys", '{ "circuits.F1.arrangement" = "trefoil" }')
    return value


Weight = Annotated[float, number_entry(0, 1000, "1.0")]


class OrderWeights(KeyTable):
    """Weights of what a phase order is judged by; each quantity counts over its value in the order as stated."""

    field: Weight = 0.0
    """worst field over its limit, or over its value as stated"""
    sharing: Weight = 0.0
    """largest share of a parallel cable, over an equal share"""
    inequality: Weight = 0.0
    """x_spread, of the phases' reactances"""


class OrderSearch(KeyTable):
    """Search for the phase order that is best at something; labels move within their circuit."""

    objective: Annotated[str, word_entry("objective", OBJECTIVES, '"field"')] = "field"
    """what the best order is best at"""
    weights: OrderWeights | None = Field(default=None, examples=["{ field = 1.0, sharing = 0.5 }"])
    """a weighted sum in place of one objective"""
    receptors: Annotated[tuple[Word, ...], list_entry('["interferometer"]', least=1)] | None = None
    """receptors that count; without this and zones, all of both"""
    zones: Annotated[tuple[Word, ...], list_entry('["bench"]', least=1)] | None = None
    """zones that count, by their highest field; without this and receptors, all of both"""
    circuits: Annotated[tuple[Word, ...], list_entry('["F1"]', least=1)] | None = None
    """circuits whose order may change; without it, all"""
    field_at_most: Annotated[float, number_entry(0, 1000, "1.0", above=True)] | None = None
    """worst field over its limit that an order must keep, while another objective is minimised"""
    share_at_most: Annotated[float, quantity_entry("share")] | None = None
    """largest share of a parallel cable, over an equal one, that an order must keep"""


class RouteSection(KeyTable):
    """A section of the route: its length [m], the phases of each circuit, and what is another there.

    What differs from the study's own cross-section is set or removed by dotted keys, as in a variant.
    """

    length: Annotated[float, quantity_entry("route length")]
    """length of the section"""
    name: Name | None = Field(default=None, examples=['"riser"'])
    """what results call the section; without it, its number"""
    phases: Mapping[Name, Annotated[tuple[PhaseLabel, ...], phases_entry('["L2", "L3", "L1"]', least=1)]] = Field(
        default_factory=dict, examples=['{ F1 = ["L2", "L3", "L1"] }']
    )
    """phases of circuits whose order differs from the study's"""
    settings: Annotated[
        Mapping[str, object],
        Entry(_settings, "dotted keys with their values", '{ "circuits.F1.arrangement" = "trefoil" }'),
    ] = Field(default_factory=dict, validation_alias="set", serialization_alias="set")
    """what is another in the cross-section of this section"""
    remove: Annotated[tuple[Word, ...], list_entry('["circuits.F1.clear_gap"]', least=0)] = ()
    """dotted keys that the cross-section of this section does not have"""
    screens_turned: Annotated[int, number_entry(-MOST_TURNED, MOST_TURNED, "1", whole=True)] | None = None
    """phases by which cross-bonded screens have gone on against the conductors; without it, one more at each joint"""


class RouteScreens(KeyTable):
    """Where along the run screens that are bonded at one point only are earthed [m]."""

    earthed_at: Annotated[float, quantity_entry("place on the route")] = 0.0
    """distance of the earthed place from the start"""


class Fault(KeyTable):
    """A short circuit: peak current [A], or initial symmetrical rms current [A] and R/X [-]."""

    circuit: Word | None = None
    """circuit that it is on; without it, the first"""
    peak_current: Annotated[float, quantity_entry("fault current")] | None = None
    """peak current of the three-phase fault; a two-phase one has sqrt(3)/2 of it"""
    initial_current: Annotated[float, quantity_entry("fault current")] | None = None
    """its initial symmetrical rms current, in place of the peak"""
    resistance_over_reactance: Annotated[float, number_entry(0, 100, "0.2")] | None = None
    """R/X of the fault path, needed with initial_current"""
    cleat_spacing: Annotated[float, quantity_entry("cleat spacing")] | None = None
    """distance between cleats, for the force on each"""


class Supply(KeyTable):
    """The voltage of the supply, for charging current and voltage unbalance: line to line, rms [V]."""

    voltage: Annotated[float, quantity_entry("voltage")]
    """line to line, rms"""
    insulated_neutral: Truth = False
    """whether the supply's neutral is insulated from earth"""


class Load(KeyTable):
    """What a circuit feeds at the end of the route: balanced power [W] at the supply's voltage."""

    circuit: Word | None = None
    """circuit that feeds it; without it, the first"""
    power: Annotated[float, quantity_entry("power")]
    """active power of the three phases together"""
    power_factor: Annotated[float, number_entry(0, 1, "0.85", above=True)]
    """cosine of the angle of the current"""
    leading: Truth = False
    """whether the current leads the voltage"""
    kind: Annotated[str, word_entry("kind of load", LOADS, '"impedance"')] = CONSTANT_CURRENT
    """what stays as it is when the voltage falls"""


CIRCUIT = "circuit of the study"


def decision_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within order search, route, loads and faults."""
    circuits = {str(circuit.get("name")): circuit for _, circuit in reader.entries("circuits")}
    yield from _order_search(reader)
    yield from _run(reader, circuits)
    yield from _loads(reader, circuits)
    if isinstance(reader.data.get("supply"), Mapping):
        yield from _permittivities(reader, circuits)
    for index, fault in reader.entries("faults"):
        yield from _fault(("faults", index), fault, circuits)


def _order_search(reader: Reader) -> Iterator[Finding]:
    search = reader.data.get("order_search")
    if not isinstance(search, Mapping):
        return
    for what in ("circuit", "receptor", "zone"):
        for index, name in enumerate(as_list(search.get(f"{what}s"))):
            place: Place = ("order_search", f"{what}s", index)
            yield from unknown(place, name, reader.titles(f"{what}s"), f"{what} of the study", f"[[{what}s]]")
    weights = search.get("weights")
    wants_field: object = search.get("objective", "field") == "field"
    if isinstance(weights, Mapping):
        wants_field = weights.get("field")
        if "objective" in search:
            yield Finding(("order_search", "weights"), "stands beside an objective", "one of the two")
        if not any(isinstance(value, int | float) and value > 0 for value in weights.values()):
            yield Finding(("order_search", "weights"), "weighs nothing", "{ field = 1.0, sharing = 0.5 }")
    wants_field = wants_field or "field_at_most" in search
    if wants_field and not reader.titles("receptors") and not reader.titles("zones"):
        right = "a [[receptors]] or [[zones]] table, or another objective"
        yield Finding(("order_search",), "judges by the field, but the study has no receptor and no zone", right)


def _run(reader: Reader, circuits: Mapping[str, Plain]) -> Iterator[Finding]:
    """What does not agree within the sections and the screens of the run."""
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
        for circuit, order in as_table(section.get("phases")).items():
            place: Place = ("route", index, "phases", str(circuit))
            yield from unknown(place, str(circuit), circuits, CIRCUIT)
            own = circuits.get(circuit, {}).get("phases")
            if isinstance(own, list | tuple) and isinstance(order, list | tuple):
                labels = sorted(map(str, own))
                if labels != sorted(map(str, order)):
                    yield Finding(place, "has other phases than the circuit", f"an order of {', '.join(labels)}")
    if isinstance(reader.data.get("route_screens"), Mapping):
        yield from needed(reader, ("route_screens",), "route")
        at = reader.number(reader.table("route_screens").get("earthed_at"), "place on the route")
        if "route" in reader.data and at is not None and 0 < length * (1 + 1e-9) < at:
            wrong = f"is beyond the run, {length:g} m long"
            yield Finding(("route_screens", "earthed_at"), wrong, f'"0 m" to "{length:g} m"')


def _loads(reader: Reader, circuits: Mapping[str, Plain]) -> Iterator[Finding]:
    """Loads of circuits that are not there or have no three phases, two of one circuit, and loads without a supply."""
    fed: set[str] = set()
    for index, load in reader.entries("loads"):
        for table in ("supply", "route"):
            yield from needed(reader, ("loads", index), table)
        name = load.get("circuit") or next(iter(circuits), "")
        if not isinstance(name, str):
            continue
        place: Place = ("loads", index, "circuit")
        if name not in circuits:
            yield from unknown(place, name, circuits, CIRCUIT)
        elif not set(LINES) <= set(labels_of(circuits[name]) or LINES):
            yield Finding(place, f"feeds a load of three phases, and {name} has not L1, L2 and L3", "another circuit")
        elif name in fed:
            yield Finding(place, f"is a second load of {name}", "one load for each circuit")
        fed.add(name)


def _permittivities(reader: Reader, circuits: Mapping[str, Plain]) -> Iterator[Finding]:
    """Cables without a permittivity beside such with one: the charging current of each depends on all."""
    cables = reader.named("cables")
    laid = [
        name for name in dict.fromkeys(str(circuit.get("cable")) for circuit in circuits.values()) if name in cables
    ]
    without = [name for name in laid if "permittivity" not in cables[name]]
    for name in without if len(without) < len(laid) else ():
        wrong = "is missing, while another cable that is laid states one for the charging currents"
        yield Finding(("cables", name, "permittivity"), wrong, "permittivity = 2.5")


def _fault(place: Place, fault: Plain, circuits: Mapping[str, Plain]) -> Iterator[Finding]:
    name = fault.get("circuit", next(iter(circuits), None))
    yield from unknown((*place, "circuit"), name, circuits, CIRCUIT)
    labels = circuits[name].get("phases") if isinstance(name, str) and name in circuits else None
    if isinstance(labels, list | tuple) and len(set(LINES).intersection(map(str, labels))) < 2:
        wrong = f"is on {name}, which has not two of L1, L2 and L3 to be between"
        yield Finding((*place, "circuit"), wrong, "a circuit with two of them at least")
    keys = ("peak_current", "initial_current")
    right = 'exactly one: peak_current = "40 kA" or initial_current = "18 kA"'
    either = [*exactly_one(place, fault, keys, "both peak and initial current", "no current", right)]
    yield from either
    needs = "initial_current" in fault
    if needs != ("resistance_over_reactance" in fault) and not either:
        wrong = "is missing with initial_current" if needs else "does not go with peak_current"
        right = "resistance_over_reactance = 0.2" if needs else "leave it out"
        yield Finding((*place, "resistance_over_reactance"), wrong, right)
