"""Circuits: keys that go with the arrangement, cables for each phase, currents that say all, harmonics with a path."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress

from studies.study.checks.findings import (
    Finding,
    Place,
    Reader,
    Table,
    count_of,
    is_drawn,
    is_word,
    key_findings,
    labels_of,
)
from studies.study.key_sets import ARRANGEMENTS, FORMS
from studies.study.phases import (
    NO_CURRENT_NEEDED,
    PhaseCurrent,
    angle_without_statement,
    balanced_angles,
    distinct,
    harmonic_order,
    without_path,
)
from studies.study.quantities import RANGES, QuantityError, bounds
from studies.text.problems import choice_of

_WITH_ANGLE = '["20 A", "-118 deg"]'


def circuit_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each circuit."""
    for index, circuit in reader.entries("circuits"):
        place: Place = ("circuits", index)
        cable, cables = circuit.get("cable"), reader.data.get("cables")
        if is_word(cable) and isinstance(cables, Mapping) and cable not in cables:
            right = choice_of(str(cable), cables) if cables else "[cables.NAME]"
            yield Finding((*place, "cable"), "is no known cable", right)
        yield from key_findings(place, circuit, ARRANGEMENTS, circuit.get("arrangement"))
        yield from _one_of(place, circuit)
        yield from _cable_count(place, circuit)
        yield from _layers(place, circuit)
        labels = labels_of(circuit)
        if labels and "current" in circuit:
            yield from _currents(reader, (*place, "current"), labels, circuit["current"])
        yield from _harmonics(reader, (*place, "harmonics"), labels, circuit)


def _one_of(place: Place, circuit: Table) -> Iterator[Finding]:
    name = circuit.get("arrangement")
    arrangement = ARRANGEMENTS.get(name) if isinstance(name, str) else None
    if arrangement is None:
        return
    given = [key for key in arrangement.one_of if key in circuit]
    if len(given) > 1 or (arrangement.one_of and not given and count_of(circuit) > 1):
        both = " and ".join(arrangement.one_of)
        wrong = f"is given twice, by {both}" if given else "is missing"
        right = "exactly one of " + " or ".join(FORMS[key] for key in arrangement.one_of)
        yield Finding((*place, arrangement.one_of[0]), wrong, right)


def _cable_count(place: Place, circuit: Table) -> Iterator[Finding]:
    count, arrangement, positions = count_of(circuit), circuit.get("arrangement"), circuit.get("positions")
    if arrangement == "trefoil" and count % 3:
        wrong = f"has {count} entr{'y' if count == 1 else 'ies'}, trefoil lays cables in threes"
        yield Finding((*place, "phases"), wrong, '["L1", "L2", "L3"], left, right, top of each group in turn')
    if not (arrangement == "positions" and count and isinstance(positions, list | tuple) and positions):
        return
    if len(positions) != count:
        right = f"{count} positions, one for each entry of phases"
        yield Finding((*place, "positions"), f"has {len(positions)} positions for {count} phases", right)


def _layers(place: Place, circuit: Table) -> Iterator[Finding]:
    """Phases stated beside those of a drawing, and layers that two phases share."""
    layers = circuit.get("drawn_on")
    if not is_drawn(circuit) or not isinstance(layers, Mapping):
        return
    labels = labels_of(circuit)
    if labels and set(labels) != set(layers):
        right = f"leave it out, or {', '.join(map(str, layers))}, as often as there are cables"
        yield Finding((*place, "phases"), "does not agree with the phases of drawn_on", right)
    first: dict[str, str] = {}
    for label, layer in layers.items():
        if is_word(layer) and (taken := first.setdefault(str(layer), str(label))) != label:
            wrong = f"is already the layer of {taken}"
            yield Finding((*place, "drawn_on", label), wrong, "a layer of its own for each phase")


def _currents(reader: Reader, place: Place, labels: Sequence[str], current: object) -> Iterator[Finding]:
    needed = [label for label in distinct(labels) if label not in NO_CURRENT_NEEDED]
    if not isinstance(current, Mapping):
        if balanced_angles(labels) is None:
            table = ", ".join(f'{label} = ["400 A", "0 deg"]' for label in needed or distinct(labels))
            wrong = f"does not say what the phases {', '.join(distinct(labels))} carry"
            yield Finding(place, wrong, f"a current for each: {{ {table} }}")
        return
    for label, entry in current.items():
        if label not in labels:
            yield Finding((*place, label), "is no phase of this circuit", choice_of(label, distinct(labels)))
        elif _lacks_angle(reader, label, labels, entry):
            yield Finding((*place, label), f"has no angle, and {label} has none in a balanced circuit", _WITH_ANGLE)
    for label in needed:
        if label not in current:
            yield Finding((*place, label), "is missing, every phase needs a current", f'{label} = "400 A"')


def _lacks_angle(reader: Reader, label: str, labels: Sequence[str], entry: object) -> bool:
    if isinstance(entry, PhaseCurrent) or (reader.bare_numbers and isinstance(entry, list | tuple)):
        if len(entry) == 2 and entry[1] is not None:
            return False
        entry = entry[0] if entry else None
    elif isinstance(entry, list | tuple):
        return False
    return bool(reader.number(entry, "current")) and angle_without_statement(label, labels) is None


def _harmonics(reader: Reader, place: Place, labels: Sequence[str], circuit: Table) -> Iterator[Finding]:
    harmonics = circuit.get("harmonics")
    if not isinstance(harmonics, Mapping):
        return
    fundamental, highest = _fundamental(reader, circuit), bounds("frequency")[1]
    for key, order in _orders(harmonics):
        if fundamental is not None and order * fundamental > highest * (1 + 1e-12):  # rounded conversion
            wrong = f"is at {order * fundamental:g} Hz, above the highest frequency"
            yield Finding((*place, key), wrong, f"order times frequency up to {RANGES['frequency'].high}")
        if labels and without_path(order, labels):
            wrong = "has no path: it is in step in L1, L2 and L3, and the circuit has no N to return by"
            yield Finding((*place, key), wrong, 'an "N" among the phases, or an order that is no multiple of 3')


def _fundamental(reader: Reader, circuit: Table) -> float | None:
    return reader.number(circuit.get("frequency", reader.data.get("frequency")), "frequency")


def _orders(harmonics: Mapping[str | int, object]) -> Iterator[tuple[str | int, int]]:
    for key in harmonics:
        with suppress(QuantityError):
            yield key, harmonic_order(key)


def frequencies(reader: Reader) -> set[float]:
    """Every frequency at which currents flow, as far as it is sound. [Hz]"""
    found: set[float] = set()
    for _, circuit in reader.entries("circuits"):
        fundamental, harmonics = _fundamental(reader, circuit), circuit.get("harmonics")
        if fundamental is not None:
            orders = _orders(harmonics) if isinstance(harmonics, Mapping) else ()
            found |= {fundamental, *(order * fundamental for _, order in orders)}
    return found
