"""Geometry from the words of a study: cable constructions and cable axes."""

import math
from typing import TYPE_CHECKING

from fem.arrays import Floats
from geometry import formation
from geometry.cable import CableConstruction
from studies.study.cables import LAYERS, MetalLayer, tube_thickness
from studies.study.parts import ARMOUR, SCREEN, SHEATH, TrayParts

if TYPE_CHECKING:
    from studies.study.cables import Cable, Conductor
    from studies.study.circuits import Circuit
    from studies.study.file import StudyFile

GROUP_CLEAR_GAP = 2.15
"""Clear gap between trefoil groups if none is stated; common practice, no source. [cable diameters]"""


def conductor_radius(conductor: "Conductor") -> float:
    """Radius of the homogeneous circle that represents the conductor. [m]"""
    if conductor.diameter is not None:
        return conductor.diameter / 2
    return math.sqrt(conductor.area / math.pi)


def construction(cable: "Cable") -> CableConstruction:
    """Radii of a cable's layers. [m]"""
    radius, thicknesses = conductor_radius(cable.conductor), {}
    for name in LAYERS:
        layer = getattr(cable, name)
        thickness = tube_thickness(layer, radius) if isinstance(layer, MetalLayer) else layer or 0.0
        thicknesses[f"{name}_thickness"] = thickness
        radius += thickness
    return CableConstruction(conductor_radius(cable.conductor), **thicknesses)


def metal_layers(cable: "Cable") -> "dict[str, MetalLayer]":
    """The metal layers of a cable by name, from the inside out."""
    layers = {SCREEN: cable.screen, SHEATH: cable.sheath, ARMOUR: cable.armour}
    return {name: layer for name, layer in layers.items() if layer is not None}


def circuit_axes(study: "StudyFile", circuit: "Circuit") -> Floats:
    """Axes of a circuit's cables in the order of its phases, shape (n, 2). [m]"""
    count = len(circuit.phases)
    if circuit.arrangement == "drawing":
        raise ValueError(f"the axes of circuit {circuit.name} are taken from the drawing")
    if circuit.arrangement == "positions":
        return formation.positions(circuit.positions or ())
    diameter = construction(study.cables[circuit.cable]).diameter
    rests_at = circuit.rests_at or (0.0, 0.0)
    if circuit.arrangement == "trefoil":
        gap = circuit.group_clear_gap
        clear = GROUP_CLEAR_GAP * diameter if gap is None else gap.length(diameter)
        return formation.trefoil(count // 3, diameter, rests_at, circuit.spacing, clear)
    if circuit.clear_gap is not None:
        return formation.flat_with_clear_gap(count, circuit.clear_gap.length(diameter), diameter, rests_at)
    spacing = diameter if circuit.spacing is None else circuit.spacing  # a single cable needs no spacing
    return formation.flat(count, spacing, diameter, rests_at)


def tray_names(study: "StudyFile") -> tuple[TrayParts, ...]:
    """Properties of each tray from which the names of its parts follow."""
    return tuple(TrayParts(tray.name, tray.profile, tray.cover, tray.rails) for tray in study.trays)
