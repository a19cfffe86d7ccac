"""What a study asks for: field at points, on lines and in rectangles, map, sweep, accuracy; and their checks."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.data.reference_levels import LEVEL_SETS, reference_level
from studies.study.circuits import stated_frequencies
from studies.study.direct_currents import StaticLimit
from studies.study.entries import (
    Entry,
    KeyTable,
    Name,
    Point,
    Window,
    Word,
    input_error,
    list_entry,
    measured,
    number_entry,
    pair_entry,
    quantity_entry,
)
from studies.study.findings import Finding, Place, Reader, as_list
from studies.study.parts import COVER
from studies.study.quantities import QuantityError
from studies.study.unit_patterns import quantity_schema
from studies.text.problems import choice_of

MOST_POINTS = 100_001
"""Most points of a traverse."""


def _limit(value: object, info: ValidationInfo) -> float | str:
    if isinstance(value, str) and value in LEVEL_SETS:
        return value
    try:
        return measured(value, "limit", info)
    except QuantityError:
        if not isinstance(value, str) or not value.strip()[:1].isalpha():
            raise
        right = f'{choice_of(value, LEVEL_SETS)}; or a flux density such as "0.5 uT"'
        raise input_error("is no known reference level", right) from None


Limit = Annotated[
    float | str,
    Entry(
        *(_limit, "uT, mT, mG, G; or the name of a reference level", '"0.5 uT"'),
        schema=lambda _: {"anyOf": [{"enum": list(LEVEL_SETS)}, quantity_schema("limit")]},
    ),
]


class Receptor(KeyTable):
    """A point where the field is asked for, with a limit if any."""

    name: Name = Field(examples=['"instrument"'])
    """name of the place"""
    at: Point
    """the point"""
    limit: Limit | None = None
    """limit of the resultant rms flux density, or a reference level, which knows frequency"""
    static_limit: StaticLimit | None = None
    """limit of the static flux density of direct currents, without the earth's own field"""


class Zone(KeyTable):
    """A rectangle [m] of which the highest field is asked for, with a limit as that of a receptor if any."""

    name: Name = Field(examples=['"workplace"'])
    """name of the zone"""
    window: Window
    """lower left and upper right corner"""
    limit: Limit | None = None
    """limit as that of a receptor"""
    static_limit: StaticLimit | None = None
    """limit of the static flux density, as that of a receptor"""


class Traverse(KeyTable):
    """A straight line of points, both ends included: `start` and `end` [m], "from" and "to" in the file."""

    name: Name = Field(examples=['"line beside the tray"'])
    """name of the line"""
    start: Point = Field(validation_alias="from", serialization_alias="from")
    """first point of the line"""
    end: Point = Field(validation_alias="to", serialization_alias="to")
    """last point of the line"""
    points: Annotated[int, number_entry(2, MOST_POINTS, "121", whole=True)] = 121
    """number of points"""


class MapWindow(KeyTable):
    """The rectangle of the field map, lower left and upper right corner. [m]"""

    window: Window
    """lower left and upper right corner"""


class Accuracy(KeyTable):
    """Asked numerical accuracy: relative tolerance of every reported number. [-]"""

    tolerance: Annotated[float, quantity_entry("tolerance")] = 0.005
    """relative numerical error of every reported number"""


class CurrentSweep(KeyTable):
    """Factors of all currents at which the study is solved again, for steel that saturates. [-]"""

    factors: Annotated[
        tuple[Annotated[float, number_entry(0.01, 20, "0.5")], ...], list_entry("[0.25, 0.5, 1, 1.5, 2]", least=2)
    ]
    """factors of all currents, each once"""


class Shielding(KeyTable):
    """Metal whose shielding factor is asked for: the study is solved again without it."""

    of: Annotated[tuple[Word, ...], list_entry('["T1", "T1.cover"]', least=1)] | None = None
    """trays (each with its cover), covers and metalwork, by part name; without it, all of them"""


