"""Trays, covers and metalwork of a study as conducting parts."""

from __future__ import annotations

import math

from geometry.clearance import polygon
from geometry.network import Rectangle, network_of_rectangles
from geometry.placing import placed
from geometry.profiles.channel import ChannelTray, Cover, Divider
from geometry.profiles.ducts import Conduit, Duct
from geometry.profiles.sheets import BentPlate, FlatPlate, Ladder
from geometry.profiles.solids import Profile, named_solids
from geometry.profiles.structural import ISection, LSection
from geometry.shapes import Shape, Tube, wall_along
from studies.section.drawing import Drawn
from studies.section.metal import Metal, metal
from studies.section.parts import METALWORK, TRAY, StudyPart
from studies.study import trays as stated
from studies.study.file import Study
from studies.study.materials import curve_of, material_of, other_curve_of
from studies.study.metalwork import Metalwork
from studies.study.parts import COVER
from studies.study.trays import Tray


def tray_profile(tray: Tray) -> Profile:
    """Dimensions of a tray."""
    t, width, height = tray.thickness, tray.inside_width or 0.0, tray.inside_height or 0.0
    if tray.profile == "plate":
        return FlatPlate(tray.width or 0.0, t)
    if tray.profile == "conduit":
        return Conduit((tray.inside_diameter or 0.0) + 2 * t, t)
    if tray.profile == "duct":
        return _duct(tray, width, height)
    if tray.profile == "ladder":
        return Ladder(width, height, t, flange=tray.rail_flange)
    dividers = tuple(Divider(x, tray.divider_height or height, t) for x in tray.dividers or ())
    return ChannelTray(width, height, t, tray.lip, tray.lips or "inward", dividers, _cover(tray))


def solids_of_tray(study: Study, tray: Tray) -> list[StudyPart]:
    """Parts of a tray: the tray or its rails, and a cover that does not touch it."""
    if tray.profile == "ladder" and tray.cover is not None:
        solids = _covered_ladder(tray)
    else:
        solids = named_solids(tray_profile(tray), tray.name, tray.rests_at, tray.turned)
    parts = []
    for name, shape in solids.items():
        material = tray.material
        if name == f"{tray.name}.{COVER}" and isinstance(tray.cover, stated.Cover) and tray.cover.material:
            material = tray.cover.material
        own = _metal(study, material, tray.temperature, tray.open_area)
        parts.append(_solid(name, TRAY, shape, own, tray.open_area))
    return parts


def metalwork_parts(study: Study, work: Metalwork, drawn: Drawn | None) -> list[StudyPart]:
    """Parts of a piece of metalwork; a layer of a drawing may hold several solids."""
    own = _metal(study, work.material, work.temperature)
    if work.shape == "drawing":
        assert drawn is not None
        shapes = drawn.solids_of(work)
        if len(shapes) == 1:
            return [_solid(work.name, METALWORK, shapes[0], own)]
        return [_solid(f"{work.name}.{k}", METALWORK, shape, own) for k, shape in enumerate(shapes, 1)]
    return [_solid(work.name, METALWORK, metalwork_shape(work), own)]


def metalwork_shape(work: Metalwork) -> Shape:
    """Solid of a piece of metalwork that is not drawn."""
    at, t = work.at or (0.0, 0.0), work.thickness or 0.0
    width, height = work.width or 0.0, work.height or 0.0
    if work.shape == "path":
        if work.closed:
            return wall_along(work.path or (), t, side=work.side or "middle", closed=True)
        return BentPlate(tuple(work.path or ()), t, work.side or "middle").solids()[""]
    if work.shape == "tube":
        outside = (work.outside_diameter or 0.0) / 2
        return Tube(at, outside - t, outside)
    if work.shape == "rectangle":
        return placed(wall_along([(-width / 2, 0.0), (width / 2, 0.0)], height), at, work.turned)
    if work.shape == "I":
        return placed(ISection(height, width, work.web or 0.0, work.flange or 0.0).solids()[""], at, work.turned)
    corner = placed(LSection(height, width, t, t).solids()[""], (width / 2, 0.0))  # its outer corner at the origin
    return placed(corner, at, work.turned)


def _metal(study: Study, material: str, temperature: float, open_area: float = 0.0) -> Metal:
    other = other_curve_of(study, material)
    curve = curve_of(study, material)
    return metal(material_of(study, material), temperature, curve, open_area, other=other[1] if other else None)


def _solid(name: str, kind: str, shape: Shape, own: Metal, open_area: float = 0.0) -> StudyPart:
    area = math.pi * (shape.outer_radius**2 - shape.inner_radius**2) if isinstance(shape, Tube) else polygon(shape).area
    resistance = 1 / (own.material.conductivity * area)
    return StudyPart(name, kind, shape, own.material, resistance, own.source, steel=own.steel, open_area=open_area)


def _cover(tray: Tray) -> Cover | None:
    if tray.cover is None:
        return None
    if not isinstance(tray.cover, stated.Cover):
        return Cover(tray.thickness)
    edge = tray.cover.edge or 0.0
    return Cover(tray.cover.thickness or tray.thickness, tray.cover.gap, edge, tray.cover.gap if edge else 0.0)


def _covered_ladder(tray: Tray) -> dict[str, Shape]:
    """Ladder with a cover from outside to outside of the rails; if it touches them, it makes them one part."""
    half, height, t = (tray.inside_width or 0.0) / 2, tray.inside_height or 0.0, tray.thickness
    reach = half + t + tray.rail_flange
    if isinstance(tray.cover, stated.Cover):
        rails = named_solids(tray_profile(tray), tray.name, tray.rests_at, tray.turned)
        over = ChannelTray(2 * (reach - t), height, t, cover=_cover(tray)).solids()[COVER]
        return {**rails, f"{tray.name}.{COVER}": placed(over, tray.rests_at, tray.turned)}
    sheets = [Rectangle(-reach, height, reach, height + t)]
    for side in (-1, 1):
        web, flanges = sorted((side * half, side * (half + t))), sorted((side * (half + t), side * reach))
        sheets.append(Rectangle(web[0], 0.0, web[1], height))
        if tray.rail_flange > 0:
            sheets += [
                Rectangle(flanges[0], 0.0, flanges[1], t),
                Rectangle(flanges[0], height - t, flanges[1], height),
            ]
    return {tray.name: placed(network_of_rectangles(sheets), tray.rests_at, tray.turned)}


def _duct(tray: Tray, width: float, height: float) -> Duct:
    """Duct with its dividers as full walls between compartments."""
    t = tray.thickness
    walls = sorted(tray.dividers or ())
    edges = [-width / 2, *(edge for x in walls for edge in (x - t / 2, x + t / 2)), width / 2]
    widths = tuple(right - left for left, right in zip(edges[::2], edges[1::2], strict=True))
    return Duct(widths, (height,), t)
