"""What one key of a study says about another: names that must exist, keys that go together, numbers that must agree.

The checks read plain nested tables, from a file or from models, and pass over whatever is broken in itself, so that
every problem of a file can be told at once.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from studies.materials import MATERIALS
from studies.parts import CONDUCTOR, named_parts, part_name, screen_group
from studies.phases import (
    NO_CURRENT_NEEDED,
    PHASE_ANGLES,
    PhaseCurrent,
    angle_without_statement,
    balanced_angles,
    distinct,
)
from studies.problems import choice_of
from studies.quantities import QuantityError, in_range, quantity

Table = Mapping[str, object]
Place = tuple[str | int, ...]


@dataclass(frozen=True)
class Finding:
    """Something wrong at a place in the study: keys and list indices from the top, indices from 0."""

    place: Place
    wrong: str
    right: str


@dataclass(frozen=True)
class Arrangement:
    """Which keys of a circuit go with an arrangement: all of `required`, exactly one of `one_of`, any of `optional`."""

    required: tuple[str, ...]
    one_of: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()


ARRANGEMENTS: Mapping[str, Arrangement] = MappingProxyType(
    {
        "flat": Arrangement(required=("rests_at",), one_of=("spacing", "clear_gap")),
        "trefoil": Arrangement(required=("rests_at",), optional=("spacing", "group_clear_gap")),
        "positions": Arrangement(required=("positions",)),
    }
)
"""Formations by name."""

_FORMS: Mapping[str, str] = MappingProxyType(
    {
        "rests_at": 'rests_at = ["0 mm", "0 mm"]',
        "spacing": 'spacing = "56 mm"',
        "clear_gap": 'clear_gap = "1 diameter"',
        "group_clear_gap": 'group_clear_gap = "2.15 diameter"',
        "positions": 'positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]]',
    }
)

# Common practice, no source: a strand bundle fills from about half (flexible, hollow) to all of its circle, and a solid
# conductor of the maximum resistance has a little less metal than its nominal area.
FILL_RANGE = (0.4, 1.15)
"""Nominal area over the area of the conductor's circle. [-]"""

# Common practice, no source: wide enough for any stranding, narrow enough to catch ohm/m written for ohm/km.
RESISTANCE_RANGE = (0.5, 2.0)
"""Stated dc resistance over resistivity over nominal area. [-]"""


def inconsistencies(data: Table, bare_numbers: bool) -> list[Finding]:
    """Everything in a study that does not agree with the rest of it.

    Parameters
    ----------
    data : mapping
        The study's tables with the keys of the study file.
    bare_numbers : bool
        Whether numbers without a unit are SI numbers (from Python) or mistakes (from a file).

    Returns
    -------
    findings : list of Finding
        In no particular order.
    """
    checks = _Checks(data, bare_numbers)
    return [
        *checks.names(),
        *checks.materials(),
        *checks.cables(),
        *(finding for index, circuit in _entries(data, "circuits") for finding in checks.circuit(index, circuit)),
        *checks.bonds(),
        *checks.field_lines(),
    ]


def _entries(data: Table, key: str) -> Iterator[tuple[int, Table]]:
    entries = data.get(key)
    if isinstance(entries, list | tuple):
        yield from ((index, entry) for index, entry in enumerate(entries) if isinstance(entry, Mapping))


def _named(data: Table, key: str) -> dict[str, Table]:
    tables = data.get(key)
    if not isinstance(tables, Mapping):
        return {}
    return {name: table for name, table in tables.items() if isinstance(table, Mapping)}


def _labels(circuit: Table) -> tuple[str, ...]:
    """The circuit's phases where every label is known, else nothing."""
    phases = circuit.get("phases")
    if not isinstance(phases, list | tuple) or not all(isinstance(p, str) and p in PHASE_ANGLES for p in phases):
        return ()
    return tuple(phases)


def _count(circuit: Table) -> int:
    phases = circuit.get("phases")
    return len(phases) if isinstance(phases, list | tuple) else 0


