"""Named limits of the static magnetic field, which are apart from those of alternating fields."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

_ICNIRP = "ICNIRP 2009, Health Physics 96(4), p. 504, limits of exposure to static magnetic fields"
IMPLANTS = 0.5e-3
"""Static flux density from which implants, such as pacemakers, may be disturbed: ICNIRP 2009, Directive 2013/35/EU,
Annex II, table B4 [M]. [T]"""


@dataclass(frozen=True)
class StaticLevel:
    """A limit of the static flux density."""

    value_t: float
    source: str
    mark: str
    """Key of `studies.data.reference_levels.MARKS`."""


STATIC_LEVELS: Mapping[str, StaticLevel] = MappingProxyType(
    {
        "ICNIRP 2009 public": StaticLevel(0.4, _ICNIRP, "C"),
        "ICNIRP 2009 occupational": StaticLevel(2.0, _ICNIRP, "C"),
        "ICNIRP 2009 occupational limbs": StaticLevel(8.0, _ICNIRP, "C"),
        "EU 2013/35/EU implants": StaticLevel(IMPLANTS, "Directive 2013/35/EU, Annex II, table B4, action level", "M"),
    }
)
"""Every level by its name."""
