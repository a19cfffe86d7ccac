"""Materials: conductivity at 20 degC, temperature coefficient, relative permeability and magnetisation curve.

Marks say how far a value is to be trusted: C confirmed in a public text, M from memory of the named source, D derived
from another value of the table. A material has the mark of its weakest value.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

REFERENCE_TEMPERATURE = 20.0
"""Temperature at which conductivities and coefficients are given. [degC]"""

HIGHEST_PERMEABILITY = 1e6
"""Highest relative permeability that a material may have. [-]"""


@dataclass(frozen=True)
class Material:
    """A conducting material.

    name: Name in the study file.
    conductivity: Conductivity at 20 degC. [S/m]
    temperature_coefficient: Rise of the resistivity with temperature, relative to that at 20 degC. [1/K]
    relative_permeability: Relative permeability, constant or at low field. [-]
    source: Where the values come from.
    mark: C, M or D; S for a material stated in the study.
    curve: Name of the magnetisation curve of a material that saturates: a built-in one, or what the study says of its
        own; the relative permeability is then that of the linear answer beside it.
    loss_angle: Angle by which the flux density lags the field strength, of a complex permeability, 0 or above and below
        pi/2. [rad]
    """

    name: str
    conductivity: float
    temperature_coefficient: float
    relative_permeability: float
    source: str
    mark: str
    curve: str | None = None
    loss_angle: float = 0.0

    def __post_init__(self) -> None:
        """Refuse values that no conducting material can have."""
        if not (math.isfinite(self.conductivity) and self.conductivity > 0):
            raise ValueError(f"conductivity of {self.name} must be finite and above 0 S/m: {self.conductivity}")
        if not (math.isfinite(self.relative_permeability) and self.relative_permeability >= 1):
            raise ValueError(f"relative permeability of {self.name} must be 1 or above: {self.relative_permeability}")
        if not math.isfinite(self.temperature_coefficient):
            raise ValueError(f"temperature coefficient of {self.name} must be finite: {self.temperature_coefficient}")
        if not 0 <= self.loss_angle < math.pi / 2:
            raise ValueError(f"loss angle of {self.name} must be 0 or above and below pi/2 rad: {self.loss_angle}")


_IEC = "IEC 60287-1-1 table 1"
_MATTHIESSEN = "temperature coefficient as aluminium's, scaled by the conductivities (Matthiessen's rule)"
_SMOOTH_INITIAL = 1 / (4e-7 * math.pi * (3.8 + 396.2))
"""Relative permeability at low field of the smooth curve, 1/(mu0 (k1 + k3)). [-]"""

MATERIALS: Mapping[str, Material] = MappingProxyType(
    {
        material.name: material
        for material in (
            # rho20 and, as 1/(beta + 20), alpha20 in a public table of the adiabatic constant: 17.241, 28.264 and
            # 214 nohm m, beta 234.5, 228 and 230 K
            Material("copper", 1 / 1.7241e-8, 3.93e-3, 1.0, _IEC, "C"),
            Material("aluminium", 1 / 2.8264e-8, 4.03e-3, 1.0, _IEC, "C"),
            Material("aluminium-sheath", 1 / 2.84e-8, 4.03e-3, 1.0, f"{_IEC}, sheath", "C"),
            Material("lead", 1 / 21.4e-8, 4.0e-3, 1.0, f"{_IEC}, lead or alloy", "C"),
            Material("bronze", 1 / 3.5e-8, 3.0e-3, 1.0, _IEC, "M"),
            Material(
                *("mild-steel", 6.0e6, 4.5e-3, 300.0),
                "structural steel: 5 to 7 MS/m, relative permeability 100 to 2000 at low field; coefficient of steel "
                "armour, " + _IEC,
                "M",
            ),
            Material(
                *("galvanised-steel", 6.5e6, 4.5e-3, 300.0),
                "cold-formed tray steel (DX51D), core without its zinc: 6 to 7 MS/m, relative permeability 200 to 500 "
                "at low field; coefficient of steel armour, " + _IEC,
                "M",
            ),
            Material(
                *("stainless-304", 1.39e6, 0.0, 1.02),
                f"relative permeability 1.003 to 1.05; coefficient negligible, {_IEC}",
                "M",
            ),
            Material(
                *("stainless-316", 1.35e6, 0.0, 1.02),
                f"relative permeability 1.003 to 1.05; coefficient negligible, {_IEC}",
                "M",
            ),
            Material(
                *("steel-armour", 1 / 13.8e-8, 4.5e-3, 300.0),
                f"{_IEC}, steel armour; relative permeability that the standard gives steel tapes, flux along the tape",
                "M",
            ),
            Material(
                *("steel-wire-armour", 1 / 13.8e-8, 4.5e-3, 10.0),
                f"{_IEC}, steel armour; relative permeability that the standard gives touching wires, flux across them",
                "M",
            ),
            Material(
                # conductivity from memory: 1.6 to 1.8 MS/m; permeability at 2 mT confirmed; no coefficient known
                *("high-permeability-sheet", 1.7e6, 0.0, 20000.0),
                "annealed nickel-iron shielding sheet (mu-metal): relative permeability 20 000 at 2 mT, to 50 000; "
                "temperature coefficient left at 0",
                "M",
            ),
            Material(
                *("mild-steel-saturating", 6.0e6, 4.5e-3, 300.0),
                "as mild-steel, with the measured magnetisation curve of a benchmark's sheet (124 at 16 A/m)",
                *("M", "benchmark-steel-curve"),
            ),
            Material(
                *("galvanised-steel-saturating", 6.5e6, 4.5e-3, 300.0),
                "as galvanised-steel, with the magnetisation curve of its base grade DC01 (115 at 139 A/m)",
                *("M", "sheet-steel-dc01-curve"),
            ),
            Material(
                *("smooth-curve-steel-saturating", 6.0e6, 4.5e-3, _SMOOTH_INITIAL),
                "as mild-steel, with a smooth curve whose permeability below 150 A/m is 2 to 16 times that of "
                "published sheet steels: its field beside a lightly loaded tray is too low",
                *("M", "mild-steel-curve"),
            ),
            Material("aluminium-6063", 3.2e7, 3.64e-3, 1.0, f"6063-T5, 55 % IACS; {_MATTHIESSEN}", "M"),
            Material("aluminium-6061", 2.5e7, 2.85e-3, 1.0, f"6061-T6, 43 % IACS; {_MATTHIESSEN}", "D"),
            Material("aluminium-5052", 2.03e7, 2.31e-3, 1.0, f"5052-O, 35 % IACS; {_MATTHIESSEN}", "D"),
            Material("aluminium-3003", 2.378e7, 2.71e-3, 1.0, f"3003-H14, 41 % IACS; {_MATTHIESSEN}", "D"),
        )
    }
)
"""Built-in materials by name."""


def conductivity_at(material: Material, temperature: float) -> float:
    """Conductivity of a material at a temperature [degC], sigma20/(1 + alpha20 (theta - 20)). [S/m]

    IEC 60287-1-1, 2.1.1 (resistance rises with 1 + alpha20 (theta - 20)) [C]
    """
    return material.conductivity / resistance_rise(material, temperature)


def resistance_rise(material: Material, temperature: float) -> float:
    """Ratio of the resistance at a temperature [degC] to that at 20 degC, 1 + alpha20 (theta - 20). [-]"""
    rise = 1 + material.temperature_coefficient * (temperature - REFERENCE_TEMPERATURE)
    if not (math.isfinite(rise) and rise > 0):
        raise ValueError(
            f"temperature outside the range of the linear coefficient of {material.name}: {temperature} degC"
        )
    return rise
