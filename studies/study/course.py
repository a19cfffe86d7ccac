"""The run in space: its course in plan and height, places of which the field is asked for, and their checks."""

from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Annotated

import numpy as np
from pydantic import Field

from fem.arrays import Floats
from studies.study.entries import (
    Coordinate,
    KeyTable,
    Name,
    PhaseLabel,
    SpacePoint,
    Window,
    list_entry,
    number_entry,
    phases_entry,
    quantity_entry,
    word_entry,
)
from studies.study.findings import Finding, Place, Plain, Reader, as_list, as_table, labels_of, repeated, unknown
from studies.study.parts import METAL_LAYERS
from studies.study.phases import LINES
from studies.study.requests import Limit, limit_findings, window_findings

GOES_ON, ENDS = "goes on", "ends"
PATH = '[["-9 m", "0 m", "3 m"], ["0 m", "0 m", "3 m"], ["0 m", "-9 m", "3 m"]]'
FLAT, TREFOIL = "flat", "trefoil"
OTHER = (
    '[{ name = "F7", path = [["2 m", "-5 m", "4 m"], ["2 m", "5 m", "4 m"]], spacing = "40 mm", '
    'phases = ["L1", "L2", "L3"], current = "200 A" }]'
)
MOST_POINTS = 2001
"""Most points of a line."""
TOUCHING = 1e-3
"""Distance below which two pieces of a path meet. [m]"""
LEAST_ANGLE = 30.0
"""Least angle between two straight pieces at their corner. [deg]"""


class CourseReceptor(KeyTable):
    """A point in space where the field is asked for, with a limit if any."""

    name: Name = Field(examples=['"desk below the bend"'])
    """name of the place"""
    at: SpacePoint
    """the point"""
    limit: Limit | None = None
    """limit as that of a receptor of the cross-section"""


class CourseLine(KeyTable):
    """A straight line of points in space, both ends included: `start` and `end` [m], "from" and "to" in the file."""

    name: Name = Field(examples=['"along the wall"'])
    """name of the line"""
    start: SpacePoint = Field(validation_alias="from", serialization_alias="from")
    """first point of the line"""
    end: SpacePoint = Field(validation_alias="to", serialization_alias="to")
    """last point of the line"""
    points: Annotated[int, number_entry(2, MOST_POINTS, "121", whole=True)] = 121
    """number of points"""


class CoursePlan(KeyTable):
    """A level plane of which the field is drawn in plan. [m]"""

    height: Coordinate
    """height of the plane"""
    window: Window
    """lower left and upper right corner in plan"""


class OtherRun(KeyTable):
    """A run of other cables that crosses or passes the course, as line currents without metal, far beyond its ends."""

    name: Name = Field(examples=['"F7"'])
    """name of the run"""
    path: Annotated[tuple[SpacePoint, ...], list_entry(PATH, least=2)]
    """corners of the middle of its cables' axes; it goes on straight at both ends"""
    arrangement: Annotated[str, word_entry("arrangement of another run", (FLAT, TREFOIL))] = FLAT
    """how its cables lie"""
    spacing: Annotated[float, quantity_entry("spacing")]
    """distance of neighbouring axes"""
    phases: Annotated[tuple[PhaseLabel, ...], phases_entry('["L1", "L2", "L3"]', least=2)]
    """phases from left to right, as seen along its path; of a trefoil left, right, top"""
    current: Annotated[float, quantity_entry("current")]
    """rms current of each phase along the path"""
    frequency: Annotated[float, quantity_entry("frequency")] | None = Field(default=None, examples=['"60 Hz"'])
    """frequency of its currents; without one, the study's, from the same supply"""
    lay_length: Annotated[float, quantity_entry("lay length")] | None = None
    """length of one turn of its cables about each other; without it, they lie straight"""


class Course(KeyTable):
    """The run in space: the path of the cross-section's origin, and what is asked along it."""

    path: Annotated[tuple[SpacePoint, ...], list_entry(PATH, least=2)]
    """ends and corners; the cross-section is as seen along the path, upright in its first piece"""
    bend_radius: Annotated[float, quantity_entry("bend radius")] | None = None
    """radius of the path at its corners; without it, they are mitred"""
    first_end: Annotated[str, word_entry("end of a path", (GOES_ON, ENDS))] = GOES_ON
    """whether the run goes on straight before the first point"""
    last_end: Annotated[str, word_entry("end of a path", (GOES_ON, ENDS))] = GOES_ON
    """whether it goes on straight beyond the last point"""
    twisted: Mapping[Name, Annotated[float, quantity_entry("lay length")]] = Field(
        default_factory=dict, examples=['{ F1 = "0.9 m" }']
    )
    """circuits of unscreened cables that are twisted, each with the length of one turn"""
    other_runs: Annotated[tuple[OtherRun, ...], list_entry("[[course.other_runs]]", least=0, of_tables=True)] = Field(
        default=(), examples=[OTHER]
    )
    """runs of other cables that cross or pass this one"""
    receptors: Annotated[tuple[CourseReceptor, ...], list_entry("[[course.receptors]]", least=0, of_tables=True)] = (
        Field(default=(), examples=['[{ name = "desk", at = ["1 m", "0 m", "2 m"] }]'])
    )
    """points in space where the field is asked for"""
    lines: Annotated[tuple[CourseLine, ...], list_entry("[[course.lines]]", least=0, of_tables=True)] = Field(
        default=(), examples=['[{ name = "wall", from = ["1 m", "0 m", "2 m"], to = ["1 m", "5 m", "2 m"] }]']
    )
    """lines in space along which the field is asked for"""
    plan: CoursePlan | None = Field(
        default=None, examples=['{ height = "1 m", window = [["-3 m", "-3 m"], ["3 m", "3 m"]] }']
    )
    """plane of which the field is drawn in plan"""


