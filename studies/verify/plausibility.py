"""Installation tables that hold for no exact geometry: the computed number beside a band, no test of precision."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats
from geometry.formation import flat, trefoil
from studies.formulas.inductance import strand_inductance
from studies.verify.checks import CheckFamily, Method, Plausibility
from studies.verify.sources import LV_REACTANCE, NEC_TABLE_9
from studies.verify.states import balanced, elements, wires

FAMILY = CheckFamily("plausibility")
INCH = 0.0254
"""[m]"""
THOUSAND_FEET = 304.8
"""[m]"""
CLEARANCE = 1.5
"""Axis to axis distance over cable diameter in a conduit: midway between touching and one diameter clear. [-]"""
REACTANCE_BAND = 0.15
"""Half width of the band of NEC reactances. [-]"""
REACTANCE_REASON = (
    "15 %: the table rounds to a code value for cables that lie loose in a conduit; computed for a trefoil of 1.5 "
    "cable diameters, midway between touching and one diameter clear"
)
RULE_REACTANCE = {"trefoil or multicore": 0.08e-3, "flat, touching": 0.09e-3, "flat, spaced": 0.13e-3}
"""Reactance of each conductor by its formation, for circuits without data [ohm/m], UTE C 15-105 annex G [C]."""
RESISTANCE_BAND = 0.06
"""Half width of the band of NEC resistances. [-]"""
RESISTANCE_REASON = "6 %: two printed digits are up to 4 %, and the conductors' places are not stated"


@dataclass(frozen=True)
class ConduitSize:
    """One size of NEC chapter 9: tables 8 and 9, copper, and an assumed insulation."""

    name: str
    diameter: float
    """Diameter of the strand circle. [in]"""
    strands: int
    dc_resistance: float
    """At 75 degC. [ohm/1000 ft]"""
    insulation: float
    """Radial thickness, an assumption of common practice. [in]"""
    reactance: float
    """XL in PVC conduit. [ohm/1000 ft]"""
    ac_resistance: float
    """In PVC conduit. [ohm/1000 ft]"""


CONDUIT_SIZES = (
    ConduitSize("2 AWG", 0.292, 7, 0.194, 0.080, 0.045, 0.19),
    ConduitSize("1/0 AWG", 0.372, 19, 0.122, 0.080, 0.044, 0.12),
    ConduitSize("4/0 AWG", 0.528, 19, 0.0608, 0.080, 0.041, 0.062),
    ConduitSize("250 kcmil", 0.575, 37, 0.0515, 0.095, 0.041, 0.052),
    ConduitSize("500 kcmil", 0.813, 37, 0.0258, 0.095, 0.039, 0.027),
    ConduitSize("1000 kcmil", 1.152, 61, 0.0129, 0.110, 0.037, 0.015),
)
WALLS = {50: 2.4e-3, 120: 2.8e-3, 240: 3.5e-3, 400: 4.0e-3}
"""Insulation and jacket together [m] of low-voltage cables by area [mm2], common practice, no source."""
DIAMETER_RATIOS = (1.2, 1.8)
"""Cable over conductor diameter, from the thickest to the thinnest conductor. [-]"""


@FAMILY.check("conduit")
def conduit() -> Iterator[Plausibility]:
    """Conductors in PVC conduit, 60 Hz, 75 degC."""
    for size in CONDUIT_SIZES:
        radius = size.diameter * INCH / 2
        conductivity = THOUSAND_FEET / (size.dc_resistance * math.pi * radius**2)
        distance = CLEARANCE * (size.diameter + 2 * size.insulation) * INCH
        impedance = _mean_impedance(radius, conductivity, trefoil(1, distance), 60.0) * THOUSAND_FEET
        # the solid circle that is solved has less inductance inside than the strands
        inside = 2 * math.pi * 60 * (strand_inductance(size.strands) - strand_inductance(1)) * THOUSAND_FEET
        rows = (
            ("XL", size.reactance, impedance.imag + inside, REACTANCE_BAND, REACTANCE_REASON),
            ("R", size.ac_resistance, impedance.real, RESISTANCE_BAND, RESISTANCE_REASON),
        )
        for name, published, computed, band, reason in rows:
            yield Plausibility(
                *(f"{name} of copper {size.name} in PVC conduit", "ohm/1000 ft", NEC_TABLE_9, Method.ELEMENTS),
                *(published, computed, published * (1 - band), published * (1 + band)),
                reason,
            )


@FAMILY.check("low-voltage")
def low_voltage() -> tuple[Plausibility, ...]:
    """Low-voltage cables by formation, 50 Hz."""
    return (
        *(_reactance("trefoil or multicore", area, trefoil(1, 1.0), 1.0) for area in WALLS),
        _reactance("flat, touching", 240, flat(3, 1.0, 1.0), 1.0),
        _reactance("flat, spaced", 240, flat(3, 2.0, 1.0), 2.0),
    )


def _reactance(formation: str, area: int, axes: Floats, apart: float) -> Plausibility:
    """Mean reactance of three cables at axes in cable diameters, neighbours some diameters apart."""
    mean = apart * (1 if formation.startswith("trefoil") else 2 ** (1 / 3))  # geometric mean distance
    thick, thin = (2 * math.pi * 50 * 2e-7 * (math.log(2 * ratio * mean) + 0.25) for ratio in DIAMETER_RATIOS)
    radius = math.sqrt(area * 1e-6 / math.pi)
    impedance = _mean_impedance(radius, 47e6, 2 * (radius + WALLS[area]) * axes, 50.0)
    return Plausibility(
        *(f"X of {area} mm2 copper, {formation}", "ohm/m", LV_REACTANCE, Method.ELEMENTS),
        *(RULE_REACTANCE[formation], impedance.imag, thick, thin),
        "one value stands for all sizes: w (mu0/2 pi) [ln(2 GMD/d) + 1/4], cable over conductor diameter 1.2 to 1.8",
    )


def _mean_impedance(radius: float, conductivity: float, axes: Floats, frequency: float) -> complex:
    """Mean u/i of three conductors at axes [m]. [ohm/m]"""
    parts = wires(axes, radius, conductivity)
    state = elements(parts, frequency, balanced(("1", "2", "3")), 1.0)
    return complex(np.mean([state.impedance(name) for name in state.names]))