class _Checks:
    def __init__(self, data: Table, bare_numbers: bool) -> None:
        self.data = data
        self.bare_numbers = bare_numbers

    def number(self, value: object, name: str) -> float | None:
        """The SI number where the value is sound in itself."""
        try:
            if self.bare_numbers and isinstance(value, int | float) and not isinstance(value, bool):
                return in_range(float(value), name)
            return quantity(value, name)
        except QuantityError:
            return None

    def point(self, value: object) -> tuple[float, float] | None:
        if not isinstance(value, list | tuple) or len(value) != 2:
            return None
        x, y = (self.number(part, "coordinate") for part in value)
        return None if x is None or y is None else (x, y)

    def names(self) -> Iterator[Finding]:
        for keys in (("circuits", "trays"), ("receptors",), ("traverses",)):
            first: dict[str, str] = {}
            for key in keys:
                for index, entry in _entries(self.data, key):
                    name = entry.get("name")
                    if not isinstance(name, str):
                        continue
                    place = f"{key}[{index + 1}]"
                    taken = first.setdefault(name.casefold(), place)
                    if taken != place:
                        right = "a name of its own, different by more than capital letters"
                        yield Finding((key, index, "name"), f"is already the name of {taken}", right)
        groups = {screen_group(str(c.get("name"))).casefold() for _, c in _entries(self.data, "circuits")}
        for index, tray in _entries(self.data, "trays"):
            if str(tray.get("name")).casefold() in groups:
                yield Finding(("trays", index, "name"), "already stands for the screens of a circuit", "another name")

    def materials(self) -> Iterator[Finding]:
        own = _named(self.data, "materials")
        for name, table in own.items():
            if name in MATERIALS:
                yield Finding(("materials", name), "is the name of a built-in material", f'"{name}-2" or another name')
            stated = [key for key in ("conductivity", "resistivity") if key in table]
            if len(stated) != 1:
                wrong = "gives both conductivity and resistivity" if stated else "gives no conductivity"
                yield Finding(("materials", name), wrong, 'exactly one: conductivity = "6.0 MS/m" or resistivity')
        table_names = self.data.get("materials")
        known = [*(table_names if isinstance(table_names, Mapping) else ()), *MATERIALS]
        for place, table in self.users_of_materials():
            material = table.get("material")
            if isinstance(material, str) and material.strip() and material not in known:
                right = f"{choice_of(material, known)}; or a [materials.NAME] of the study"
                yield Finding((*place, "material"), "is no known material", right)

    def users_of_materials(self) -> Iterator[tuple[Place, Table]]:
        for name, cable in _named(self.data, "cables").items():
            for layer in ("conductor", "screen"):
                part = cable.get(layer)
                if isinstance(part, Mapping):
                    yield ("cables", name, layer), part
        for index, tray in _entries(self.data, "trays"):
            yield ("trays", index), tray

    def resistivity(self, name: object) -> float | None:
        own = _named(self.data, "materials").get(str(name))
        if own is None:
            return 1 / MATERIALS[str(name)].conductivity if name in MATERIALS else None
        conductivity = self.number(own.get("conductivity"), "conductivity")
        return self.number(own.get("resistivity"), "resistivity") if conductivity is None else 1 / conductivity

    def cables(self) -> Iterator[Finding]:
        for name, cable in _named(self.data, "cables").items():
            if "screen" in cable and "jacket" not in cable:
                right = 'jacket = "1.8 mm"; without one, touching screens would be one part'
                yield Finding(("cables", name, "jacket"), "is missing over a screen", right)
            conductor = cable.get("conductor")
            if isinstance(conductor, Mapping):
                yield from self.conductor(("cables", name, "conductor"), conductor)

    def conductor(self, place: Place, conductor: Table) -> Iterator[Finding]:
        area = self.number(conductor.get("area"), "area")
        if area is None:
            return
        diameter = self.number(conductor.get("diameter"), "diameter")
        low, high = FILL_RANGE
        if diameter is not None and not low <= area / (math.pi / 4 * diameter**2) <= high:
            least, most = (math.sqrt(4 * area / math.pi / fill) * 1e3 for fill in (high, low))
            wrong = f"does not go with the area of {area * 1e6:.4g} mm^2"
            yield Finding((*place, "diameter"), wrong, f"from {least:.3g} mm to {most:.3g} mm, outside of the strands")
        resistance = self.number(conductor.get("dc_resistance"), "dc resistance")
        resistivity = self.resistivity(conductor.get("material"))
        if resistance is not None and resistivity is not None:
            expected = resistivity / area
            if not RESISTANCE_RANGE[0] <= resistance / expected <= RESISTANCE_RANGE[1]:
                wrong = "does not go with the conductor's material and area"
                yield Finding((*place, "dc_resistance"), wrong, f"near {expected * 1e3:.3g} ohm/km at 20 degC")

    def circuit(self, index: int, circuit: Table) -> Iterator[Finding]:
        place: Place = ("circuits", index)
        cable, cables = circuit.get("cable"), self.data.get("cables")
        if isinstance(cable, str) and cable.strip() and isinstance(cables, Mapping) and cable not in cables:
            yield Finding(
                (*place, "cable"), "is no known cable", choice_of(cable, cables) if cables else "[cables.NAME]"
            )
        name = circuit.get("arrangement")
        arrangement = ARRANGEMENTS.get(name) if isinstance(name, str) else None
        if arrangement is not None:
            yield from _arrangement_keys(place, circuit, str(name), arrangement)
        yield from _cable_count(place, circuit)
        labels = _labels(circuit)
        if labels and "current" in circuit:
            yield from self.currents((*place, "current"), labels, circuit["current"])

    def currents(self, place: Place, labels: Sequence[str], current: object) -> Iterator[Finding]:
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
            elif self.lacks_angle(label, labels, entry):
                yield Finding((*place, label), f"has no angle, and {label} has none in a balanced circuit", _WITH_ANGLE)
        for label in needed:
            if label not in current:
                yield Finding((*place, label), "is missing, every phase needs a current", f'{label} = "400 A"')

    def lacks_angle(self, label: str, labels: Sequence[str], entry: object) -> bool:
        if isinstance(entry, PhaseCurrent) or (self.bare_numbers and isinstance(entry, list | tuple)):
            if len(entry) == 2 and entry[1] is not None:
                return False
            entry = entry[0] if entry else None
        elif isinstance(entry, list | tuple):
            return False
        return bool(self.number(entry, "current")) and angle_without_statement(label, labels) is None

    def bonds(self) -> Iterator[Finding]:
        cables = _named(self.data, "cables")
        circuits = [
            (str(c.get("name")), _count(c), "screen" in cables.get(str(c.get("cable")), {}))
            for _, c in _entries(self.data, "circuits")
        ]
        # a circuit without sound phases or cable is told by itself, not again for the parts it would have
        unclear = [
            name
            for (name, count, _), (_, c) in zip(circuits, _entries(self.data, "circuits"), strict=True)
            if not count or str(c.get("cable")) not in cables
        ]
        known = named_parts(circuits, [str(tray.get("name")) for _, tray in _entries(self.data, "trays")])
        first: dict[str, str] = {}
        for index, bond in _entries(self.data, "bonds"):
            parts = bond.get("parts")
            if not isinstance(parts, list | tuple):
                continue
            tied: list[str] = []
            for entry, name in enumerate(parts):
                place: Place = ("bonds", index, "parts", entry)
                if not isinstance(name, str) or not name.strip():
                    continue
                if any(name == screen_group(circuit) or name.startswith(f"{circuit}.") for circuit in unclear):
                    tied.extend((name, f"{name}, and more"))
                elif name not in known:
                    yield Finding(place, _why_no_part(name, circuits), _parts_right(name, known))
                    tied.append(name)
                for part in known.get(name, ()):
                    taken = first.setdefault(part, f"bonds[{index + 1}]")
                    if part in tied or taken != f"bonds[{index + 1}]":
                        where = "this bond" if part in tied else taken
                        yield Finding(place, f"ties {part}, which is already in {where}", "each part in one bond, once")
                        break
                tied.extend(known.get(name, ()))
            if len(set(tied)) == 1:
                right = 'two parts or more, such as ["F1 screens", "T1"]; a part in no bond carries no net current'
                yield Finding(("bonds", index, "parts"), "ties only one part", right)

    def field_lines(self) -> Iterator[Finding]:
        for index, traverse in _entries(self.data, "traverses"):
            start, end = self.point(traverse.get("from")), self.point(traverse.get("to"))
            if start is not None and start == end:
                yield Finding(
                    ("traverses", index, "to"), "is the same point as from", "another point: a line has a length"
                )
        field_map = self.data.get("map")
        window = field_map.get("window") if isinstance(field_map, Mapping) else None
        if isinstance(window, list | tuple) and len(window) == 2:
            low, high = self.point(window[0]), self.point(window[1])
            if low and high and not (low[0] < high[0] and low[1] < high[1]):
                right = 'lower left, then upper right corner: [["-2 m", "-1 m"], ["2 m", "2 m"]]'
                yield Finding(("map", "window"), "has no extent to the right or upwards", right)


