"""What a study asks for: lines with a length, rectangles with an extent, factors that differ."""

from collections.abc import Iterator, Mapping

from studies.data.reference_levels import LEVEL_SETS, reference_level
from studies.study.checks.circuits import frequencies
from studies.study.checks.findings import Finding, Place, Reader


def request_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within traverses, zones, map and sweep."""
    for index, traverse in reader.entries("traverses"):
        start, end = reader.point(traverse.get("from")), reader.point(traverse.get("to"))
        if start is not None and start == end:
            yield Finding(("traverses", index, "to"), "is the same point as from", "another point: a line has a length")
    for key in ("receptors", "zones"):
        for index, place in reader.entries(key):
            yield from _level(reader, (key, index, "limit"), place.get("limit"))
    for index, zone in reader.entries("zones"):
        yield from _window(reader, ("zones", index, "window"), zone.get("window"))
    field_map = reader.data.get("map")
    if isinstance(field_map, Mapping):
        yield from _window(reader, ("map", "window"), field_map.get("window"))
    sweep = reader.data.get("current_sweep")
    factors = sweep.get("factors") if isinstance(sweep, Mapping) else None
    if isinstance(factors, list | tuple):
        for index, factor in enumerate(factors):
            if factor in factors[:index]:
                yield Finding(("current_sweep", "factors", index), "is there already", "each factor once")


def _level(reader: Reader, place: Place, limit: object) -> Iterator[Finding]:
    """A reference level that says nothing about a frequency of the study."""
    if not isinstance(limit, str) or limit not in LEVEL_SETS:
        return
    for frequency in sorted(frequencies(reader)):
        try:
            reference_level(limit, frequency)
        except ValueError:
            right = 'a set that covers it, or a flux density such as "0.5 uT"'
            yield Finding(place, f"has no level at {frequency:g} Hz, at which currents flow", right)
            return


def _window(reader: Reader, place: Place, window: object) -> Iterator[Finding]:
    if not isinstance(window, list | tuple) or len(window) != 2:
        return
    low, high = reader.point(window[0]), reader.point(window[1])
    if low and high and not (low[0] < high[0] and low[1] < high[1]):
        right = 'lower left, then upper right corner: [["-2 m", "-1 m"], ["2 m", "2 m"]]'
        yield Finding(place, "has no extent to the right or upwards", right)
