"""Bonds of the study file, the path by which they close and the earth, and what must agree among them."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated

from studies.study.entries import Coordinate, KeyTable, Truth, Word, list_entry, pair_entry, quantity_entry, word_entry
from studies.study.findings import (
    Finding,
    Place,
    Plain,
    Reader,
    as_list,
    is_drawn,
    is_word,
    labels_of,
    needed,
)
from studies.study.parts import (
    CONDUCTOR,
    GROUPS,
    JOINED,
    METAL_LAYERS,
    SCREEN,
    SHEATH,
    TIED_LABELS,
    CircuitParts,
    TrayParts,
    is_layer,
    joined_rails,
    layer_group,
    named_parts,
    part_name,
)
from studies.study.phases import LINES
from studies.text.problems import choice_of

BOTH_ENDS = "both ends"
CROSS_BONDED = "cross-bonded"
EVERY_JOINT = "every joint"
BONDINGS = (BOTH_ENDS, EVERY_JOINT, CROSS_BONDED)
"""Kinds of bonds: tied at both ends of the run only, at every joint of its sections as well, or in three equal minor
sections with the screens transposed."""

Series = Annotated[float, quantity_entry("closing impedance")]


class Bond(KeyTable):
    """Parts tied together, each by its name or with others as "F1 screens"."""

    parts: Annotated[tuple[Word, ...], list_entry('["F1 screens", "T1"]', least=1)]
    """parts, or groups such as "F1 screens"; conductors only of N and PE"""
    kind: Annotated[str, word_entry("kind of bond", BONDINGS)] = BOTH_ENDS
    """tied at both ends of the run only, at every joint of its sections too, or cross-bonded in three equal sections"""
    impedance: (
        Annotated[tuple[Series, Series], pair_entry('["0.1 ohm/km", "0.05 ohm/km"]', "resistance and reactance")] | None
    ) = None
    """resistance and reactance in series with the closing path, per length of the run; without one, none"""
    earth: Truth = False
    """whether the bond also closes through the earth; needs [earth]"""


class Earth(KeyTable):
    """The earth as a return path, flat and homogeneous: resistivity [ohm m] and height y of its surface [m]."""

    resistivity: Annotated[float, quantity_entry("earth resistivity")]
    """resistivity of the earth, which is homogeneous"""
    surface: Coordinate = 0.0
    """y of the earth's surface; parts above it run in air, parts below are buried"""


