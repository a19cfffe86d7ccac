"""The run in space: its straight pieces and bends, with the frame of the cross-section in each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from fem.arrays import Complexes, Flags, Floats, Ints
from geometry.clearance import polygon
from studies.section.enclosure import metal_at
from studies.section.parts import CrossSection
from studies.section.route_sections import route_sections
from studies.study.course import GOES_ON, TOUCHING, Course, segment_distance
from studies.study.file import Study
from studies.study.toml_text import lines_named
from studies.text.problems import Problem, StudyError

FAR = 1e6
"""Length of an end that goes on, over which the field of what is missing is (distance/FAR)^2. [m]"""
CHORD = math.radians(7.5)
"""Largest angle between two chords of a bend: they miss its arc by 0.05 % of its radius."""
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Frames:
    """A run in space as pieces of straight line, the chords of bends among them."""

    corners: Floats
    """Corners of the path of the cross-section's origin, shape (n + 1, 3). [m]"""
    along: Floats
    """Unit vector of each piece, shape (n, 3)."""
    right: Floats
    """Unit vector of the cross-section's x in each piece, shape (n, 3)."""
    upward: Floats
    """Unit vector of its y, shape (n, 3)."""
    sections: tuple[str, ...]
    """Name of what each piece belongs to, such as "straight 1" or "bend 1", length n."""
    joints: Floats
    """Places where the run is not straight: mitres, ends of bends, ends of the run, shape (k, 3). [m]"""
    starts_far: bool
    """Whether the run goes on before its first corner."""
    ends_far: bool
    of_route: Ints
    """Section of the route that each piece lies in, from 0, shape (n,); 0 without a route."""

    def lines(self, places: Floats) -> Floats:
        """Corners of the lines through places (m, 2) of the cross-section, mitred, shape (m, n + 1, 3). [m]"""
        found = np.empty((len(places), len(self.corners), 3))
        offsets = self._offsets(places)
        found[:, 0] = self.corners[0] + offsets[:, 0] - FAR * self.starts_far * self.along[0]
        found[:, -1] = self.corners[-1] + offsets[:, -1] + FAR * self.ends_far * self.along[-1]
        for k in range(1, len(self.along)):
            normal = self.along[k - 1] + self.along[k]
            own = offsets[:, k - 1]
            shift = -(own @ normal) / (self.along[k - 1] @ normal)
            found[:, k] = self.corners[k] + own + shift[:, None] * self.along[k - 1]
        return found

    def local(self, piece: int, points: Floats) -> Floats:
        """Points (q, 3) in the cross-section of a piece, as if that went on, shape (q, 2). [m]"""
        away = points - self.corners[piece]
        return np.stack([away @ self.right[piece], away @ self.upward[piece]], axis=1)

    def in_space(self, piece: int, vectors: Complexes) -> Complexes:
        """Vectors (q, 2) of the cross-section of a piece, shape (q, 3)."""
        found: Complexes = vectors[:, :1] * self.right[piece] + vectors[:, 1:] * self.upward[piece]
        return found

    def nearest(self, points: Floats) -> tuple[Ints, Floats, Flags]:
        """Nearest piece, distance of its path [m] and whether the point is beside it, each of points (q, 3)."""
        distances, beside = [], []
        for k, along in enumerate(self.along):
            length = float(np.linalg.norm(self.corners[k + 1] - self.corners[k]))
            low = -FAR if k == 0 and self.starts_far else 0.0
            high = length + (FAR if k == len(self.along) - 1 and self.ends_far else 0.0)
            away = points - self.corners[k]
            place = away @ along
            foot = np.clip(place, low, high)
            distances.append(np.linalg.norm(away - foot[:, None] * along, axis=1))
            beside.append((place >= low) & (place <= high))
        piece = np.argmin(distances, axis=0)
        own = piece, np.arange(len(points))
        return piece, np.array(distances)[own], np.array(beside)[own]

    def joint_distance(self, points: Floats) -> Floats:
        """Distance of points (q, 3) from the nearest place where the run is not straight, shape (q,). [m]"""
        if not len(self.joints):
            return np.full(len(points), np.inf)
        return np.asarray(np.linalg.norm(points[:, None] - self.joints, axis=2).min(axis=1))

    def _offsets(self, places: Floats) -> Floats:
        """Vectors from the path to places (m, 2) in the planes of the pieces, shape (m, n, 3). [m]"""
        return np.asarray(places[:, None, :1] * self.right + places[:, None, 1:] * self.upward)


