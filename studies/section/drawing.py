"""A DXF drawing of a cross-section: closed polylines and circles on named layers, by ezdxf."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from geometry.polygons import Polygon
from geometry.shapes import Disc, Point, Shape, Tube
from studies.study.circuits import Circuit
from studies.study.file import Study, beside
from studies.study.metalwork import DRAWING_UNITS, Metalwork
from studies.text.printable import shortened
from studies.text.problems import Problem, StudyError, choice_of

FLATTENING = 0.002
"""Largest distance between a bulge's arc and its chords, over the size of its polyline. [-]"""
SAME_RADIUS = 0.02
"""Largest relative difference between a drawn circle and the outer radius of its cable. [-]"""
POLYLINES = ("LWPOLYLINE", "POLYLINE")


@dataclass(frozen=True)
class Circle:
    """A circle of the drawing, in the study's axes. [m]"""

    centre: Point
    radius: float


@dataclass(frozen=True)
class Drawn:
    """Closed outlines of a drawing by layer, in the study's axes. [m]"""

    file: str
    circles: defaultdict[str, list[Circle]]
    loops: defaultdict[str, list[tuple[Point, ...]]]
    ignored: defaultdict[str, int]
    """Number of entities of each layer that are neither circles nor closed polylines."""

    def axes_of(self, circuit: Circuit, outer_radius: float) -> tuple[tuple[str, ...], np.ndarray]:
        """Phase label and axis of each cable of a circuit, from left to right; if equal, from the bottom. [m]

        Raises StudyError: If a layer holds no circle, or a circle of another size than the cable.
        """
        problems, cables = [], []
        for phase, layer in (circuit.drawn_on or {}).items():
            key = f'circuits "{circuit.name}" → drawn_on → {phase}'
            circles = self.circles.get(layer, ())
            if not circles:
                problems.append(self._problem(key, layer, "is a layer without circles", self._layers(self.circles)))
            for circle in circles:
                if abs(circle.radius / outer_radius - 1) > SAME_RADIUS:
                    wrong = f"contains a circle of diameter {2e3 * circle.radius:.4g} mm"
                    right = f"circles of the cable's diameter, {2e3 * outer_radius:.4g} mm, or another cable"
                    problems.append(self._problem(key, layer, wrong, right))
                cables.append((circle.centre, phase))
        if problems:
            raise StudyError(problems)
        cables.sort(key=lambda cable: (round(cable[0][0], 6), cable[0][1]))
        return tuple(phase for _, phase in cables), np.array([centre for centre, _ in cables])

    def solids_of(self, work: Metalwork) -> list[Shape]:
        """Solids of a layer: an outline within another is its hole; two circles about one centre are a tube."""
        layer = work.layer or ""
        key = f'metalwork "{work.name}" → layer'
        circles, loops = self.circles.get(layer, ()), self.loops.get(layer, ())
        if not circles and not loops:
            known = {**self.circles, **self.loops}
            raise StudyError([self._problem(key, layer, "is a layer without closed outlines", self._layers(known))])
        try:
            return [*_round_solids(circles), *_polygons(loops)]
        except ValueError as error:
            right = "closed outlines that do not cross or touch"
            raise StudyError([self._problem(key, layer, str(error), right)]) from None

    def _problem(self, key: str, layer: str, wrong: str, right: str) -> Problem:
        return Problem(self.file, key, f'"{layer}"', wrong, right)

    def _layers(self, known: Iterable[str]) -> str:
        names = sorted(known)
        return choice_of("", names) if names else "closed polylines and circles on the layers that the study names"


def read_drawing(study: Study) -> Drawn | None:
    """The drawing of a study, None if it has none.

    Raises StudyError: If the file is missing or is not DXF.
    """
    if study.drawing is None:
        return None
    from ezdxf.filemanagement import readfile  # heavy
    from ezdxf.lldxf.const import DXFError

    path = beside(study, study.drawing.file)
    try:
        document = readfile(path)
    except (OSError, DXFError, UnicodeDecodeError, ValueError) as error:
        reason = f"cannot be read as DXF ({shortened(str(error))})" if path.exists() else "does not exist"
        raise StudyError([_file_problem(study, reason, "a DXF drawing")]) from None
    scale, shift = DRAWING_UNITS[study.drawing.unit], np.asarray(study.drawing.at)
    drawn = Drawn(str(path), defaultdict(list), defaultdict(list), defaultdict(int))
    for entity in document.modelspace():
        try:
            _take_in(entity, scale, shift, drawn)
        except (DXFError, TypeError, ValueError):  # an entity that its program wrote incompletely
            wrong = f'holds a {entity.dxftype()} on the layer "{_layer(entity)}" without a position or a size'
            right = "a drawing saved again by the program that made it"
            raise StudyError([_file_problem(study, wrong, right)]) from None
    return drawn


