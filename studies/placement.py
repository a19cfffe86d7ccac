"""From the study's words to geometry: cable constructions, cable axes, and which parts a bond ties together."""

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry import formation
from geometry.cable import CableConstruction
from studies.parts import expand, named_parts

if TYPE_CHECKING:
    from studies.study import Bond, Cable, Circuit, Conductor, StudyFile

GROUP_CLEAR_GAP = 2.15
"""Clear gap between trefoil groups where none is stated; common practice, no source. [cable diameters]"""


def conductor_radius(conductor: "Conductor") -> float:
    """Radius of the homogeneous circle that stands for the conductor. [m]"""
    if conductor.diameter is not None:
        return conductor.diameter / 2
    return math.sqrt(conductor.area / math.pi)


def construction(cable: "Cable") -> CableConstruction:
    """Radii of a cable's layers. [m]"""
    return CableConstruction(
        conductor_radius=conductor_radius(cable.conductor),
        insulation_thickness=cable.insulation,
        screen_thickness=cable.screen.thickness if cable.screen else 0.0,
        jacket_thickness=cable.jacket or 0.0,
    )


def circuit_axes(study: "StudyFile", circuit: "Circuit") -> NDArray[np.float64]:
    """Axes of a circuit's cables in the order of its phases, shape (n, 2). [m]"""
    count = len(circuit.phases)
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


def bond_parts(study: "StudyFile", bond: "Bond") -> tuple[str, ...]:
    """Names of the single parts that a bond ties together."""
    circuits = [(c.name, len(c.phases), study.cables[c.cable].screen is not None) for c in study.circuits]
    return expand(bond.parts, named_parts(circuits, [tray.name for tray in study.trays]))