def frames_of(course: Course) -> Frames:
    """Pieces and frames of a course.

    The cross-section is as seen along the path: its x to the right, its y upwards in the first piece. At each corner it
    turns about the axis of the bend and no further, as what is laid in it does.
    """
    corners, sections, joints = _rounded(np.array(course.path), course.bend_radius)
    along = np.diff(corners, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    right = [np.cross(along[0], UP) / np.linalg.norm(np.cross(along[0], UP))]
    for before, after in pairwise(along):
        right.append(_turned(right[-1], before, after))
    upward = np.cross(np.array(right), along)
    first, last = course.first_end == GOES_ON, course.last_end == GOES_ON
    ends = [*([] if first else [corners[0]]), *([] if last else [corners[-1]])]
    places = np.array([*joints, *ends]).reshape(-1, 3)
    one = np.zeros(len(along), dtype=np.intp)
    return Frames(corners, along, np.array(right), upward, sections, places, first, last, one)


def along_route(frames: Frames, names: Sequence[str], lengths: Sequence[float]) -> Frames:
    """The same, cut where sections of a route of some lengths [m] meet, counted from its first corner."""
    start = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(frames.corners, axis=0), axis=1)))
    borders = np.cumsum(lengths)[:-1]
    nearest = start[np.abs(start[:, None] - borders).argmin(axis=0)]
    borders = np.where(np.abs(nearest - borders) < TOUCHING, nearest, borders)
    places = np.unique([*start, *borders])
    piece = np.searchsorted(start, (places[1:] + places[:-1]) / 2) - 1
    cuts = frames.corners[piece] + (places[:-1] - start[piece])[:, None] * frames.along[piece]
    corners = np.concatenate([cuts, frames.corners[-1:]])
    of_route = np.searchsorted(borders, (places[1:] + places[:-1]) / 2)
    return replace(
        frames,
        corners=corners,
        along=frames.along[piece],
        right=frames.right[piece],
        upward=frames.upward[piece],
        sections=tuple(f"{names[k]}, {frames.sections[p]}" for k, p in zip(of_route, piece, strict=True)),
        joints=np.concatenate([frames.joints, corners[np.isin(places, borders)]]),
        of_route=of_route,
    )


def course_frames(study: Study, section: CrossSection) -> Frames:
    """The frames of a study's course, known to have room for its cross-section.

    Raises StudyError if a bend is tighter than the cross-section is wide, a piece is shorter than its bends, or the run
    meets itself.
    """
    course = study.course
    assert course is not None
    frames = frames_of(course)
    sections = [whole for _, whole in route_sections(study, section)] if study.route else [section]
    distinct = {id(one): one for one in sections}.values()
    problems = [problem for one in distinct for problem in _problems(study, course, one)]
    if study.route:
        problems += _of_route(study, course, frames)
    if study.route and not problems:
        names = [one.name or f"section {k}" for k, one in enumerate(study.route, 1)]
        frames = along_route(frames, names, [one.length for one in study.route])
    problems = problems or _within(study, course, sections, frames)
    if problems:
        with lines_named(study.source_text):
            raise StudyError(problems)
    return frames


def _of_route(study: Study, course: Course, frames: Frames) -> list[Problem]:
    """Sections of a route that do not meet along the course."""
    length = float(np.linalg.norm(np.diff(frames.corners, axis=0), axis=1).sum())
    border = sum(one.length for one in study.route[:-1])
    found = []
    if border >= length:
        wrong = f"has its last sections meet {border:.4g} m along the course, which is {length:.4g} m long"
        found.append(study.problem("route", wrong, "sections that meet along it; the last goes on to its end"))
    if course.twisted:
        found.append(study.problem("course → twisted", "does not go with a route", "a run of one cross-section"))
    return found


