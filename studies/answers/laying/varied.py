"""A cross-section as one laying has it: cables out of place, scattered currents, other materials."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from fem.arrays import Complexes
from fem.materials import Material
from geometry.shapes import Disc, Tube
from studies.data.materials import resistance_rise
from studies.section.parts import CrossSection, StudyPart
from studies.study.cables import layer_material, layer_temperature
from studies.study.file import Study
from studies.study.laying import LayingTolerance
from studies.study.materials import material_of
from studies.study.parts import CONDUCTOR


def with_materials(study: Study, section: CrossSection, deviates: Mapping[str, float]) -> CrossSection:
    """The cross-section with other materials, by deviates in units of the spreads.

    Permeability and conductivity of trays and metalwork are multiplied by exp(deviate x spread), which is never below
    zero; the temperature of the cables is moved.
    """
    asked = study.laying_tolerance or LayingTolerance()
    factors = {
        name: math.exp(deviates.get(name, 0.0) * getattr(asked, name)) for name in ("permeability", "conductivity")
    }
    warmer = deviates.get("temperature", 0.0) * asked.temperature
    parts = []
    for part in section.parts:
        own = part.material
        if part.cable is None:
            mu = complex(own.relative_permeability)
            mu = mu * factors["permeability"] if abs(mu) > 1.0 else mu
            parts.append(replace(part, material=Material(own.conductivity * factors["conductivity"], mu)))
        elif warmer:
            cooler = _rise(study, part, 0.0) / _rise(study, part, warmer)
            parts.append(replace(part, material=Material(own.conductivity * cooler, own.relative_permeability)))
        else:
            parts.append(part)
    return replace(section, parts=tuple(parts))


def _rise(study: Study, part: StudyPart, warmer: float) -> float:
    """Resistance of a cable's part over that at 20 degC, so much warmer than stated [K]."""
    assert part.cable is not None
    circuit = next(one for one in study.circuits if one.name == part.cable.circuit)
    kind = study.cables[circuit.cable]
    if part.kind == CONDUCTOR:
        return resistance_rise(material_of(study, kind.conductor.material), kind.conductor.temperature + warmer)
    layer = getattr(kind, part.kind)
    return resistance_rise(layer_material(study, layer), layer_temperature(kind, layer) + warmer)


def with_moves(section: CrossSection, moves: Complexes) -> CrossSection:
    """The cross-section with its cables moved by (n,), x + j y [m]."""
    moved = {
        id(cable): replace(cable, axis=(cable.axis[0] + float(move.real), cable.axis[1] + float(move.imag)))
        for cable, move in zip(section.cables, moves, strict=True)
    }
    by_label = {cable.label: moved[id(cable)] for cable in section.cables}
    parts = []
    for part in section.parts:
        if part.cable is not None and isinstance(part.shape, Disc | Tube):
            cable = by_label[part.cable.label]
            part = replace(part, cable=cable, shape=replace(part.shape, centre=cable.axis))
        parts.append(part)
    return replace(section, cables=tuple(moved.values()), parts=tuple(parts))


def with_currents(section: CrossSection, currents: Complexes) -> CrossSection:
    """The cross-section with other currents of its phases (phases,) [A]."""
    phases = tuple(
        replace(phase, current=complex(current)) for phase, current in zip(section.phases, currents, strict=True)
    )
    ties = list(section.ties)
    for phase in phases:
        ties[phase.tie] = replace(ties[phase.tie], current=phase.current)
    return replace(section, phases=phases, ties=tuple(ties))
