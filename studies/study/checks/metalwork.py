"""Metalwork: keys that go with the shape, and sizes that fit together."""

from collections.abc import Iterator

from studies.study.checks.findings import Finding, Place, Reader, Table, key_findings
from studies.study.key_sets import SHAPES

CLOSED_LEAST = 3
"""Least number of corners of a closed path."""


def metalwork_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each piece of metalwork."""
    for index, metal in reader.entries("metalwork"):
        place: Place = ("metalwork", index)
        shape = metal.get("shape")
        yield from key_findings(place, metal, SHAPES, shape)
        if isinstance(shape, str) and shape in SHAPES:
            sound = {key: entry for key, entry in metal.items() if key in SHAPES[shape].allowed}
            yield from _sizes(reader, place, str(shape), sound)
            yield from _path(reader, place, sound)


def _sizes(reader: Reader, place: Place, shape: str, metal: Table) -> Iterator[Finding]:
    size = {key: reader.number(metal.get(key), "size") for key in ("height", "width", "outside_diameter")}
    thick = {key: reader.number(metal.get(key), "thickness") for key in ("web", "flange", "thickness")}
    pairs: tuple[tuple[str, int, str], ...] = ()
    if shape == "I":
        pairs = (("flange", 2, "height"), ("web", 1, "width"))
    elif shape == "L":
        pairs = (("thickness", 1, "height"), ("thickness", 1, "width"))
    elif shape == "tube":
        pairs = (("thickness", 2, "outside_diameter"),)
    for key, times, of in pairs:
        thickness, whole = thick[key], size[of]
        if thickness is not None and whole is not None and times * thickness >= whole:
            of_words = of.replace("_", " ")
            wrong = f"does not fit into the {of_words} of {whole * 1e3:g} mm"
            yield Finding((*place, key), wrong, f"less than {whole / times * 1e3:g} mm, or a larger {of_words}")
            return


def _path(reader: Reader, place: Place, metal: Table) -> Iterator[Finding]:
    path = metal.get("path")
    if not isinstance(path, list | tuple):
        return
    closed = metal.get("closed") is True
    if closed and 0 < len(path) < CLOSED_LEAST:
        yield Finding((*place, "path"), "is closed and has two corners", f"{CLOSED_LEAST} corners or more")
        return
    points = [reader.point(point) for point in path]
    for index, point in enumerate(points):
        before = points[index - 1] if index else points[-1] if closed else None
        if point is not None and point == before:
            what = "the one before" if index else "the last, to which a closed path returns by itself"
            yield Finding((*place, "path", index), f"is the same point as {what}", "each corner once")
