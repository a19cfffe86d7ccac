"""Formulas of the loss in screens, sheaths and trays."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fem.arrays import Floats
from fem.ties import Tie
from geometry.shapes import Tube, Wall
from studies.closed_forms.floor import only_open_floor
from studies.closed_forms.lines import LineModel
from studies.closed_forms.validity import (
    OTHER_CIRCUITS,
    ClosedForm,
    metal_near,
    outside_of,
    reasons,
    source,
)
from studies.formulas.formula import Limit
from studies.formulas.infinite_plate import plate_loss
from studies.formulas.rails import rail_loop_current, rail_loss
from studies.formulas.screen_eddy import eddy_factor
from studies.formulas.screens import (
    circulating_factor,
    flat_circulating_factor,
    flat_mutual_reactance,
    screen_reactance,
)
from studies.section.parts import METALWORK, TRAY, CrossSection, PlacedCable, StudyPart
from studies.study.parts import GROUPS, LEFT, RIGHT, SCREEN, SHEATH
from studies.study.phases import LINES

LAYERS = (SCREEN, SHEATH)
"""Layers of a cable that lambda1 of IEC 60287-1-1 is for."""
CIRCULATING, EDDY = "IEC 60287-1-1 circulating loss factor", "IEC 60287-1-1 eddy loss factor"
WIDE_FLOOR = Limit(
    "floor beside the cables / their height above it",
    lambda room, height: room / height,
    "the floor ends near the cables; its walls are left out",
    least=3,
)
UNBALANCED = 0.02
"""Share of the other sequences up to which currents count as balanced. [-]"""


def closed_form_loss(section: CrossSection, model: LineModel, part: StudyPart) -> ClosedForm | None:
    """The closed form for the loss of a screen, a sheath or an open tray, in W/m; None if there is none."""
    if part.kind in LAYERS:
        return _layer(section, model, part)
    if part.kind == TRAY and part.name.endswith((f".{LEFT}", f".{RIGHT}")):
        return _rail(section, model, part)
    floor = only_open_floor(section)
    return _floor(section, model, floor) if floor is not None and floor[0] is part else None


def _floor(
    section: CrossSection, model: LineModel, floor: tuple[StudyPart, tuple[float, float], float, float]
) -> ClosedForm | None:
    part, shift, width, thickness = floor
    axes = model.axes - np.array(shift)
    if axes[:, 1].min() <= 0:
        return None
    mu, sigma = abs(complex(part.material.relative_permeability)), part.material.conductivity
    value = plate_loss(axes, model.currents, thickness, sigma, section.frequency, mu).loss
    room = width / 2 - np.abs(axes[:, 0]).max()
    outside = [*outside_of(WIDE_FLOOR.failure(room=room, height=axes[:, 1].max()))]
    if part.steel is not None:
        outside.append("the steel saturates; the formula has one permeability, that of the linear answer")
    name = "infinite plate like the tray's floor under line currents"
    return ClosedForm(name, source(plate_loss), float(value), tuple(outside))


def rail_currents(section: CrossSection, model: LineModel, part: StudyPart) -> dict[str, complex] | None:
    """Closed-form currents of the two rails of a ladder; None if a bond holds more than the two. [A]"""
    names = _rails_of(part)
    ties = [tie for tie in section.ties if not set(names).isdisjoint(tie.parts)]
    if any(tie.impedance is not None or not set(tie.parts) <= set(names) for tie in ties):
        return None
    if len(ties) == 2:
        return dict.fromkeys(names, 0j)
    strips, thickness = _strips(section, names)
    resistance, frequency = part.dc_resistance, section.frequency
    loop = rail_loop_current(model.axes, model.currents, strips, thickness, resistance, frequency)
    return {names[0]: loop, names[1]: -loop}


def _rail(section: CrossSection, model: LineModel, part: StudyPart) -> ClosedForm | None:
    own = rail_currents(section, model, part)
    if own is None:
        return None
    names = _rails_of(part)
    strips, _ = _strips(section, names)
    inputs = {"resistance": part.dc_resistance, "frequency": section.frequency}
    both = rail_loss(model.axes, model.currents, strips, rail_currents=[own[name] for name in names], **inputs)
    outside = list(reasons(rail_loss, **inputs))
    if abs(complex(part.material.relative_permeability) - 1) > 0.1:
        outside.append("the rails are magnetic, which the formula leaves out")
    if isinstance(part.shape, Wall) and len(part.shape.runs()) > 1:
        outside.append("the flanges of the rails are left out, except for their resistance")
    if any(other.name not in names and other.kind in (TRAY, METALWORK) for other in section.parts):
        outside.append("other metal is near, which the formula leaves out")
    name = "loop of the rails as thin strips under line currents"
    return ClosedForm(name, source(rail_loss), float(both[names.index(part.name)]), tuple(outside))


def _rails_of(part: StudyPart) -> tuple[str, str]:
    ladder = part.name.rpartition(".")[0]
    return f"{ladder}.{LEFT}", f"{ladder}.{RIGHT}"


def _strips(section: CrossSection, names: tuple[str, str]) -> tuple[Floats, float]:
    """End points of the middle lines of two rails' upright plates, shape (2, 2, 2), and their thickness. [m]"""
    strips, thickness = [], 0.0
    for name in names:
        shape = section.part(name).shape
        assert isinstance(shape, Wall)
        runs = [np.array(run) for run in shape.runs()]
        right_start, right_end, left_end, left_start = max(runs, key=lambda run: float(np.linalg.norm(run[0] - run[1])))
        strips.append([(right_start + left_start) / 2, (right_end + left_end) / 2])
        thickness = float(np.linalg.norm(right_start - left_start))
    return np.array(strips), thickness


