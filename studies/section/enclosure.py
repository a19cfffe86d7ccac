"""Cables inside closed metal, with the net current of each enclosure, and points inside metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.ties import Drive
from geometry.clearance import polygon
from geometry.shapes import boundary_loops
from studies.section.parts import CrossSection, PlacedCable, StudyPart
from studies.section.spectrum import at_component, components
from studies.study.file import Study
from studies.study.parts import METAL_LAYERS

NOTICEABLE = 1e-2
"""Net currents above this share of the largest current are named. [-]"""
MAGNETIC = 1.1
"""Relative permeability above which metal counts as magnetic; stainless steel does not. [-]"""


@dataclass(frozen=True)
class Enclosure:
    """Cables within one pocket of a closed part."""

    part: str
    circuits: tuple[str, ...]
    magnetic: bool
    net_a: float
    """Largest rms sum of the enclosed currents over the frequencies. [A]"""
    largest_a: float
    """Largest enclosed current. [A]"""

    @property
    def unbalanced(self) -> bool:
        """Whether the enclosed currents do not sum to zero."""
        return self.net_a > NOTICEABLE * self.largest_a


def is_magnetic(part: StudyPart) -> bool:
    """Whether a part is of magnetic metal."""
    return abs(complex(part.material.relative_permeability)) > MAGNETIC


def enclosures(study: Study, section: CrossSection, names: Sequence[str], drive: Drive) -> tuple[Enclosure, ...]:
    """Every pocket of a tray or of metalwork that holds cables.

    study: The study, for its frequencies.
    section: With the currents at the frequency of the study.
    names: Parts in the order of the drive.
    drive: State at the frequency of the study, with the currents induced in bonded metal. [A]
    """
    solved = dict(zip(names, drive.currents.tolist(), strict=True))
    found = []
    for part in section.parts:
        if part.cable is not None:
            continue
        for loop in boundary_loops(part.shape)[1]:
            pocket = shapely.Polygon(loop)
            inside = [cable for cable in section.cables if pocket.contains(shapely.Point(cable.axis))]
            if inside:
                states = [solved, *(_given(at_component(section, component)) for component in components(study)[1:])]
                enclosed = [_enclosed(state, section, inside) for state in states]
                circuits = tuple(dict.fromkeys(cable.circuit for cable in inside))
                net, largest = max(abs(sum(i)) for i in enclosed), max(max(map(abs, i)) for i in enclosed)
                found.append(Enclosure(part.name, circuits, is_magnetic(part), net, largest))
    return tuple(found)


def single_core_steel(section: CrossSection) -> tuple[str, ...]:
    """Circuits whose single-core cables have a magnetic metal layer."""
    return tuple(
        dict.fromkeys(
            part.cable.circuit
            for part in section.parts
            if part.cable is not None and part.kind in METAL_LAYERS and is_magnetic(part)
        )
    )


def metal_at(section: CrossSection, points: ArrayLike) -> tuple[str | None, ...]:
    """The cable or metal around each point (n, 2) [m], None for a point in air."""
    places: Floats = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    found: list[str | None] = [None] * len(places)
    for cable in section.cables:
        for k in np.flatnonzero(np.linalg.norm(places - cable.axis, axis=1) <= cable.layers.outer_radius):
            found[k] = f"cable {cable.label}"
    for part in section.parts:
        if part.cable is None:
            for k in np.flatnonzero(shapely.intersects_xy(polygon(part.shape), places[:, 0], places[:, 1])):
                found[k] = part.name
    return tuple(found)


def _given(section: CrossSection) -> dict[str, complex]:
    """Given currents, with equal shares of parallel parts."""
    return {part: complex(tie.current) / len(tie.parts) for tie in section.ties for part in tie.parts}


def _enclosed(currents: dict[str, complex], section: CrossSection, cables: Sequence[PlacedCable]) -> list[complex]:
    """Currents of all conductors and metal layers of some cables. [A]"""
    labels = {cable.label for cable in cables}
    return [currents[part.name] for part in section.parts if part.cable is not None and part.cable.label in labels]
