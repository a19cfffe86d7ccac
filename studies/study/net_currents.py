"""Net currents of circuits: what of a circuit's current returns outside of it, and by which way."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.study.bonds import CROSS_BONDED, BondNames
from studies.study.entries import Entry, KeyTable, Word, measured, quantity_entry
from studies.study.findings import Finding, Place, Plain, Reader, as_list, exactly_one, is_drawn, labels_of, needed
from studies.study.parts import expand
from studies.study.phases import HIGHEST_ORDER, LOWEST_ORDER, NO_CURRENT_NEEDED, harmonic_order
from studies.study.quantities import QuantityError
from studies.study.unit_patterns import quantity_schema
from studies.text.problems import choice_of

WORST = "worst"
"""Angle of a net current that is not known: that at which each number is largest."""
SPECTRUM = '{ 3 = "1.5 A" }'
FAR_AWAY, EARTH = "far away", "earth"
"""Returns of a net current outside all metal of the study."""


def _angle(value: object, info: ValidationInfo) -> float | str:
    if value == WORST:
        return WORST
    try:
        return measured(value, "angle", info)
    except QuantityError as error:
        raise QuantityError(error.wrong, f'{error.right}; or "{WORST}"') from None


def _spectrum(value: object, info: ValidationInfo) -> dict[int, float]:
    if not isinstance(value, Mapping):
        raise QuantityError("is not a table of orders", SPECTRUM)
    return {harmonic_order(order): measured(own, "current", info) for order, own in value.items()}


class NetCurrent(KeyTable):
    """What of a circuit's current returns outside of it: N lacks it, or without an N the L phases carry it in step."""

    current: Annotated[float, quantity_entry("current")] | None = None
    """rms at the circuit's fundamental; or share"""
    share: Annotated[float, quantity_entry("net share")] | None = None
    """over the largest phase current of the circuit, in place of current"""
    angle: Annotated[
        float | str,
        Entry(
            *(_angle, f'"{WORST}", or an angle as that of the phase currents', f'"{WORST}"'),
            schema=lambda _: {"anyOf": [{"const": WORST}, quantity_schema("angle")]},
        ),
    ] = WORST
    """worst: for each number the angle at which it is largest"""
    harmonics: Annotated[
        Mapping[int, float],
        Entry(
            *(_spectrum, "table of orders 2 to 50 of the circuit: rms current, each at the worst angle", SPECTRUM),
            schema=lambda _: {
                "type": "object",
                "propertyNames": {"enum": [str(order) for order in range(LOWEST_ORDER, HIGHEST_ORDER + 1)]},
                "additionalProperties": quantity_schema("current"),
            },
        ),
    ] = Field(default_factory=dict)
    """harmonics of the net current, of orders that the circuit has, too"""
    returns_in: Word | None = Field(default=None, examples=['"T1"'])
    """part or joined parts of the study, "earth" with [earth], or "far away"; without it, the earth or far away"""


def net_current_findings(reader: Reader) -> Iterator[Finding]:
    """Net currents without a size, without a conductor that carries them, or without a way back."""
    if not isinstance(reader.data.get("circuits"), list | tuple):
        return
    for index, circuit in reader.entries("circuits"):
        net = circuit.get("net_current")
        if not isinstance(net, Mapping):
            continue
        place: Place = ("circuits", index, "net_current")
        size = 'current = "4 A" or share = "1 %"'
        yield from exactly_one(place, net, ("current", "share"), "its size twice", "no size", size)
        yield from _carried(reader, place, circuit)
        yield from _solved_orders(place, net, circuit)
        if isinstance(net.get("returns_in"), str):
            yield from _return(reader, (*place, "returns_in"), str(net["returns_in"]))


def _carried(reader: Reader, place: Place, circuit: Plain) -> Iterator[Finding]:
    """Whether a conductor with a given current can carry it."""
    labels, name = labels_of(circuit), str(circuit.get("name"))
    if labels and set(labels) <= {"PE"}:
        yield Finding(place, "needs an N or an L phase to flow in", "leave it out")
    if "N" not in labels or is_drawn(circuit):
        return
    neutrals = {f"{name}.{k}.conductor" for k, label in enumerate(labels, 1) if label == "N"}
    if any(not neutrals.isdisjoint(map(str, as_list(bond.get("parts")))) for _, bond in reader.entries("bonds")):
        yield Finding(place, "is of an N in a bond, which decides its current", "leave it out: it is computed")


def _solved_orders(place: Place, net: Plain, circuit: Plain) -> Iterator[Finding]:
    """Whether the circuit has each order, at whose frequency it is solved then."""
    own = circuit.get("harmonics")
    solved = set(map(str, own)) if isinstance(own, Mapping) else set()
    spectrum = net.get("harmonics")
    for order in spectrum if isinstance(spectrum, Mapping) else ():
        if str(order).isdigit() and str(order) not in solved:
            right = f'harmonics = {{ {order} = "10 %" }} of the circuit as well'
            yield Finding((*place, "harmonics", str(order)), "is no harmonic of the circuit, so not solved", right)


def _return(reader: Reader, place: Place, name: str) -> Iterator[Finding]:
    if name == EARTH:
        yield from needed(reader, place, "earth")
        return
    if name == FAR_AWAY:
        if "earth" in reader.data:
            yield Finding(place, "does not go with [earth], in which net currents return", f'"{EARTH}", or a part')
        return
    names = BondNames(reader)
    if names.may_be_part(name):
        return
    if name not in names.known:
        known = [FAR_AWAY, EARTH, *names.known]
        yield Finding(place, "is no known part and no other return", choice_of(name, known))
        return
    parts = expand((name,), names.known)
    tied = [bond for _, bond in reader.entries("bonds") if set(parts) & set(_parts(bond, names))]
    joined = names.other_rail.get(parts[0]) == parts[-1] if len(parts) == 2 else False
    if len(parts) > 1 and not joined and not any(set(parts) <= set(_parts(bond, names)) for bond in tied):
        yield Finding(place, f"stands for {len(parts)} parts that no bond joins", f'one part, such as "{parts[0]}"')
    if any(bond.get("kind") == CROSS_BONDED for bond in tied):
        yield Finding(place, "is cross-bonded, so that no current is given in it", f'"{EARTH}", "{FAR_AWAY}" or a part')
    elif any(bond.get("earth") is True or "impedance" in bond for bond in tied):
        wrong = "is in a bond that closes by another way, which decides its current"
        yield Finding(place, wrong, f'"{EARTH}" or "{FAR_AWAY}": this part then takes its share')


def _parts(bond: Plain, names: BondNames) -> tuple[str, ...]:
    own = [str(name) for name in as_list(bond.get("parts")) if str(name) in names.known]
    return expand(own, names.known)


def carriers(labels: tuple[str, ...]) -> tuple[str, ...]:
    """Phase labels that carry the net current of a circuit: its N, or its L phases in equal parts."""
    return ("N",) if "N" in labels else tuple(label for label in labels if label not in NO_CURRENT_NEEDED)
