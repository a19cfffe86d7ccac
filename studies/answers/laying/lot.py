"""The lot: displacements, currents and materials of every laying, from the seed alone."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from studies.answers.laying.packing import Ground, ground_of
from studies.section.parts import CrossSection
from studies.section.placement import bodies_of
from studies.study.file import Study
from studies.study.laying import FAR, NORMAL, LayingTolerance

MATERIALS = ("permeability", "conductivity", "temperature")
"""Inputs of which one number holds for the whole study."""


@dataclass(frozen=True)
class Layings:
    """S layings of a cross-section."""

    moves: Complexes
    """Of each of the n cables after pushing apart, x + j y, shape (S, n). [m]"""
    phase_factors: Complexes
    """Of the current of each phase, shape (S, phases). [-]"""
    deviates: dict[str, Floats]
    """Of each material input, in units of its spread, shape (S,). [-]"""

    def first(self, count: int) -> Layings:
        """The first ones."""
        deviates = {name: values[:count] for name, values in self.deviates.items()}
        return Layings(self.moves[:count], self.phase_factors[:count], deviates)


@dataclass(frozen=True)
class Lot:
    """Independent deviates of everything that may be spread."""

    asked: LayingTolerance
    ground: Ground
    across: Floats
    up: Floats
    current: Floats
    angle: Floats
    within: Complexes
    """Of each cable in its cleat, shape (S, n)."""
    bodies: Ints
    """Of each cable the number of the first one of its cleat, or its own, shape (n,)."""
    materials: dict[str, Floats]

    def layings(self, only: Collection[str] | None = None, count: int | None = None) -> Layings:
        """The layings with all spreads, or with some of them alone; all of them, or the first."""
        own = self if count is None else self._first(count)
        spread = {name: getattr(self.asked, name) for name in self.asked.spread() if only is None or name in only}
        moves = spread.get("across", 0.0) * own.across + 1j * spread.get("up", 0.0) * own.up
        moves = moves[:, self.bodies]
        if moves.any():
            moves = self.ground.packed(moves, bodies=self.bodies)
        if "within" in spread:
            moves = self.ground.packed(spread["within"] * own.within, moves)
        factors = (1 + spread.get("current", 0.0) * own.current) * np.exp(1j * spread.get("angle", 0.0) * own.angle)
        deviates = {name: values * (name in spread) for name, values in own.materials.items()}
        return Layings(moves, factors, deviates)

    def _first(self, count: int) -> Lot:
        names = ("across", "up", "current", "angle", "within")
        materials = {name: values[:count] for name, values in self.materials.items()}
        return replace(self, **{name: getattr(self, name)[:count] for name in names}, materials=materials)


def lot_of(study: Study, section: CrossSection) -> Lot:
    """Deviates of a cross-section's cables, phases and materials, each of its own stream of the seed.

    What is not spread takes no numbers from what is: the layings stay when another input is added.
    """
    asked = study.laying_tolerance or LayingTolerance()
    streams = np.random.SeedSequence(asked.seed).spawn(6 + len(MATERIALS))
    cables, phases = len(section.cables), len(section.phases)
    sizes = [(asked.samples, count) for count in (cables, cables, phases, phases)]
    sizes += [(asked.samples, 1)] * len(MATERIALS) + [(asked.samples, cables)] * 2
    found = []
    for stream, size in zip(streams, sizes, strict=True):
        draw = np.random.default_rng(stream)
        found.append(draw.standard_normal(size) if asked.distribution == NORMAL else draw.uniform(-1, 1, size))
    spread = max(asked.across, asked.up) + asked.within
    materials = {name: found[4 + k][:, 0] for k, name in enumerate(MATERIALS)}
    across, up, current, angle = found[:4]
    within = found[-2] + 1j * found[-1]
    bodies = np.array(bodies_of(study, section.cables))
    return Lot(asked, ground_of(section, spread), across, up, current, angle, within, bodies, materials)


def scattered_currents(section: CrossSection, factors: Complexes, residual: str) -> Complexes:
    """Currents of the phases for factors (s, phases), shape (s, phases). [A]

    Unless what is left over returns far away, the deviations of each circuit are less their mean over its phases with a
    current, so that the currents have the sum that the study states.
    """
    nominal = np.array([phase.current for phase in section.phases], dtype=np.complex128)
    change = nominal * (factors - 1)
    if residual != FAR:
        for circuit in dict.fromkeys(phase.circuit for phase in section.phases):
            own = [k for k, phase in enumerate(section.phases) if phase.circuit == circuit and phase.current != 0]
            if own:
                change[:, own] -= change[:, own].mean(axis=1, keepdims=True)
    return nominal + change
