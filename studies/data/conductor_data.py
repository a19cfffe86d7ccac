"""Direct-current resistance of a conductor per metre: stated, by IEC 60228, or resistivity over area."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from studies.data.materials import MATERIALS, Material, resistance_rise

# IEC 60228:2004 table 2, class 2 stranded, plain wires, maximum dc resistance at 20 degC [ohm/km]:
# nominal area [mm^2], copper, aluminium. Copper 1.5 to 630 and aluminium 10 to 185 confirmed [C]; aluminium 240 to 1000
# confirmed in the class 1 list, class 2 identical from memory [M]; copper 800 and 1000 by a maker's table [C].
_TABLE: tuple[tuple[float, float, float | None], ...] = (
    (1.5, 12.1, None),
    (2.5, 7.41, None),
    (4, 4.61, None),
    (6, 3.08, None),
    (10, 1.83, 3.08),
    (16, 1.15, 1.91),
    (25, 0.727, 1.20),
    (35, 0.524, 0.868),
    (50, 0.387, 0.641),
    (70, 0.268, 0.443),
    (95, 0.193, 0.320),
    (120, 0.153, 0.253),
    (150, 0.124, 0.206),
    (185, 0.0991, 0.164),
    (240, 0.0754, 0.125),
    (300, 0.0601, 0.100),
    (400, 0.0470, 0.0778),
    (500, 0.0366, 0.0605),
    (630, 0.0283, 0.0469),
    (800, 0.0221, 0.0367),
    (1000, 0.0176, 0.0291),
)

IEC_60228_CLASS_2: Mapping[str, Mapping[float, float]] = MappingProxyType(
    {
        "copper": MappingProxyType({area: copper * 1e-3 for area, copper, _ in _TABLE}),
        "aluminium": MappingProxyType({area: al * 1e-3 for area, _, al in _TABLE if al is not None}),
    }
)
"""Maximum dc resistance at 20 degC [ohm/m] by material and nominal area [mm^2]."""

STATED = "stated in the study"
IEC_60228 = "IEC 60228 class 2, maximum at 20 °C"
RESISTIVITY = "resistivity over nominal area"


@dataclass(frozen=True)
class DcResistance:
    """Direct-current resistance of a conductor per metre.

    value: At the conductor's temperature. [ohm/m]
    value_20: At 20 degC. [ohm/m]
    source: Where the value at 20 degC comes from: `STATED`, `IEC_60228` or `RESISTIVITY`.
    """

    value: float
    value_20: float
    source: str


def conductor_dc_resistance(
    material: Material, area: float, temperature: float, stated_20: float | None = None
) -> DcResistance:
    """Direct-current resistance of a conductor per metre at its temperature, and its source.

    material: Conductor material; IEC 60228 is consulted for the built-in copper and aluminium.
    area: Nominal cross-sectional area, above 0. [m^2]
    temperature: Conductor temperature. [degC]
    stated_20: Stated dc resistance at 20 degC, above 0; it comes first. [ohm/m]

    R' = R20 [1 + alpha20 (theta - 20)], IEC 60287-1-1, 2.1.1 [C]; IEC 60228:2004 table 2, marks beside the table below.
    """
    if not (math.isfinite(area) and area > 0):
        raise ValueError(f"area must be finite and above 0 m^2: {area}")
    if stated_20 is not None:
        if not (math.isfinite(stated_20) and stated_20 > 0):
            raise ValueError(f"stated_20 must be finite and above 0 ohm/m: {stated_20}")
        at_20, source = stated_20, STATED
    elif (listed := iec_60228_resistance(material, area)) is not None:
        at_20, source = listed, IEC_60228
    else:
        at_20, source = 1 / (material.conductivity * area), RESISTIVITY
    return DcResistance(at_20 * resistance_rise(material, temperature), at_20, source)


def iec_60228_resistance(material: Material, area: float) -> float | None:
    """Maximum dc resistance at 20 degC [ohm/m] of a nominal area [m^2], or None if IEC 60228 lists none."""
    if MATERIALS.get(material.name) != material:
        return None
    for nominal, resistance in IEC_60228_CLASS_2.get(material.name, {}).items():
        if math.isclose(area, nominal * 1e-6, rel_tol=1e-6):  # wide enough for unit conversion, far below a gauge size
            return resistance
    return None