def _take_in(entity: Any, scale: float, shift: np.ndarray, drawn: Drawn) -> None:
    """Add an entity to the outlines of its layer."""
    layer, kind = _layer(entity), entity.dxftype()
    if kind == "CIRCLE":
        drawn.circles[layer].append(_circle(entity, scale, shift))
    elif kind in POLYLINES and _closes(entity):
        points = _finite(_flattened(entity) * scale + shift)
        drawn.loops[layer].append(tuple((float(x), float(y)) for x, y in points))
    else:
        drawn.ignored[layer] += 1


def _file_problem(study: Study, wrong: str, right: str) -> Problem:
    return study.problem("drawing → file", wrong, right, f'"{study.drawing.file}"' if study.drawing else "")


def _layer(entity: Any) -> str:
    """Layer of an entity, also of a kind that the library does not know."""
    if entity.dxf.is_supported("layer"):
        return str(entity.dxf.layer)
    return str(entity.base_class.get_first_value(8, "0"))


def _circle(entity: Any, scale: float, shift: np.ndarray) -> Circle:
    middle = entity.ocs().to_wcs(entity.dxf.center)  # a mirrored circle has axes of its own
    centre = _finite(np.array([middle.x, middle.y]) * scale + shift)
    radius = float(_finite(np.array(entity.dxf.radius * scale)))
    if radius <= 0:
        raise ValueError("no size")
    return Circle((float(centre[0]), float(centre[1])), radius)


def _finite(numbers: np.ndarray) -> np.ndarray:
    if not np.isfinite(numbers).all():
        raise ValueError("no numbers")
    return numbers


def _closes(entity: Any) -> bool:
    """Whether a polyline is closed, by its flag or because its last point is its first; a mesh is not a polyline."""
    from ezdxf.path import make_path

    if entity.dxftype() == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):
        return False
    path = make_path(entity)
    return len(path) > 1 and bool(entity.is_closed or path.is_closed)


def _flattened(entity: Any) -> np.ndarray:
    """Corners of a closed polyline, its bulges as short chords, in the drawing's unit."""
    from ezdxf.path import make_path

    path = make_path(entity)
    corners = np.array([(point.x, point.y) for point in path.control_vertices()])
    size = float(np.ptp(corners, axis=0).max())
    points = np.array([(point.x, point.y) for point in path.flattening(FLATTENING * size)])
    if np.linalg.norm(points[0] - points[-1]) < 1e-9 * size:
        points = points[:-1]
    apart = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-9 * size
    result: np.ndarray = points[apart]
    return result


def _round_solids(circles: Sequence[Circle]) -> list[Shape]:
    solids: list[Shape] = []
    rest = sorted(circles, key=lambda circle: -circle.radius)
    while rest:
        outer = rest.pop(0)
        inner = [c for c in rest if math.dist(c.centre, outer.centre) < 1e-6 * outer.radius]
        if inner:
            rest.remove(inner[0])
            solids.append(Tube(outer.centre, inner[0].radius, outer.radius))
        else:
            solids.append(Disc(outer.centre, outer.radius))
    return solids


def _polygons(loops: Sequence[tuple[Point, ...]]) -> list[Shape]:
    """Outlines at even depth are solids; outlines directly inside them are their holes."""
    areas = [shapely.Polygon(loop) for loop in loops]
    around = [[k for k, other in enumerate(areas) if k != n and other.contains(area)] for n, area in enumerate(areas)]
    solids: list[Shape] = []
    for n, loop in enumerate(loops):
        if len(around[n]) % 2 == 0:
            holes = [loops[k] for k in range(len(loops)) if len(around[k]) == len(around[n]) + 1 and n in around[k]]
            solids.append(Polygon(loop, tuple(holes)))
    return solids