_WITH_ANGLE = '["20 A", "-118 deg"]'


def _arrangement_keys(place: Place, circuit: Table, name: str, arrangement: Arrangement) -> Iterator[Finding]:
    allowed = (*arrangement.required, *arrangement.one_of, *arrangement.optional)
    for key in _FORMS:
        if key in circuit and key not in allowed:
            yield Finding((*place, key), f"does not go with {name}", f"leave it out; {name} takes {', '.join(allowed)}")
    for key in arrangement.required:
        if key not in circuit:
            yield Finding((*place, key), f"is missing, {name} needs it", _FORMS[key])
    given = [key for key in arrangement.one_of if key in circuit]
    if len(given) > 1 or (arrangement.one_of and not given and _count(circuit) > 1):
        both = " and ".join(arrangement.one_of)
        wrong = f"is given twice, by {both}" if given else "is missing"
        right = "exactly one of " + " or ".join(_FORMS[key] for key in arrangement.one_of)
        yield Finding((*place, arrangement.one_of[0]), wrong, right)


def _cable_count(place: Place, circuit: Table) -> Iterator[Finding]:
    count, arrangement, positions = _count(circuit), circuit.get("arrangement"), circuit.get("positions")
    if arrangement == "trefoil" and count % 3:
        wrong = f"has {count} entr{'y' if count == 1 else 'ies'}, trefoil lays cables in threes"
        yield Finding((*place, "phases"), wrong, '["L1", "L2", "L3"], left, right, top of each group in turn')
    if not (arrangement == "positions" and count and isinstance(positions, list | tuple) and positions):
        return
    if len(positions) != count:
        right = f"{count} positions, one for each entry of phases"
        yield Finding((*place, "positions"), f"has {len(positions)} positions for {count} phases", right)


def _why_no_part(name: str, circuits: Sequence[tuple[str, int, bool]]) -> str:
    for circuit, count, has_screen in circuits:
        conductors = [part_name(circuit, position, CONDUCTOR) for position in range(1, count + 1)]
        if name in conductors:
            return "is a conductor, whose current is given by its circuit"
        if not has_screen and (name == screen_group(circuit) or name.startswith(f"{circuit}.")):
            return f"names a screen of {circuit}, whose cable has none"
    return "is no known part"


def _parts_right(name: str, known: Mapping[str, tuple[str, ...]]) -> str:
    if not known:
        return "screens and trays; this study has none"
    return choice_of(name, [part for part in known if not part.endswith(".screen")] + [p for p in known if p == name])
