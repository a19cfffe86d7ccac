"""Relative permittivities of insulations and jackets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

_STANDARD = "IEC 60287-1-1, table of relative permittivity and loss factor of insulations [M]"


@dataclass(frozen=True)
class Dielectric:
    """An insulating material."""

    name: str
    relative_permittivity: float
    """At power frequency, 1 or above. [-]"""
    source: str

    def __post_init__(self) -> None:
        """Refuse a permittivity that no insulation has."""
        if not (math.isfinite(self.relative_permittivity) and self.relative_permittivity >= 1):
            raise ValueError(f"relative permittivity of {self.name} must be 1 or above: {self.relative_permittivity}")


DIELECTRICS: Mapping[str, Dielectric] = MappingProxyType(
    {
        dielectric.name: dielectric
        for dielectric in (
            Dielectric("PE", 2.3, _STANDARD),
            Dielectric("XLPE", 2.5, _STANDARD),
            Dielectric("EPR", 3.0, _STANDARD),
            Dielectric("PVC", 8.0, _STANDARD),
        )
    }
)
"""Insulations by name. PVC varies from 4 to 8 with its recipe and temperature; the standard's value is the largest."""


@dataclass(frozen=True)
class Dielectrics:
    """What surrounds the conductor of a cable."""

    insulation: Dielectric
    """Between the conductor and the first layer of metal, or the jacket."""
    jacket: Dielectric
    """Outermost; without effect on a cable with a layer of metal."""