def _within(study: Study, course: Course, sections: Sequence[CrossSection], frames: Frames) -> list[Problem]:
    """Receptors within cables or metal, where filaments have no field."""
    found = []
    for number, place in enumerate(course.receptors, 1):
        point = np.array([place.at])
        piece, _, beside = frames.nearest(point)
        inside = (
            metal_at(sections[frames.of_route[piece[0]]], frames.local(int(piece[0]), point))[0] if beside[0] else None
        )
        if inside is not None:
            key = f'course → receptors[{number}] "{place.name}" → at'
            found.append(study.problem(key, f"lies in {inside}", "a place in air, where there is a field to limit"))
    return found


def places_along(frames: Frames, places: Floats) -> Floats:
    """A place of the cross-section along the run, closest about its bends and ends, shape (q, 3). [m]

    places, shape (sections, 2): Of each section of the route, not a number in those without it. [m]
    Places to which another piece of the run is nearer are left out: they are another place of the cross-section there.
    """
    found, reach = [np.zeros((0, 3))], [np.zeros(0)]
    for k, along in enumerate(frames.along):
        place = places[frames.of_route[k]]
        if np.any(np.isnan(place)):
            continue
        away = float(np.linalg.norm(place))
        steps = away * REACHES * np.linspace(0, 1, 25)
        length = float(np.linalg.norm(frames.corners[k + 1] - frames.corners[k]))
        own = np.concatenate([[0.0, length / 2, length], steps, length - steps])
        own = own[(own >= 0) & (own <= length)]
        offset = place[0] * frames.right[k] + place[1] * frames.upward[k]
        found.append(frames.corners[k] + offset + own[:, None] * along)
        reach.append(np.full(len(own), away))
    points = np.concatenate(found)
    _, nearest, _ = frames.nearest(points)
    return points[nearest >= (1 - 1e-6) * np.concatenate(reach)]


REACHES = 3.0
"""Length of a run on both sides of a bend or end, over the distance of a place, in which its field changes most. [-]"""


def half_width(section: CrossSection) -> float:
    """Half the larger side of the rectangle about all cables and metal. [m]"""
    low, high = _box(section)
    return float(np.max(high - low)) / 2


def _box(section: CrossSection) -> tuple[Floats, Floats]:
    boxes = [np.reshape(polygon(part.shape).bounds, (2, 2)) for part in section.parts]
    boxes += [np.add([[-c.layers.outer_radius], [c.layers.outer_radius]], c.axis) for c in section.cables]
    return np.min([box[0] for box in boxes], axis=0), np.max([box[1] for box in boxes], axis=0)


def _problems(study: Study, course: Course, section: CrossSection) -> list[Problem]:
    """What of the course has no room for the cross-section."""
    path, radius = np.array(course.path), course.bend_radius
    low, high = _box(section)
    reach = float(np.max(np.abs([low, high])))
    found = []
    if radius is not None and len(path) > 2 and radius < reach:
        right = f'at least "{1e3 * reach:.0f} mm", or none for mitred corners'
        wrong = "is less than the cross-section reaches from its origin"
        found.append(study.problem("course → bend_radius", wrong, right, f"{radius:g} m"))
    lengths, taken = np.linalg.norm(np.diff(path, axis=0), axis=1), _taken(path, radius, reach)
    for k, length in enumerate(lengths):
        if (need := taken[k] + taken[k + 1]) > length:
            wrong = f"ends a piece of {length:.3g} m, of which its corners take {need:.3g} m"
            found.append(study.problem(f"course → path[{k + 2}]", wrong, "longer pieces, or a smaller bend radius"))
    pieces = [path[k : k + 2] for k in range(len(lengths))]
    for i, j in combinations(range(len(pieces)), 2):
        gap = segment_distance(pieces[i], pieces[j])
        if j > i + 1 and gap < 2 * half_width(section):
            wrong = f"brings piece {j + 1} within {gap:.3g} m of piece {i + 1}, less than the run is wide"
            found.append(study.problem(f"course → path[{j + 2}]", wrong, ROOM))
    found += [
        study.problem(
            f"course → other_runs[{k}]", f"comes within {gap:.3g} m of the run, less than both are wide", ROOM
        )
        for k, other in enumerate(course.other_runs, 1)
        if (gap := _least_gap(path, np.array(other.path))) < half_width(section) + other.spacing * len(other.phases) / 2
    ]
    if abs(section.net_current()) > NET * max(abs(tie.current) for tie in section.ties):
        wrong = f"needs currents that sum to zero; their sum is {abs(section.net_current()):.3g} A"
        right = "currents with their return among the cables: a net current has an unknown path in space"
        found.append(study.problem("course", wrong, right))
    return found