def bond_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each bond and between bonds; nothing while no circuit can be read."""
    if not isinstance(reader.data.get("circuits"), list | tuple):
        return
    names = BondNames(reader)
    taken: dict[str, str] = {}
    for index, bond in reader.entries("bonds"):
        place: Place = ("bonds", index, "parts")
        if bond.get("earth") is True:
            yield from needed(reader, ("bonds", index, "earth"), "earth")
        tied: list[str] = []
        for entry, name in enumerate(as_list(bond.get("parts"))):
            if is_word(name):
                yield from _entry((*place, entry), str(name), names, taken, tied)
        if len(set(tied)) == 1 and bond.get("earth") is not True:
            right = 'two parts or more, such as ["F1 screens", "T1"]; a part in no bond carries no net current'
            yield Finding(place, "ties only one part", right)
        yield from _returns(reader, place, tied, bond.get("kind") == EVERY_JOINT)
        unsure = any(_belongs(str(part), c) for part in as_list(bond.get("parts")) for c in names.unclear + names.drawn)
        if bond.get("kind") == CROSS_BONDED and not unsure:
            yield from _cross_bonded(place, tied, names.circuits)


class BondNames:
    """Names that bonds may use, and circuits whose parts are not known."""

    def __init__(self, reader: Reader) -> None:
        self.circuits, self.unclear = _circuits(reader)
        self.drawn = [str(circuit.get("name")) for _, circuit in reader.entries("circuits") if is_drawn(circuit)]
        trays = [_tray_parts(tray) for _, tray in reader.entries("trays")]
        pairs = [pair for tray in trays if (pair := joined_rails(tray))]
        self.other_rail = {a: b for pair in pairs for a, b in (pair, pair[::-1])}
        self.known = named_parts(self.circuits, trays, reader.titles("metalwork"))

    def may_be_part(self, name: str) -> bool:
        """Whether a name may be that of a part of a circuit whose parts are not known."""
        return any(_belongs(name, circuit) for circuit in self.unclear) or any(
            name.startswith(f"{circuit}.") for circuit in self.drawn
        )


def _entry(place: Place, name: str, names: BondNames, taken: dict[str, str], tied: list[str]) -> Iterator[Finding]:
    """One name of a bond; `tied` gains its parts, and `taken` the bond in which each part is first."""
    own = f"bonds[{int(place[1]) + 1}]"
    if names.may_be_part(name):
        tied.extend((name, f"{name}, and more"))
        return
    if name not in names.known:
        yield Finding(place, _why_no_part(name, names.circuits), _parts_right(name, names.known))
        tied.append(name)
    for part in names.known.get(name, ()):
        first = taken.setdefault(part, own)
        if part in tied or first != own:
            where = "this bond" if part in tied else first
            yield Finding(place, f"ties {part}, which is already in {where}", "each part in one bond, once")
            break
        rail = names.other_rail.get(part, "")
        if taken.get(rail, own) != own:
            wrong = f"ties {part}; rungs join it to {rail}, which is in {taken[rail]}"
            yield Finding(place, wrong, 'both rails in one bond, or rails = "insulated" for the tray')
    tied.extend(names.known.get(name, ()))
    if any(_belongs(name, circuit) for circuit in names.drawn):
        tied.append(f"{name}, and more")


def _tray_parts(tray: Plain) -> TrayParts:
    return TrayParts(str(tray.get("name")), str(tray.get("profile")), tray.get("cover"), tray.get("rails", JOINED))


def _circuits(reader: Reader) -> tuple[list[CircuitParts], list[str]]:
    """The circuits, and the names of those whose parts are not known, which is told by itself."""
    cables = reader.named("cables")
    circuits, unclear = [], []
    for _, circuit in reader.entries("circuits"):
        cable: Plain = cables.get(str(circuit.get("cable")), {})
        layers = tuple(layer for layer in METAL_LAYERS if layer in cable)
        labels = labels_of(circuit) or ("",) * len(as_list(circuit.get("phases")))
        circuits.append(CircuitParts(str(circuit.get("name")), labels, layers))
        if not labels or str(circuit.get("cable")) not in cables:
            unclear.append(str(circuit.get("name")))
    return circuits, unclear


def _belongs(name: str, circuit: str) -> bool:
    """Whether a name is that of parts of this circuit."""
    return name.startswith(f"{circuit}.") or any(name == layer_group(circuit, layer) for layer in GROUPS)


def _why_no_part(name: str, circuits: Sequence[CircuitParts]) -> str:
    for circuit in circuits:
        conductors = [part_name(circuit.name, n, CONDUCTOR) for n in range(1, len(circuit.labels) + 1)]
        if name in conductors:
            return "is a conductor, whose current is given by its circuit"
        for layer in METAL_LAYERS:
            single = name.startswith(f"{circuit.name}.") and name.endswith(f".{layer}")
            if layer not in circuit.layers and (single or name == layer_group(circuit.name, layer)):
                return f"names a{'n' if layer[0] in 'aeiou' else ''} {layer} of {circuit.name}, whose cable has none"
    return "is no known part"


def _parts_right(name: str, known: Mapping[str, tuple[str, ...]]) -> str:
    if not known:
        return "screens and trays; this study has none"
    return choice_of(name, [part for part in known if not is_layer(part)] + [p for p in known if p == name])


def _returns(reader: Reader, place: Place, tied: Sequence[str], every_joint: bool) -> Iterator[Finding]:
    """Neutrals and earth conductors in a bond: all cables of a label or none, and no current stated for them.

    A neutral that is joined at every joint is refused: the current of a load returns in it from end to end.
    """
    for _, circuit in reader.entries("circuits"):
        labels, current = () if is_drawn(circuit) else labels_of(circuit), circuit.get("current")
        for label in TIED_LABELS:
            own = [part_name(str(circuit.get("name")), n, CONDUCTOR) for n, at in enumerate(labels, 1) if at == label]
            bonded = [part for part in own if part in tied]
            if not bonded:
                continue
            if len(bonded) < len(own):
                left = ", ".join(part for part in own if part not in tied)
                wrong = f"ties {', '.join(bonded)} without {left}, cables of the same {label}"
                yield Finding(place, wrong, f"all cables of {label} in the bond, or none")
            if label == "N" and every_joint:
                wrong = f"joins {bonded[0]}, a neutral, at every joint"
                yield Finding(place, wrong, f'kind = "{BOTH_ENDS}", or a bond without the neutral')
            if isinstance(current, Mapping) and label in current:
                wrong = f"ties {bonded[0]}, and the circuit states the current of {label}"
                yield Finding(place, wrong, f"no current for {label}, which the bond decides, or no {bonded[0]} here")


def _cross_bonded(place: Place, tied: Sequence[str], circuits: Sequence[CircuitParts]) -> Iterator[Finding]:
    right = 'the three screens, or the three sheaths, of circuits with L1, L2 and L3: ["F1 screens"]'
    left = set(tied)
    for circuit in circuits:
        for layer in (SCREEN, SHEATH):
            own = {part_name(circuit.name, n, layer) for n in range(1, len(circuit.labels) + 1)}
            if not own & left:
                continue
            if sorted(circuit.labels) != sorted(LINES):
                wrong = (
                    f"is cross-bonded with {layer}s of {circuit.name}, which has not one cable for each of L1, L2, L3"
                )
                yield Finding(place, wrong, right)
            elif own - left:
                yield Finding(place, f"is cross-bonded without {', '.join(sorted(own - left))}", right)
            left -= own
    if left:
        wrong = f"is cross-bonded with {', '.join(sorted(left))}, which cannot be transposed"
        yield Finding(place, wrong, right)
