"""Names of the conducting parts of a study: circuit.position.layer, and trays by their own name."""

from collections.abc import Iterable, Mapping

CONDUCTOR = "conductor"
SCREEN = "screen"


def part_name(circuit: str, position: int, layer: str) -> str:
    """Name of a cable's part; positions count from 1 in the order of the circuit's phases."""
    return f"{circuit}.{position}.{layer}"


def screen_group(circuit: str) -> str:
    """Name that stands for every screen of a circuit."""
    return f"{circuit} screens"


def named_parts(circuits: Iterable[tuple[str, int, bool]], trays: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Every name a bond may use, with the parts it stands for.

    Parameters
    ----------
    circuits : iterable of (name, number of cables, whether the cables have screens)
        The circuits.
    trays : iterable of str
        Names of the trays.

    Returns
    -------
    names : dict of str to tuple of str
        The parts that may be tied together, and groups of them; conductors are not among them, their currents
        are given.
    """
    names: dict[str, tuple[str, ...]] = {}
    for circuit, count, has_screen in circuits:
        if has_screen:
            screens = tuple(part_name(circuit, position, SCREEN) for position in range(1, count + 1))
            names[screen_group(circuit)] = screens
            names.update((screen, (screen,)) for screen in screens)
    names.update((tray, (tray,)) for tray in trays)
    return names


def expand(parts: Iterable[str], names: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The single parts behind the names of a bond; a name that is not known raises KeyError."""
    return tuple(part for name in parts for part in names[name])