def _least_gap(first: Floats, second: Floats) -> float:
    """Least distance of two paths that go on straight at their ends. [m]"""
    longer = []
    for path in (first, second):
        start, end = path[0] - path[1], path[-1] - path[-2]
        more = [path[0] + BEYOND * start / np.linalg.norm(start), path[-1] + BEYOND * end / np.linalg.norm(end)]
        longer.append(np.concatenate([more[:1], path[1:-1], more[1:]]))
    one, other = ([path[k : k + 2] for k in range(len(path) - 1)] for path in longer)
    return min(segment_distance(a, b) for a in one for b in other)


BEYOND = 1000.0
"""How far runs that go on are kept apart. [m]"""
ROOM = "a path at another height or further away"
NET = 1e-6
"""Net currents below this share of the largest current are rounding. [-]"""


def _taken(path: Floats, radius: float | None, reach: float) -> list[float]:
    """Length of a piece that each corner takes: up to the start of its bend, or to the inside of its mitre. [m]"""
    steps = np.diff(path, axis=0)
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    angles = np.arccos(np.clip(np.einsum("ki,ki->k", steps[:-1], steps[1:]), -1, 1))
    return [0.0, *((radius or reach) * np.tan(angles / 2)).tolist(), 0.0]


def _rounded(path: Floats, radius: float | None) -> tuple[Floats, tuple[str, ...], list[Floats]]:
    """Corners with those of bends in chords, the name of each piece between them, and where it is not straight."""
    corners, sections, joints = [path[0]], ["straight 1"], []
    for k in range(1, len(path) - 1):
        before, after = path[k] - path[k - 1], path[k + 1] - path[k]
        before, after = before / np.linalg.norm(before), after / np.linalg.norm(after)
        angle = float(np.arccos(np.clip(before @ after, -1, 1)))
        arc = [path[k]]
        if radius is not None and angle > 0:
            count = math.ceil(angle / CHORD)
            inward = (after - before) / np.linalg.norm(after - before)
            centre = path[k] + inward * radius / math.cos(angle / 2)
            start = path[k] - before * radius * math.tan(angle / 2) - centre
            side = before * radius
            turns = angle * np.arange(count + 1) / count
            arc = [centre + math.cos(turn) * start + math.sin(turn) * side for turn in turns]
        corners += arc
        sections += [f"bend {k}"] * (len(arc) - 1) + [f"straight {k + 1}"]
        joints += [arc[0], arc[len(arc) // 2], arc[-1]] if len(arc) > 1 else arc
    return np.array([*corners, path[-1]]), tuple(sections), joints


def _turned(vector: Floats, before: Floats, after: Floats) -> Floats:
    """A vector turned about the axis of a bend by its angle."""
    axis, cosine = np.cross(before, after), float(before @ after)
    turned = cosine * vector + np.cross(axis, vector) + axis * (axis @ vector) / (1 + cosine)
    return np.asarray(turned / np.linalg.norm(turned))