def _layer(section: CrossSection, model: LineModel, part: StudyPart) -> ClosedForm | None:
    """IEC 60287-1-1 for one circuit of three cables in trefoil or evenly spaced flat formation; else nothing."""
    cable = part.cable
    assert cable is not None
    own = [other for other in section.cables if other.circuit == cable.circuit]
    if len(own) != 3 or {other.phase for other in own} != set(LINES):
        return None
    axes = np.array([other.axis for other in own])
    sides = [float(np.linalg.norm(axes[a] - axes[b])) for a, b in ((0, 1), (1, 2), (2, 0))]
    formation = _formation(sides)
    currents = _currents(model, cable.circuit)
    sequence = _sequence(currents)
    if formation is None or sequence is None:
        return None
    neglected = _surroundings(section, part, cable)
    if not sequence.balanced:
        neglected.append("the currents are not balanced, which the formula takes them to be")
    place = formation if formation == "trefoil" else _place(own, cable, sequence.positive)
    m = next(k for k, conductor in enumerate(model.conductors) if conductor.cable == cable)
    resistance = float(model.resistances[m])
    bond = next(tie for tie in section.ties if part.name in tie.parts)
    if len(bond.parts) > 1:
        ratio = _circulating(section, part, bond, place, min(sides), resistance, neglected)
    else:
        ratio = _eddy(section, part, place, min(sides), resistance, neglected)
    return replace(ratio, value=ratio.value * (resistance * abs(complex(model.currents[m])) ** 2))


def _circulating(
    section: CrossSection,
    part: StudyPart,
    bond: Tie,
    place: str,
    spacing: float,
    resistance: float,
    neglected: list[str],
) -> ClosedForm:
    """Loss of a bonded layer over the loss of its conductor."""
    assert part.cable is not None
    assert isinstance(part.shape, Tube)
    diameter = part.shape.inner_radius + part.shape.outer_radius
    reactance = screen_reactance(spacing, diameter, section.frequency)
    if place == "trefoil":
        function: Callable[..., Any] = circulating_factor
        factor = circulating_factor(part.dc_resistance, resistance, reactance)
    else:
        function, mutual = flat_circulating_factor, flat_mutual_reactance(section.frequency)
        factor = flat_circulating_factor(place, part.dc_resistance, resistance, reactance, mutual)
    outside = list(neglected)
    if any(name.rsplit(".", 2)[0] != part.cable.circuit or not name.endswith(part.kind) for name in bond.parts):
        outside.append(f"the bond holds more than the circuit's own {GROUPS[part.kind]}")
    if bond.impedance is not None:
        outside.append("the bond closes through an impedance, which the formula leaves out")
    return ClosedForm(f"{CIRCULATING}, {place}", source(function), float(factor), tuple(outside))


