"""Dimensions and names of trays and metalwork on the drawing of the cross-section."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from geometry.shapes import boundary_loops
from studies.drawing.dimensions import Span, bar, extension, label_box
from studies.drawing.labels import LabelPlacer
from studies.section.parts import CrossSection, StudyPart, is_of
from studies.study.file import Study
from studies.study.trays import Tray

MILLIMETRES = 1e3
SMALLEST_HEIGHT = 10.0
"""Height of a tray in the drawing from which it is dimensioned. [pt]"""
BELOW, BESIDE = 11.0, 8.0
"""Distance of the dimension bars from the tray. [pt]"""
OVER = 2.0
"""How far the thin lines reach beyond them. [pt]"""


@dataclass(frozen=True)
class _Sizes:
    """Extent of a tray and the sizes that are dimensioned, all in the drawing's millimetres."""

    tray: Tray
    box: tuple[float, float, float, float]
    """Left, bottom, right, top of all parts."""
    span: tuple[float, float, float, float]
    """The same of what is dimensioned."""
    how: str

    def texts(self) -> tuple[str, ...]:
        """What is written under the tray, the longest form first."""
        tray = self.tray
        width = f"{tray.name}: {self.span[2] - self.span[0]:.4g} mm"
        cover = ", closed cover" if tray.cover == "closed" else ", cover" if tray.cover else ""
        holes = f", {100 * tray.open_area:g} % open" if tray.open_area else ""
        metal = f"{tray.material}, {tray.thickness * MILLIMETRES:g} mm thick{cover}{holes}"
        return f"{width} {self.how}, {metal}", f"{width} {self.how},\n{metal}", f"{width} {self.how}", width, tray.name


def dimension_trays(
    axes: Axes, placer: LabelPlacer, study: Study, section: CrossSection, points_a_unit: float, to_left: bool
) -> None:
    """Width under each tray with its name; height on the side with fewer receptors.

    Inside sizes of an upright tray that has them, else the sizes over all. All trays are described in the longest form
    in which the descriptions stay apart and inside the drawing.
    """
    trays = []
    for tray in study.trays:
        parts = [part for part in section.parts if part.cable is None and is_of(part.name, tray.name)]
        if parts:
            trays.append(_sizes(tray, parts))
    below = [_below(sizes, points_a_unit) for sizes in trays]
    forms = list(zip(*(sizes.texts() for sizes in trays), strict=True))
    chosen = next((texts for texts in forms if _apart(axes, placer, below, texts)), forms[-1] if forms else ())
    for sizes, (start, end), text in zip(trays, below, chosen, strict=True):
        left, bottom, right, _ = sizes.box
        for x in (start[0], end[0]):
            extension(axes, (x, bottom), (x, start[1] - OVER / points_a_unit))
        bar(axes, placer, start, end, text, other_side=True)
        if sizes.tray.profile != "conduit" and sizes.span[3] - sizes.span[1] >= SMALLEST_HEIGHT / points_a_unit:
            sign = -1 if to_left else 1
            _height(axes, placer, sizes, left if to_left else right, sign, points_a_unit)


def name_metalwork(placer: LabelPlacer, study: Study, section: CrossSection) -> None:
    """Name of each piece of metalwork beside it; of one of several solids beside the first."""
    for work in study.metalwork:
        part = next((part for part in section.parts if part.cable is None and is_of(part.name, work.name)), None)
        if part is None:
            continue
        outer = boundary_loops(part.shape)[0] * MILLIMETRES
        middles = (outer + np.roll(outer, -1, axis=0)) / 2
        placer.beside(work.name, middles[int(middles[:, 0].argmax())], size=7.5, nearest=3.0)


def _sizes(tray: Tray, parts: Sequence[StudyPart]) -> _Sizes:
    outline = np.vstack([boundary_loops(part.shape)[0] for part in parts]) * MILLIMETRES
    (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
    box = (float(x0), float(y0), float(x1), float(y1))
    if tray.inside_width is None or tray.inside_height is None or tray.turned:
        return _Sizes(tray, box, box, "over all")
    x, low = (coordinate * MILLIMETRES for coordinate in tray.rests_at)
    half = tray.inside_width * MILLIMETRES / 2
    return _Sizes(tray, box, (x - half, low, x + half, low + tray.inside_height * MILLIMETRES), "inside")


def _below(sizes: _Sizes, points_a_unit: float) -> Span:
    level = sizes.box[1] - BELOW / points_a_unit
    return (sizes.span[0], level), (sizes.span[2], level)


def _apart(axes: Axes, placer: LabelPlacer, spans: Sequence[Span], texts: Sequence[str]) -> bool:
    boxes = [label_box(axes, *span, text, True) for span, text in zip(spans, texts, strict=True)]
    free = all(placer.is_free((box[0], box[1]), (box[2], box[3])) for box in boxes)
    return free and not any(
        one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
        for one, other in itertools.combinations(boxes, 2)
    )


def _height(axes: Axes, placer: LabelPlacer, sizes: _Sizes, wall: float, sign: int, points_a_unit: float) -> None:
    low, high = sizes.span[1], sizes.span[3]
    side = wall + sign * BESIDE / points_a_unit
    for level in (low, high):
        extension(axes, (wall, level), (side + sign * OVER / points_a_unit, level))
    bar(axes, placer, (side, low), (side, high), f"{high - low:.4g} mm", sign < 0)
