"""A cross-section solved on two meshes, so that every derived number has an error estimate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.solve import UnitFields, solve_unit_voltages
from studies.section.parts import CrossSection
from studies.solve.accuracy import SAFETY
from studies.solve.meshes import mesh_of

FINENESS = (1.0, 1.5)
"""Fineness of the two meshes. [-]"""

S = TypeVar("S")
T = TypeVar("T")


@dataclass(frozen=True)
class Pair(Generic[T]):
    """A value from two meshes."""

    now: T
    """From the finer mesh."""
    before: T
    """From the coarser one."""

    def each(self, change: Callable[[T], S]) -> Pair[S]:
        """A derived value from each of the two."""
        return Pair(now=change(self.now), before=change(self.before))

    def of(self, number: Callable[[T], ArrayLike]) -> Floats:
        """Error estimate of any derived number or array, in its unit and shape."""
        return np.asarray(
            SAFETY * np.abs(np.asarray(number(self.now)) - np.asarray(number(self.before))), dtype=np.float64
        )


def solve_pair(
    section: CrossSection, frequency: float | None = None, fineness: tuple[float, float] = FINENESS
) -> Pair[UnitFields]:
    """Fields of unit voltages on two meshes.

    section: The cross-section; saturating steel has its permeability at low field.
    frequency: Frequency in place of the cross-section's. [Hz]
    fineness: Fineness of the coarser and the finer mesh. [-]
    """
    coarse, fine = (
        solve_unit_voltages(
            mesh_of(section.section(), one, section.apart),
            section.materials(),
            section.frequency if frequency is None else frequency,
            {part.name: (part.name,) for part in section.parts},
            earth=section.earth,
        )
        for one in fineness
    )
    return Pair(now=fine, before=coarse)
