"""Formulas of the loss in screens and in trays."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from geometry.shapes import Tube
from studies.cross_section import TRAY, CrossSection, PlacedCable, StudyPart
from studies.formulas.infinite_plate import plate_loss
from studies.formulas.screen_eddy import (
    flat_centre_eddy_factor,
    flat_lagging_eddy_factor,
    flat_leading_eddy_factor,
    trefoil_eddy_factor,
)
from studies.formulas.screens import (
    circulating_factor,
    flat_centre_circulating_factor,
    flat_lagging_circulating_factor,
    flat_leading_circulating_factor,
    flat_mutual_reactance,
    screen_reactance,
)
from studies.ladder.field import only_open_floor
from studies.ladder.rung import OTHER_CIRCUITS, TRAY_NEAR, Rung, reasons, source
from studies.ladder.series import NAME, SOURCE, SeriesResult
from studies.line_formulas import LineModel
from studies.parts import SCREEN
from studies.phases import LINES
from studies.results import LossResult


def loss_rungs(
    section: CrossSection, model: LineModel, losses: tuple[LossResult, ...], series: SeriesResult | None
) -> list[Rung]:
    """Screens by IEC 60287-1-1 and the exact series; a tray's floor as an infinite plate."""
    rungs = []
    for k, part in enumerate(section.parts):
        element = losses[k].loss_w_per_m
        if part.kind == SCREEN:
            rungs += [
                Rung("screen loss", part.name, formula, origin, "W/m", value, element, outside)
                for formula, origin, value, outside in _screen(section, model, part)
            ]
            if series is not None:
                rungs.append(Rung("screen loss", part.name, NAME, SOURCE, "W/m", float(series.losses[k]), element, ()))
    floor = only_open_floor(section)
    if floor is not None:
        rungs += _floor(section, model, losses, floor)
    return rungs


def _floor(
    section: CrossSection,
    model: LineModel,
    losses: tuple[LossResult, ...],
    floor: tuple[StudyPart, tuple[float, float], float, float],
) -> list[Rung]:
    part, shift, width, thickness = floor
    axes = model.axes - np.array(shift)
    if axes[:, 1].min() <= 0:
        return []
    mu, sigma = abs(complex(part.material.relative_permeability)), part.material.conductivity
    value = plate_loss(axes, model.currents, thickness, sigma, section.frequency, mu).loss
    element = next(loss.loss_w_per_m for loss in losses if loss.part == part.name)
    outside: list[str] = []
    if np.abs(axes[:, 0]).max() + 3 * axes[:, 1].max() > width / 2:
        outside.append("the floor ends near the cables; its walls are left out")
    name = "infinite plate like the tray's floor under line currents"
    return [Rung("tray loss", part.name, name, source(plate_loss), "W/m", value, element, tuple(outside))]


def _screen(section: CrossSection, model: LineModel, part: StudyPart) -> list[tuple[str, str, float, tuple[str, ...]]]:
    """IEC 60287-1-1 for one circuit of three cables in trefoil or evenly spaced flat formation; else nothing."""
    cable = part.cable
    assert cable is not None
    assert isinstance(part.shape, Tube)
    own = [other for other in section.cables if other.circuit == cable.circuit]
    if len(own) != 3 or {other.phase for other in own} != set(LINES):
        return []
    axes = np.array([other.axis for other in own])
    sides = [float(np.linalg.norm(axes[a] - axes[b])) for a, b in ((0, 1), (1, 2), (2, 0))]
    formation = _formation(sides)
    if formation is None:
        return []
    spacing = min(sides)
    m = next(k for k, conductor in enumerate(model.conductors) if conductor.cable == cable)
    bonded = next(tie for tie in section.ties if part.name in tie.parts)
    outside = [TRAY_NEAR] if any(other.kind == TRAY for other in section.parts) else []
    if len(section.phases) > 3:
        outside.append(OTHER_CIRCUITS)
    place = formation if formation == "trefoil" else _place(own, cable)
    r, rs = float(model.resistances[m]), part.dc_resistance
    diameter = part.shape.inner_radius + part.shape.outer_radius
    x = float(screen_reactance(spacing, diameter, section.frequency))
    xm = float(flat_mutual_reactance(section.frequency))
    conductor_loss = r * abs(complex(model.currents[m])) ** 2
    if len(bonded.parts) > 1:
        circulating: dict[str, tuple[Callable[..., Any], tuple[float, ...]]] = {
            "trefoil": (circulating_factor, (rs, r, x)),
            "centre": (flat_centre_circulating_factor, (rs, r, x, xm)),
            "leading": (flat_leading_circulating_factor, (rs, r, x, xm)),
            "lagging": (flat_lagging_circulating_factor, (rs, r, x, xm)),
        }
        function, inputs = circulating[place]
        if any(name.split(".")[0] != cable.circuit or not name.endswith(SCREEN) for name in bonded.parts):
            outside.append("the bond holds more than the circuit's own screens")
        value = float(function(*inputs)) * conductor_loss
        return [("circulating loss factor", source(function), value, tuple(outside))]
    eddy = {
        "trefoil": trefoil_eddy_factor,
        "centre": flat_centre_eddy_factor,
        "leading": flat_leading_eddy_factor,
        "lagging": flat_lagging_eddy_factor,
    }[place]
    thickness = part.shape.outer_radius - part.shape.inner_radius
    arguments = {
        "screen_resistance": rs,
        "resistance": r,
        "mean_diameter": diameter,
        "spacing": spacing,
        "thickness": thickness,
        "resistivity": 1 / part.material.conductivity,
        "frequency": section.frequency,
    }
    value = float(eddy(**arguments)) * conductor_loss
    return [("eddy loss factor", source(eddy), value, (*reasons(eddy, **arguments), *outside))]


def _formation(sides: list[float]) -> str | None:
    low, middle, high = sorted(sides)
    if math.isclose(low, high, rel_tol=0.01):
        return "trefoil"
    if math.isclose(low, middle, rel_tol=0.01) and math.isclose(low + middle, high, rel_tol=0.01):
        return "flat"
    return None


def _place(own: list[PlacedCable], cable: PlacedCable) -> str:
    """centre, leading or lagging: of the two outer cables the one whose phase leads that of the centre cable leads."""
    axes = np.array([other.axis for other in own])
    centre = own[int(np.linalg.norm(axes - axes.mean(axis=0), axis=1).argmin())]
    if cable == centre:
        return "centre"
    follows = {"L1": "L2", "L2": "L3", "L3": "L1"}
    return "leading" if follows[cable.phase] == centre.phase else "lagging"
