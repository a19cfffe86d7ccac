"""Geometry from the words of a study: cable constructions and cable axes."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from fem.arrays import Floats
from geometry import formation
from geometry.cable import CableConstruction
from studies.study.cables import LAYERS, Cable, Conductor, MetalLayer, tube_thickness
from studies.study.laying import CLEATS
from studies.study.parts import ARMOUR, SCREEN, SHEATH, TrayParts

if TYPE_CHECKING:
    from studies.section.parts import PlacedCable
    from studies.study.circuits import Circuit
    from studies.study.file import Study, StudyFile

GROUP_CLEAR_GAP = 2.15
"""Clear gap between trefoil groups if none is stated; common practice, no source. [cable diameters]"""


def conductor_radius(conductor: Conductor) -> float:
    """Radius of the homogeneous circle that represents the conductor. [m]"""
    if conductor.diameter is not None:
        return conductor.diameter / 2
    return math.sqrt(conductor.area / math.pi)


def construction(cable: Cable) -> CableConstruction:
    """Radii of a cable's layers. [m]"""
    radius, thicknesses = conductor_radius(cable.conductor), {}
    for name in LAYERS:
        layer = getattr(cable, name)
        thickness = tube_thickness(layer, radius) if isinstance(layer, MetalLayer) else layer or 0.0
        thicknesses[f"{name}_thickness"] = thickness
        radius += thickness
    return CableConstruction(conductor_radius(cable.conductor), **thicknesses)


def metal_layers(cable: Cable) -> dict[str, MetalLayer]:
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


def bodies_of(study: "Study", cables: "Sequence[PlacedCable]") -> list[int]:
    """Of each cable the number of the first of its cleat, which holds a trefoil; its own if it is held singly."""
    cleats = study.laying_tolerance is not None and study.laying_tolerance.held == CLEATS
    trefoils = {circuit.name for circuit in study.circuits if cleats and circuit.arrangement == "trefoil"}
    return [k - (cable.position - 1) % 3 if cable.circuit in trefoils else k for k, cable in enumerate(cables)]


def tray_names(study: "StudyFile") -> tuple[TrayParts, ...]:
    """Properties of each tray from which the names of its parts follow."""
    return tuple(TrayParts(tray.name, tray.profile, tray.cover, tray.rails) for tray in study.trays)
