"""Names of the conducting parts of a study: circuit.position.layer, and trays and metalwork by their own name."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

CONDUCTOR = "conductor"
SCREEN = "screen"
SHEATH = "sheath"
ARMOUR = "armour"

METAL_LAYERS = (SCREEN, SHEATH, ARMOUR)
"""Metal layers of a cable from the inside out."""

GROUPS: Mapping[str, str] = {SCREEN: "screens", SHEATH: "sheaths", ARMOUR: "armours"}
"""Word for all layers of one kind of a circuit."""

COVER, LEFT, RIGHT = "cover", "left", "right"

TIED_LABELS = ("N", "PE")
"""Labels whose conductors may be parts of a bond, as earth conductors in parallel are."""

LADDER, IN_CONTACT = "ladder", "closed"
JOINED, INSULATED = "joined", "insulated"


@dataclass(frozen=True)
class CircuitParts:
    """What the names of a circuit's parts follow from."""

    name: str
    labels: tuple[str, ...]
    """Phase label of each cable."""
    layers: tuple[str, ...]
    """Metal layers of its cables."""


@dataclass(frozen=True)
class TrayParts:
    """What the names of a tray's parts follow from."""

    name: str
    profile: str
    cover: object = None
    """None, "closed" for one in contact, or anything else for one that stands off."""
    rails: object = JOINED
    """Whether the rungs of a ladder join its rails, or something insulates the rails from each other."""


def part_name(circuit: str, position: int, layer: str) -> str:
    """Name of a cable's part; positions count from 1 in the order of the circuit's phases."""
    return f"{circuit}.{position}.{layer}"


def layer_group(circuit: str, layer: str) -> str:
    """Name that stands for every metal layer of one kind of a circuit, such as "F1 sheaths"."""
    return f"{circuit} {GROUPS[layer]}"


def is_layer(name: str) -> bool:
    """Whether a name is that of one metal layer or conductor of one cable."""
    return bool(re.search(rf"\.\d+\.({'|'.join((CONDUCTOR, *METAL_LAYERS))})$", name))


def tray_parts(tray: TrayParts) -> tuple[str, ...]:
    """Names of a tray's parts: itself, or the rails of a ladder without a cover in contact; then a cover with a gap."""
    rails = tray.profile == LADDER and tray.cover != IN_CONTACT
    own = (f"{tray.name}.{LEFT}", f"{tray.name}.{RIGHT}") if rails else (tray.name,)
    return own if tray.cover in (None, IN_CONTACT) else (*own, f"{tray.name}.{COVER}")


def joined_rails(tray: TrayParts) -> tuple[str, ...]:
    """Names of the two rails that the rungs of a ladder join; empty for insulated rails and for other trays."""
    rails = (f"{tray.name}.{LEFT}", f"{tray.name}.{RIGHT}")
    return rails if tray.rails == JOINED and set(rails) <= set(tray_parts(tray)) else ()


def named_parts(
    circuits: Iterable[CircuitParts], trays: Iterable[TrayParts] = (), metalwork: Iterable[str] = ()
) -> dict[str, tuple[str, ...]]:
    """Every name a bond may use, with the parts it stands for: single parts, and groups of them.

    A group is all screens, sheaths or armours of a circuit, or both rails of a ladder. Of the conductors those of N and
    PE are named; the currents of the others are given.
    """
    names: dict[str, tuple[str, ...]] = {}
    for circuit in circuits:
        positions = range(1, len(circuit.labels) + 1)
        for layer in circuit.layers:
            parts = tuple(part_name(circuit.name, position, layer) for position in positions)
            names[layer_group(circuit.name, layer)] = parts
            names.update((part, (part,)) for part in parts)
        for position, label in enumerate(circuit.labels, 1):
            if label in TIED_LABELS:
                part = part_name(circuit.name, position, CONDUCTOR)
                names[part] = (part,)
    for tray in trays:
        parts = tray_parts(tray)
        names[tray.name] = tuple(part for part in parts if part != f"{tray.name}.{COVER}")
        names.update((part, (part,)) for part in parts)
    names.update((name, (name,)) for name in metalwork)
    return names


def with_joined_rails(parts: tuple[str, ...], trays: Iterable[TrayParts]) -> tuple[str, ...]:
    """Parts of a bond, with the other rail of each ladder whose rungs join it to one of them."""
    pairs = [joined_rails(tray) for tray in trays]
    more = [rail for pair in pairs if not set(parts).isdisjoint(pair) for rail in pair if rail not in parts]
    return (*parts, *more)


def expand(parts: Iterable[str], names: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The single parts behind the names of a bond; a name that is not known raises KeyError."""
    return tuple(part for name in parts for part in names[name])


def plural(kind: str) -> str:
    """All parts of a kind in words."""
    return kind if kind.endswith("work") else f"{kind}s"
