"""Findings, and how the checks read a study's tables, sound or not."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from studies.study.key_sets import FORMS, KeySet, governed
from studies.study.phases import PHASE_ANGLES
from studies.study.quantities import QuantityError, in_range, quantity

Table = Mapping[str, object]
Place = tuple[str | int, ...]


@dataclass(frozen=True)
class Finding:
    """Something wrong at a place in the study: keys and list indices from the top, indices from 0."""

    place: Place
    wrong: str
    right: str


@dataclass(frozen=True)
class Reader:
    """A study's tables, and whether numbers without a unit are SI numbers in them."""

    data: Table
    bare_numbers: bool

    def number(self, value: object, name: str) -> float | None:
        """SI number of a named quantity where the value is sound in itself."""
        try:
            if self.bare_numbers and isinstance(value, int | float) and not isinstance(value, bool):
                return in_range(float(value), name)
            return quantity(value, name)
        except QuantityError:
            return None

    def point(self, value: object) -> tuple[float, float] | None:
        """A point [m] where the value is sound in itself."""
        if not isinstance(value, list | tuple) or len(value) != 2:
            return None
        x, y = (self.number(part, "coordinate") for part in value)
        return None if x is None or y is None else (x, y)

    def entries(self, key: str) -> Iterator[tuple[int, Table]]:
        """Each table of a list of tables with its index from 0."""
        entries = self.data.get(key)
        if isinstance(entries, list | tuple):
            yield from ((index, entry) for index, entry in enumerate(entries) if isinstance(entry, Mapping))

    def named(self, key: str) -> dict[str, Table]:
        """Each table of a set of named tables."""
        tables = self.data.get(key)
        if not isinstance(tables, Mapping):
            return {}
        return {name: table for name, table in tables.items() if isinstance(table, Mapping)}


def is_drawn(circuit: Table) -> bool:
    """Whether the circuit's cables are taken from a drawing, so that their number is known only there."""
    return circuit.get("arrangement") == "drawing"


def labels_of(circuit: Table) -> tuple[str, ...]:
    """The circuit's phases, or those of its drawing, where every label is known, else nothing."""
    phases, layers = circuit.get("phases"), circuit.get("drawn_on")
    if phases is None and is_drawn(circuit) and isinstance(layers, Mapping):
        phases = list(layers)
    if not isinstance(phases, list | tuple) or not all(isinstance(p, str) and p in PHASE_ANGLES for p in phases):
        return ()
    return tuple(phases)


def count_of(circuit: Table) -> int:
    """Number of the circuit's cables, 0 where it is not known."""
    phases = circuit.get("phases")
    return len(phases) if isinstance(phases, list | tuple) else 0


def is_word(value: object) -> bool:
    """Whether a value is text that is not empty."""
    return isinstance(value, str) and bool(value.strip())


def key_findings(place: Place, table: Table, choices: Mapping[str, KeySet], choice: object) -> Iterator[Finding]:
    """Keys of a table that do not go with its choice, and keys that the choice needs and that are missing."""
    keys = choices.get(choice) if isinstance(choice, str) else None
    if keys is None:
        return
    for key in governed(choices):
        if key in table and key not in keys.allowed:
            right = f"leave it out; {choice} takes {', '.join(keys.allowed)}"
            yield Finding((*place, key), f"does not go with {choice}", right)
    for key in keys.required:
        if key not in table:
            yield Finding((*place, key), f"is missing, {choice} needs it", FORMS[key])