class Loop(KeyTable):
    """Two wires of another circuit along the run, in which the currents induce a voltage."""

    name: Name = Field(examples=['"thermocouple pair"'])
    """name of the loop or pair"""
    wires: Annotated[tuple[Point, Point], pair_entry('[["0.3 m", "0.1 m"], ["0.302 m", "0.1 m"]]', "the two wires")]
    """where its two wires cross the cross-section, outside cables and metal"""
    length: Annotated[float, quantity_entry("route length")] | None = None
    """length along the run; without it, the voltage per metre alone"""
    lay_length: Annotated[float, quantity_entry("lay length")] | None = None
    """length of one full turn of the two wires about each other; without it, they are not twisted"""
    limit: Annotated[float, quantity_entry("induced voltage")] | None = None
    """largest rms voltage allowed in the whole loop, of all frequencies together; needs length"""


def _loops(reader: Reader) -> Iterator[Finding]:
    """Loops have two wires, and a limit is one of the whole length."""
    for index, loop in reader.entries("loops"):
        first, second = map(reader.point, [*as_list(loop.get("wires")), None, None][:2])
        if first is not None and first == second:
            right = "two places: a loop lies between its wires"
            yield Finding(("loops", index, "wires"), "has both wires in one place", right)
        if loop.get("limit") is not None and loop.get("length") is None:
            right = 'length = "40 m": a limit is one of the voltage in all'
            yield Finding(("loops", index, "length"), "is missing, limit needs it", right)


def request_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within traverses, zones, map and sweep."""
    for index, traverse in reader.entries("traverses"):
        start, end = reader.point(traverse.get("from")), reader.point(traverse.get("to"))
        if start is not None and start == end:
            yield Finding(("traverses", index, "to"), "is the same point as from", "another point: a line has a length")
    for key in ("receptors", "zones"):
        for index, place in reader.entries(key):
            yield from limit_findings(reader, (key, index, "limit"), place.get("limit"))
    for index, zone in reader.entries("zones"):
        yield from window_findings(reader, ("zones", index, "window"), zone.get("window"))
    yield from window_findings(reader, ("map", "window"), reader.table("map").get("window"))
    factors = as_list(reader.table("current_sweep").get("factors"))
    for index, factor in enumerate(factors):
        if factor in factors[:index]:
            yield Finding(("current_sweep", "factors", index), "is there already", "each factor once")
    yield from _shielding(reader)
    yield from _loops(reader)


def _shielding(reader: Reader) -> Iterator[Finding]:
    """Metal whose shielding factor is asked for is a tray, cover or piece of metalwork, each named once."""
    named = as_list(reader.table("shielding").get("of"))
    known: list[str] = []
    for _, tray in reader.entries("trays"):
        known += [str(tray.get("name")), *([f"{tray.get('name')}.{COVER}"] if tray.get("cover") is not None else [])]
    known += [str(metal.get("name")) for _, metal in reader.entries("metalwork")]
    for index, name in enumerate(named):
        place: Place = ("shielding", "of", index)
        if isinstance(name, str) and name.strip() and name not in known:
            right = choice_of(name, known) if known else "a tray or metalwork of the study, which has none"
            yield Finding(place, "is no tray, cover or metalwork of the study", right)
        elif name in named[:index]:
            yield Finding(place, "is there already", "each piece of metal once")


def limit_findings(reader: Reader, place: Place, limit: object) -> Iterator[Finding]:
    """A reference level that says nothing about a frequency of the study."""
    if not isinstance(limit, str) or limit not in LEVEL_SETS:
        return
    for frequency in sorted(stated_frequencies(reader)):
        try:
            reference_level(limit, frequency)
        except ValueError:
            right = 'a set that covers it, or a flux density such as "0.5 uT"'
            yield Finding(place, f"has no level at {frequency:g} Hz, at which currents flow", right)
            return


def window_findings(reader: Reader, place: Place, window: object) -> Iterator[Finding]:
    """A window whose corners are not lower left and upper right."""
    corners = as_list(window)
    if len(corners) != 2:
        return
    low, high = map(reader.point, corners)
    if low and high and not (low[0] < high[0] and low[1] < high[1]):
        right = 'lower left, then upper right corner: [["-2 m", "-1 m"], ["2 m", "2 m"]]'
        yield Finding(place, "has no extent to the right or upwards", right)