def course_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within the run in space."""
    course = reader.table("course")
    yield from _path(reader, ("course", "path"), course.get("path"))
    yield from _twists(reader, course)
    for k, run in enumerate(map(as_table, as_list(course.get("other_runs")))):
        yield from _other_run(reader, ("course", "other_runs", k), run)
    for key in ("receptors", "lines", "other_runs"):
        entries = [(k, as_table(entry)) for k, entry in enumerate(as_list(course.get(key)))]
        named = [(k, entry["name"]) for k, entry in entries if isinstance(entry.get("name"), str)]
        titles = ((("course", key, k, "name"), str(name).casefold(), f"course.{key}[{k + 1}]") for k, name in named)
        for place, taken in repeated(titles):
            yield Finding(place, f"is already the name of {taken}", "a name of its own")
        for k, entry in entries:
            if key == "receptors":
                yield from limit_findings(reader, ("course", key, k, "limit"), entry.get("limit"))
            elif (
                key == "lines"
                and (start := reader.space_point(entry.get("from")))
                and start == reader.space_point(entry.get("to"))
            ):
                yield Finding(
                    ("course", key, k, "to"), "is the same point as from", "another point: a line has a length"
                )
    yield from window_findings(reader, ("course", "plan", "window"), as_table(course.get("plan")).get("window"))
    if "earth" in reader.data and course:
        yield Finding(("course",), "does not go with an earth, whose return is nowhere in space", "a study without one")


def _twists(reader: Reader, course: Plain) -> Iterator[Finding]:
    """A twisted circuit is one of the study, with several cables that have nothing around them to carry current."""
    circuits = {str(circuit.get("name")): circuit for _, circuit in reader.entries("circuits")}
    for name in as_table(course.get("twisted")):
        place: Place = ("course", "twisted", name)
        yield from unknown(place, name, circuits, "circuit of the study")
        circuit = circuits.get(name, {})
        cable = reader.named("cables").get(str(circuit.get("cable")), {})
        if any(layer in cable for layer in METAL_LAYERS):
            yield Finding(place, "has screens, sheaths or armour, which would turn as well", "a circuit without them")
        if len(labels_of(circuit)) == 1:
            yield Finding(place, "has one cable, which cannot be twisted", "a circuit of several cables")


def _other_run(reader: Reader, place: Place, run: Plain) -> Iterator[Finding]:
    """Another run has a sound path, currents that sum to zero, and three cables in a trefoil."""
    yield from _path(reader, (*place, "path"), run.get("path"))
    labels = labels_of(run)
    if run.get("arrangement") == TREFOIL and labels and len(labels) != 3:
        yield Finding(
            (*place, "phases"), f"has {len(labels)} entries, a trefoil has three cables", '["L1", "L2", "L3"]'
        )
    if labels and "N" not in labels and set(LINES) - set(labels):
        wrong = "leaves out a line and has no N: its currents do not sum to zero"
        yield Finding((*place, "phases"), wrong, "all of L1, L2, L3, or an N that returns their sum")


def _path(reader: Reader, place: Place, path: object) -> Iterator[Finding]:
    """A path has straight pieces with a length, turns by less than it takes to fold back, and meets itself nowhere."""
    points = [reader.space_point(point) for point in as_list(path)]
    if len(points) < 2 or None in points:
        return
    corners = np.array(points)
    steps = np.diff(corners, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    for k in np.flatnonzero(lengths < TOUCHING).tolist():
        yield Finding((*place, k + 1), "is the same point as the one before", "each corner once")
    if np.any(lengths < TOUCHING):
        return
    units = steps / lengths[:, None]
    if np.hypot(*units[0, :2]) < TOUCHING:
        right = "first a level or sloping piece, in which the cross-section is upright"
        yield Finding((*place, 1), "makes the first piece vertical", right)
    for k, cosine in enumerate(np.einsum("ki,ki->k", units[:-1], units[1:])):
        angle = 180 - np.degrees(np.arccos(np.clip(cosine, -1, 1)))
        if angle < LEAST_ANGLE:
            right = f"two corners of at least {LEAST_ANGLE:g} deg between the pieces"
            yield Finding((*place, k + 1), f"folds the path back, {angle:.3g} deg between its pieces", right)
    for i, j in combinations(range(len(steps)), 2):
        if j > i + 1 and segment_distance(corners[i : i + 2], corners[j : j + 2]) < TOUCHING:
            wrong = f"makes the path cross itself: piece {j + 1} meets piece {i + 1}"
            yield Finding((*place, j + 1), wrong, "a path at another height there, or another course")
            return


def segment_distance(first: Floats, second: Floats) -> float:
    """Least distance of two straight pieces, each of two points (2, 3). [m]"""
    p, u = first[0], first[1] - first[0]
    q, v = second[0], second[1] - second[0]
    a, b, c, d, e = u @ u, u @ v, v @ v, u @ (p - q), v @ (p - q)
    over = a * c - b * b
    s = np.clip((b * e - c * d) / over, 0, 1) if over > 1e-12 * a * c else 0.0
    t = np.clip((b * s + e) / c, 0, 1)
    s = np.clip((b * t - d) / a, 0, 1)
    return float(np.linalg.norm(p + s * u - q - t * v))
