"""Cables of a study in their places, and their conducting parts."""

from __future__ import annotations

import math

import numpy as np

from geometry.shapes import Disc, Tube
from studies.data.conductor_data import DcResistance, conductor_dc_resistance
from studies.section.drawing import Drawn
from studies.section.metal import metal
from studies.section.parts import PlacedCable, StudyPart
from studies.section.placement import circuit_axes, construction, metal_layers
from studies.study.cables import Cable, MetalLayer, layer_material, layer_temperature, metal_share
from studies.study.circuits import Circuit
from studies.study.file import Study
from studies.study.materials import curve_of, material_of, other_curve_of
from studies.study.parts import CONDUCTOR, part_name


def placed_cables(study: Study, drawn: Drawn | None = None) -> tuple[PlacedCable, ...]:
    """Every cable of a study in its place, circuit by circuit."""
    cables = []
    for circuit in study.circuits:
        layers = construction(study.cables[circuit.cable])
        if circuit.arrangement == "drawing":
            assert drawn is not None
            phases, axes = drawn.axes_of(circuit, layers.outer_radius)
        else:
            phases, axes = circuit.phases, circuit_axes(study, circuit)
        cables += [
            PlacedCable(circuit.name, position, phase, (float(x), float(y)), layers)
            for position, (phase, (x, y)) in enumerate(zip(phases, np.asarray(axes), strict=True), 1)
        ]
    return tuple(cables)


def conductor_resistance(study: Study, circuit: Circuit) -> DcResistance:
    """Dc resistance of the conductors of a circuit at their temperature, and its source. [ohm/m]"""
    conductor = study.cables[circuit.cable].conductor
    return conductor_dc_resistance(
        material_of(study, conductor.material), conductor.area, conductor.temperature, conductor.dc_resistance
    )


def cable_parts(study: Study, cable: PlacedCable) -> list[StudyPart]:
    """Conductor and metal layers of a cable, from the inside out."""
    circuit = next(circuit for circuit in study.circuits if circuit.name == cable.circuit)
    kind = study.cables[circuit.cable]
    resistance = conductor_resistance(study, circuit)
    radius = cable.layers.conductor_radius
    own = metal(material_of(study, kind.conductor.material), kind.conductor.temperature).material
    conductor = StudyPart(
        part_name(cable.circuit, cable.position, CONDUCTOR),
        CONDUCTOR,
        Disc(cable.axis, radius),
        type(own)(1 / (resistance.value * math.pi * radius**2), own.relative_permeability),
        resistance.value,
        resistance.source,
        cable,
        skin_coefficient=kind.conductor.skin_coefficient,
        proximity_coefficient=kind.conductor.proximity_coefficient,
    )
    return [conductor, *(_layer_part(study, cable, kind, name, layer) for name, layer in metal_layers(kind).items())]


def _layer_part(study: Study, cable: PlacedCable, kind: Cable, name: str, layer: MetalLayer) -> StudyPart:
    inner, outer = cable.layers.tubes[name]
    material = layer_material(study, layer)
    curve = curve_of(study, layer.material) if material.curve is not None else None
    other = other_curve_of(study, layer.material) if curve is not None else None
    fill = metal_share(layer, inner, outer)
    tube = metal(material, layer_temperature(kind, layer), curve, fill=fill, other=other[1] if other else None)
    return StudyPart(
        part_name(cable.circuit, cable.position, name),
        name,
        Tube(cable.axis, inner, outer),
        tube.material,
        1 / (tube.material.conductivity * (math.pi * (outer**2 - inner**2))),
        tube.source,
        cable,
        tube.steel,
    )
