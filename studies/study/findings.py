"""Findings, and how the checks read a study's tables: whatever is broken in itself is passed over."""

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from studies.study.phases import PHASE_ANGLES
from studies.study.quantities import QuantityError, in_range, quantity
from studies.text.problems import choice_of

Plain = Mapping[str, object]
"""A table of the study as it was written, or of models as plain data."""
Place = tuple[str | int, ...]
"""Keys and list indices from the top of the study, indices from 0."""

TABLES: Mapping[str, str] = {
    "drawing": '[drawing] with file = "section.dxf" and unit = "mm"',
    "earth": '[earth] with resistivity = "100 ohm*m"',
    "supply": '[supply] with voltage = "400 V"',
    "route": '[[route]] with length = "120 m"',
}
"""Tables of the study that others need, each with its form."""


@dataclass(frozen=True)
class Finding:
    """Something wrong at a place in the study."""

    place: Place
    wrong: str
    right: str


@dataclass(frozen=True)
class Reader:
    """A study's tables, and whether numbers without a unit are SI numbers in them."""

    data: Plain
    bare_numbers: bool

    def number(self, value: object, name: str) -> float | None:
        """SI number of a named quantity if the value is sound in itself."""
        try:
            if self.bare_numbers and isinstance(value, int | float) and not isinstance(value, bool):
                return in_range(float(value), name)
            return quantity(value, name)
        except QuantityError:
            return None

    def point(self, value: object) -> tuple[float, float] | None:
        """A point [m] if the value is sound in itself."""
        if not isinstance(value, list | tuple) or len(value) != 2:
            return None
        x, y = (self.number(part, "coordinate") for part in value)
        return None if x is None or y is None else (x, y)

    def space_point(self, value: object) -> tuple[float, float, float] | None:
        """A point in space [m] if the value is sound in itself."""
        if not isinstance(value, list | tuple) or len(value) != 3:
            return None
        x, y, z = (self.number(part, "coordinate") for part in value)
        return None if x is None or y is None or z is None else (x, y, z)

    def entries(self, key: str) -> Iterator[tuple[int, Plain]]:
        """Each table of a list of tables with its index from 0."""
        yield from ((k, entry) for k, entry in enumerate(as_list(self.data.get(key))) if isinstance(entry, Mapping))

    def named(self, key: str) -> dict[str, Plain]:
        """Each table of a set of named tables."""
        return {name: table for name, table in self.table(key).items() if isinstance(table, Mapping)}

    def table(self, key: str) -> Plain:
        """A table of the study, empty if it is missing or none."""
        return as_table(self.data.get(key))

    def titles(self, key: str) -> list[str]:
        """The names in a list of tables."""
        return [str(entry.get("name")) for _, entry in self.entries(key)]


def as_table(value: object) -> Plain:
    """A value that is a table, else an empty one."""
    return value if isinstance(value, Mapping) else {}


def as_list(value: object) -> Sequence[object]:
    """A value that is a list, else an empty one."""
    return value if isinstance(value, list | tuple) else ()


def is_drawn(circuit: Plain) -> bool:
    """Whether the circuit's cables are taken from a drawing, so that their number is known only there."""
    return circuit.get("arrangement") == "drawing"


def labels_of(circuit: Plain) -> tuple[str, ...]:
    """The circuit's phases, or those of its drawing, if every label is known, else nothing."""
    phases, layers = circuit.get("phases"), circuit.get("drawn_on")
    if phases is None and is_drawn(circuit) and isinstance(layers, Mapping):
        phases = list(layers)
    labels = as_list(phases)
    return tuple(map(str, labels)) if all(isinstance(p, str) and p in PHASE_ANGLES for p in labels) else ()


def is_word(value: object) -> bool:
    """Whether a value is text that is not empty."""
    return isinstance(value, str) and bool(value.strip())


def unknown(
    place: Place, name: object, known: Iterable[str], what: str, none: str = "", also: str = ""
) -> Iterator[Finding]:
    """A name that is none of those known; `none` is the right form if nothing is known, `also` another way out."""
    known = list(known)
    if isinstance(name, str) and name not in known:
        right = none if none and not known else f"{choice_of(name, known)}{also}"
        yield Finding(place, f"is no {what}", right)


def repeated(entries: Iterable[tuple[Place, Hashable, str]]) -> Iterator[tuple[Place, str]]:
    """The place of every key that was there before, with the title of the first."""
    first: dict[Hashable, str] = {}
    for place, key, title in entries:
        if key in first:
            yield place, first[key]
        first.setdefault(key, title)


def needed(reader: Reader, place: Place, key: str) -> Iterator[Finding]:
    """A table that something needs and the study has not."""
    if key not in reader.data:
        article = "an" if key[0] in "aeiou" else "a"
        yield Finding(place, f"needs {article} {key}, the study has none", TABLES[key])


def exactly_one(place: Place, table: Plain, keys: Sequence[str], both: str, none: str, right: str) -> Iterator[Finding]:
    """Two keys of which a table gives both or none, and the words for either."""
    stated = [key for key in keys if key in table]
    if len(stated) != 1:
        yield Finding(place, f"gives {both if stated else none}", right)


def not_held(
    reader: Reader, table: Plain, part: tuple[str, str], whole: tuple[str, str], times: int = 2
) -> float | None:
    """Size [m] of a whole into which so many parts do not fit; None if they fit, or one of both sizes is not sound.

    Part and whole are each the key in the table and the quantity that it is.
    """
    inner, outer = (reader.number(table.get(key), kind) for key, kind in (part, whole))
    return outer if inner is not None and outer is not None and times * inner >= outer else None