def _eddy(
    section: CrossSection, part: StudyPart, place: str, spacing: float, resistance: float, neglected: list[str]
) -> ClosedForm:
    """Loss of a layer without a circulating current over the loss of its conductor."""
    assert isinstance(part.shape, Tube)
    arguments: dict[str, Any] = {
        "position": place,
        "screen_resistance": part.dc_resistance,
        "resistance": resistance,
        "mean_diameter": part.shape.inner_radius + part.shape.outer_radius,
        "spacing": spacing,
        "thickness": part.shape.outer_radius - part.shape.inner_radius,
        "resistivity": 1 / part.material.conductivity,
        "frequency": section.frequency,
    }
    outside = (*reasons(eddy_factor, **arguments), *neglected)
    return ClosedForm(f"{EDDY}, {place}", source(eddy_factor), float(eddy_factor(**arguments)), outside)


def _surroundings(section: CrossSection, part: StudyPart, cable: PlacedCable) -> list[str]:
    """Surroundings of a layer of metal that its formula neglects."""
    found = metal_near(section)
    if len({phase.circuit for phase in section.phases}) > 1:
        found.append(OTHER_CIRCUITS)
    if len(cable.layers.tubes) > 1:
        found.append("the cable has other layers of metal, which the formula leaves out")
    if abs(complex(part.material.relative_permeability) - 1) > 0.1:
        found.append("the layer is magnetic, which the formula leaves out")
    return found


@dataclass(frozen=True)
class _Sequence:
    """How the currents of L1, L2 and L3 follow each other."""

    positive: bool
    balanced: bool


def _currents(model: LineModel, circuit: str) -> dict[str, complex]:
    """Current of each phase of a circuit of three cables. [A]"""
    return {
        part.cable.phase: complex(current)
        for part, current in zip(model.conductors, model.currents, strict=True)
        if part.cable is not None and part.cable.circuit == circuit
    }


def _sequence(currents: dict[str, complex]) -> _Sequence | None:
    """The sequence that rules; None for currents in step, as of third harmonics, which no factor is made for."""
    turn = np.exp(2j * np.pi / 3)
    one, two, three = (currents.get(line, 0j) for line in LINES)
    zero, positive, negative = (abs(one + turn**k * two + turn ** (2 * k) * three) for k in (0, 1, 2))
    largest = max(zero, positive, negative)
    if zero >= largest > 0:
        return None
    left = zero + min(positive, negative)
    return _Sequence(positive >= negative, left <= UNBALANCED * largest)


def _formation(sides: list[float]) -> str | None:
    low, middle, high = sorted(sides)
    if math.isclose(low, high, rel_tol=0.01):
        return "trefoil"
    if math.isclose(low, middle, rel_tol=0.01) and math.isclose(low + middle, high, rel_tol=0.01):
        return "flat"
    return None


def _place(own: list[PlacedCable], cable: PlacedCable, positive: bool) -> str:
    """centre, leading or lagging: of the two outer cables the one whose phase leads that of the centre cable leads."""
    axes = np.array([other.axis for other in own])
    centre = own[int(np.linalg.norm(axes - axes.mean(axis=0), axis=1).argmin())]
    if cable == centre:
        return "centre"
    follows = {"L1": "L2", "L2": "L3", "L3": "L1"}
    return "leading" if (follows[cable.phase] == centre.phase) == positive else "lagging"
