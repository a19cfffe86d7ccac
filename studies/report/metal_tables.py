"""Dimensions of trays and metalwork, and the drawing they may come from, as blocks."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import PurePath
from typing import TypeVar

import numpy as np

from geometry.shapes import boundary_loops
from studies.answers.answers import Answers
from studies.section.parts import StudyPart, is_of
from studies.study.metalwork import Drawing, Metalwork
from studies.study.trays import Cover, Tray
from studies.text.blocks import Block, Text
from studies.text.numbers import MINUS, NONE
from studies.text.table import Column, Table
from studies.text.units import CELSIUS, DEGREE, MILLIMETRE, PER_CENT


def metal_blocks(result: Answers) -> tuple[Block, ...]:
    """Tables of the trays and the metalwork, and a sentence on the drawing; nothing if there is none of them."""
    study = result.study
    blocks: list[Block] = []
    if study.trays:
        blocks.append(_tray_table(result))
    if study.metalwork:
        blocks.append(_metalwork_table(result))
    if study.drawing is not None:
        blocks.append(Text((_drawing(result, study.drawing),)))
    return tuple(blocks)


Own = TypeVar("Own", Tray, Metalwork)


def _sizes_of(result: Answers, kind: type[Own]) -> tuple[Column[Own], ...]:
    """Columns of the outer sizes of trays or metalwork as drawn, and of their angle."""

    def over_all(axis: int) -> Callable[[Own], float | None]:
        return lambda own: _over_all(result, own.name, axis)

    return (
        Column("Width over all", over_all(0), MILLIMETRE, stated=True),
        Column("Height over all", over_all(1), MILLIMETRE, stated=True),
        Column("Turned", lambda own: own.turned, DEGREE, stated=True),
    )


def _tray_table(result: Answers) -> Table[Tray]:
    columns: tuple[Column[Tray], ...] = (
        Column("Tray", lambda tray: tray.name),
        Column("Profile", lambda tray: tray.profile),
        Column("Material", lambda tray: tray.material),
        Column("Temperature", lambda tray: tray.temperature, CELSIUS, stated=True),
        Column("Thickness", lambda tray: tray.thickness, MILLIMETRE, stated=True),
        Column("Sizes", _tray_sizes),
        *_sizes_of(result, Tray),
        Column("Open area", lambda tray: tray.open_area, PER_CENT, stated=True),
        Column("Cover", _cover),
    )
    return Table("Trays", columns, result.study.trays)


def _metalwork_table(result: Answers) -> Table[Metalwork]:
    columns: tuple[Column[Metalwork], ...] = (
        Column("Name", lambda work: work.name),
        Column("Shape", lambda work: work.shape),
        Column("Material", lambda work: work.material),
        Column("Temperature", lambda work: work.temperature, CELSIUS, stated=True),
        Column("Sizes", lambda work: _metalwork_sizes(result, work)),
        *_sizes_of(result, Metalwork),
    )
    return Table("Metalwork", columns, result.study.metalwork)


def _tray_sizes(tray: Tray) -> str:
    words = []
    if tray.width is not None:
        words.append(f"width {_mm(tray.width)}\u202fmm")
    if tray.inside_width is not None and tray.inside_height is not None:
        words.append(f"inside {_mm(tray.inside_width)}\u202fmm × {_mm(tray.inside_height)}\u202fmm")
    if tray.inside_diameter is not None:
        words.append(f"bore {_mm(tray.inside_diameter)}\u202fmm")
    if tray.lip > 0:
        words.append(f"lips {_mm(tray.lip)}\u202fmm {tray.lips or 'inward'}")
    if tray.rail_flange > 0:
        words.append(f"rail flanges {_mm(tray.rail_flange)}\u202fmm")
    if tray.dividers:
        places = ", ".join(_mm(place) for place in tray.dividers)
        height = f", {_mm(tray.divider_height)}\u202fmm high" if tray.divider_height is not None else ""
        words.append(f"dividers at {places}\u202fmm{height}")
    return "; ".join(words)


def _metalwork_sizes(result: Answers, work: Metalwork) -> str:
    if work.shape == "drawing":
        count = sum(is_of(part.name, work.name) for part in result.cross_section.parts if part.cable is None)
        return f"layer {work.layer}, {count} solid{'' if count == 1 else 's'}"
    words = []
    if work.height is not None and work.width is not None:
        words.append(f"width {_mm(work.width)}\u202fmm, height {_mm(work.height)}\u202fmm")
    named = (("web", work.web), ("flanges", work.flange), ("diameter", work.outside_diameter))
    words += [f"{name} {_mm(value)}\u202fmm" for name, value in named if value is not None]
    if work.thickness is not None:
        words.append(f"thickness {_mm(work.thickness)}\u202fmm")
    if work.path:
        corners = np.array(work.path)
        ahead = np.diff(np.vstack([corners, corners[:1]]) if work.closed else corners, axis=0)
        length = float(np.linalg.norm(ahead, axis=1).sum())
        words.append(f"{'closed ' if work.closed else ''}path of {len(work.path)} points, {_mm(length)}\u202fmm long")
    return "; ".join(words)


def _cover(tray: Tray) -> str:
    if tray.cover is None:
        return "none"
    if not isinstance(tray.cover, Cover):
        return "in contact"
    cover = tray.cover
    words = [f"gap {_mm(cover.gap)}\u202fmm"]
    if cover.thickness is not None:
        words.append(f"{_mm(cover.thickness)}\u202fmm thick")
    if cover.material is not None:
        words.append(cover.material)
    if cover.edge:
        words.append(f"edges {_mm(cover.edge)}\u202fmm")
    return ", ".join(words)


def _over_all(result: Answers, name: str, axis: int) -> float | None:
    """Extent of all solids of a tray or of metalwork along x (0) or y (1). [m]"""
    outlines = [boundary_loops(part.shape)[0] for part in _own(result, name)]
    return float(np.ptp(np.vstack(outlines)[:, axis])) if outlines else None


def _own(result: Answers, name: str) -> Iterable[StudyPart]:
    return (part for part in result.cross_section.parts if part.cable is None and is_of(part.name, name))


def _drawing(result: Answers, drawing: Drawing) -> str:
    layers = [layer for circuit in result.study.circuits for layer in (circuit.drawn_on or {}).values()]
    layers += [work.layer for work in result.study.metalwork if work.layer is not None]
    name = PurePath(drawing.file.replace("\\\\", "/")).name
    at = ", ".join(f"{place:g}".replace("-", MINUS) for place in drawing.at)
    return (
        f"Taken from the drawing {name}, unit {drawing.unit}, its origin at ({at})\u202fm: circles and closed outlines "
        f"on the layers {', '.join(dict.fromkeys(layers)) or NONE}. The cautions list other entities on these "
        "layers; other layers are left out."
    )


def _mm(value: float) -> str:
    return f"{1e3 * value:.5g}".replace("-", MINUS)
